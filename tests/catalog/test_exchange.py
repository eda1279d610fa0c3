"""Packages: bit for bit there and back, open to general tools, merged by identity, no word overwritten."""

import csv
import io
import json
import shutil
import zipfile
from datetime import UTC, datetime

import jsonschema
import pytest

from catalog.checkup import find_problems
from catalog.exchange.cells import escaped, from_cell, plain
from catalog.exchange.errors import PackageError
from catalog.exchange.export import export_package
from catalog.exchange.shapes import STAYS, shapes
from catalog.exchange.take import look_at_package, take_package
from catalog.records import Layer, PieceDraft, RecipeLine
from catalog.store import Catalog, effective_faults
from catalog.tables import Base
from catalog.ware.make import make_of, same_make
from tests.catalog.exchange_studio import NASTY, SERIAL, fill_everything, jpeg, row_counts
from vision.shareable import private_parts


@pytest.fixture(scope="session")
def full_home(tmp_path_factory, photo, tile):
    """A catalogue with rows in all tables, filled once and copied for each test."""
    place = tmp_path_factory.mktemp("full") / "home"
    with Catalog.open(place) as filled:
        fill_everything(filled, photo, tile)
    return place


@pytest.fixture
def full(full_home, tmp_path):
    shutil.copytree(full_home, tmp_path / "full")
    with Catalog.open(tmp_path / "full") as opened:
        yield opened


@pytest.fixture
def package(full, tmp_path):
    return export_package(full, tmp_path / "studio.zip", originals=True).place


@pytest.fixture
def other(tmp_path, fresh_home):
    shutil.copytree(fresh_home, tmp_path / "other")
    with Catalog.open(tmp_path / "other") as opened:
        yield opened


def table(path, name):
    with zipfile.ZipFile(path) as archive:
        return list(csv.DictReader(io.StringIO(archive.read(f"data/{name}.csv").decode(), newline="")))


# --- there and back


@pytest.mark.parametrize("originals", [False, True])
def test_there_and_back_gives_the_same_bytes(full, other, tmp_path, originals):
    counts = row_counts(full)
    assert sum(count > 0 for count in counts.values()) >= 28
    first = export_package(full, tmp_path / "a.zip", originals=originals)
    assert export_package(full, tmp_path / "a2.zip", originals=originals).place.read_bytes() == (
        first.place.read_bytes()
    )
    take_package(other, first.place)
    second = export_package(other, tmp_path / "b.zip", originals=originals)
    assert second.place.read_bytes() == first.place.read_bytes()
    assert find_problems(other) == ()
    if originals:
        assert row_counts(other) == counts | {"glazing_before": 0}  # what undo needs stays at home
        assert [p.code for p in other.pieces()] == [p.code for p in full.pieces()]
        for mine, theirs in zip(full.pieces(order="code"), other.pieces(order="code"), strict=True):
            assert effective_faults(mine) == effective_faults(theirs)
            assert mine.readings[0].tile == theirs.readings[0].tile if mine.readings else True


def test_a_laboratory_result_holds_for_the_same_recipe_there_and_no_other(full, other, package):
    """Numbers of recipes differ between catalogues; a result that held by number would hold for anything."""
    for n in range(3):
        other.add_recipe(f"Other {n}", [RecipeLine("whiting", 100)])
    take_package(other, package)
    (mine,) = full.casebook.leach(full.piece("T-0001"))
    (theirs,) = other.casebook.leach(other.piece("T-0001"))
    assert (theirs.element, theirs.amount) == (mine.element, mine.amount)
    assert same_make(mine.make, make_of(full.piece("T-0001"))) is False  # the slip has no recipe
    assert theirs.make["layers"][1][0] == other.piece("T-0001").layers[1].recipe_id
    assert theirs.make["layers"][1][0] != mine.make["layers"][1][0]
    recipe = other.piece("T-0001").layers[1].recipe_id
    assert other.recipe(recipe).name == "=Moss"


def test_the_codes_given_go_on_after_those_that_came(full, other, package):
    take_package(other, package)
    assert other.reserve_codes(1) == full.reserve_codes(1)


# --- open


def test_frictionless_finds_the_package_valid(package):
    """Checked by the Data Package project's own library: types, constraints, keys, sizes and digests."""
    frictionless = pytest.importorskip("frictionless")
    import warnings

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        report = frictionless.Package(str(package)).validate()
    assert report.flatten(["name", "type", "note"]) == []
    assert {task.name for task in report.tasks} >= {shape.name for shape in shapes()}


def test_each_row_fits_its_json_schema(package):
    """Rows as a reader would load them, by the schemas in the package (jsonschema, draft 2020-12)."""
    from referencing import Registry, Resource

    with zipfile.ZipFile(package) as archive:
        schemas = {
            name.split("/")[1]: json.loads(archive.read(name))
            for name in archive.namelist()
            if name.startswith("schemas/")
        }
    registry = Registry().with_resources([(k, Resource.from_contents(v)) for k, v in schemas.items()])
    checked = 0
    for shape in shapes():
        schema = schemas[f"{shape.name}.json"]
        jsonschema.Draft202012Validator.check_schema(schema)
        validator = jsonschema.Draft202012Validator(schema, registry=registry)
        for row in table(package, shape.name):
            loaded = {
                f.name: row[f.name] if f.kind in ("date", "datetime") else from_cell(row[f.name], f.kind)
                for f in shape.fields
            }
            loaded = {
                f.name: None if f.nullable and loaded[f.name] == "" else loaded[f.name] for f in shape.fields
            }
            validator.validate(loaded)
            checked += 1
    assert checked > 40


def test_the_schema_of_a_tile_is_that_of_the_contract(package):
    from pathlib import Path

    contract = json.loads((Path(__file__).parents[1] / "app" / "schemas" / "read.json").read_text())
    with zipfile.ZipFile(package) as archive:
        told = json.loads(archive.read("schemas/tile.json"))
    assert told["properties"].keys() >= contract["$defs"]["tile"]["properties"].keys()
    assert told["required"] == contract["$defs"]["tile"]["required"]


def test_the_readme_names_every_table_and_column(package):
    with zipfile.ZipFile(package) as archive:
        text = archive.read("README.md").decode()
    for shape in shapes():
        assert f"- `{shape.name}`: " in text
        assert all(field.name in text for field in shape.fields)


def test_every_table_travels_or_says_why_not():
    travelling = {shape.name for shape in shapes()}
    staying = {t.name for t in Base.metadata.sorted_tables if t.info.get("travels") == "no"} | set(STAYS)
    assert travelling | staying == set(Base.metadata.tables)
    secret = ("password", "passphrase", "secret", "token")
    assert not [f for s in shapes() for f in s.fields if any(word in f.name.lower() for word in secret)]


def test_every_nasty_text_is_escaped_in_the_package(package):
    with zipfile.ZipFile(package) as archive:
        cells = [
            cell
            for shape in shapes()
            for row in csv.reader(io.StringIO(archive.read(f"data/{shape.name}.csv").decode(), newline=""))
            for cell in row
        ]
    assert [cell for cell in cells if cell.startswith(("=", "+", "@", "\t", "\r"))] == []
    for text in NASTY[:4]:
        assert escaped(text) in cells
        assert plain(escaped(text)) == text


# --- private things


def test_a_package_to_hand_on_says_nothing_of_place_and_device(full, tmp_path):
    done = export_package(full, tmp_path / "a.zip")
    assert (done.private, done.holders) == ({"place": 3, "serial": 3}, 1)
    data = done.place.read_bytes()
    assert SERIAL not in data
    assert b"A neighbour" not in data
    with zipfile.ZipFile(done.place) as archive:
        names = [name for name in archive.namelist() if name.startswith("photos/")]
        assert len(names) == 3
        assert all(private_parts(archive.read(name), name) == frozenset() for name in names)
    assert full.photo_bytes(full.piece("T-0001").readings[0].photo_sha256).count(SERIAL) == 1


def test_the_originals_carry_it_and_say_so(full, package):
    assert SERIAL in package.read_bytes()
    assert table(package, "piece_holder")[0]["holder"] == "A neighbour"
    with zipfile.ZipFile(package) as archive:
        assert "Photos are the originals" in archive.read("README.md").decode()


def test_what_is_no_photo_is_held_back(catalog, photo, tmp_path):
    catalog.file_photo(b"no photo at all", photo(), [PieceDraft(0)])
    done = export_package(catalog, tmp_path / "a.zip")
    assert len(done.held_back) == 1
    assert b"no photo at all" not in done.place.read_bytes()


def test_a_lost_photo_is_told_and_the_rest_travels(full, other, tmp_path):
    lost = full.piece("T-0001").readings[0].photo_sha256
    full.photos.path(lost).unlink()
    done = export_package(full, tmp_path / "a.zip", originals=True)
    assert done.lost == (f"photos/{lost}",)
    take_package(other, done.place)
    assert [(p.kind, p.what) for p in find_problems(other)] == [("missing photo", lost)]
    again = export_package(other, tmp_path / "b.zip", originals=True)
    assert again.place.read_bytes() == done.place.read_bytes()


# --- merging


def test_looking_changes_nothing_and_foresees_all(full, other, package):
    before = row_counts(other)
    seen = look_at_package(other, package)
    assert row_counts(other) == before
    assert list(other.photos.digests()) == []
    assert take_package(other, package).counts == seen.counts


@pytest.mark.parametrize("originals", [False, True])
def test_taking_it_again_or_back_home_adds_nothing(full, other, tmp_path, originals):
    path = export_package(full, tmp_path / "a.zip", originals=originals).place
    take_package(other, path)
    for catalogue in (other, full):
        before = row_counts(catalogue)
        report = take_package(catalogue, path)
        assert (report.added, report.notes) == (0, [])
        assert row_counts(catalogue) == before


def test_a_word_said_here_is_never_overwritten(full, other, package, tmp_path, photo):
    """Two people took the same catalogue home and said different things; each keeps their own word."""
    take_package(other, package)
    full.add_judgement("T-0001", "fault", "crawled", "present", "Ana")
    full.casebook.answer("T-0001", "application.coats", 4, by="Ana")
    full.update_piece("T-0001", notes="mine")
    other.add_judgement("T-0001", "fault", "crawled", "absent", "Ben")
    other.casebook.answer("T-0001", "application.coats", 1, by="Ben")
    other.update_piece("T-0001", notes="his")
    theirs = export_package(other, tmp_path / "b.zip", originals=True).place
    report = take_package(full, theirs)
    told = {(note.kind, note.table, note.what) for note in report.notes}
    assert ("ours stands", "piece", "T-0001") in told
    assert ("ours stands", "judgement", "crawled") in told
    assert ("ours stands", "answer", "application.coats") in told
    piece = full.piece("T-0001")
    assert piece.notes == "mine"
    assert [f.fault for f in effective_faults(piece) if f.fault == "crawled"] == ["crawled"]
    (answer,) = [a for a in full.casebook.answers(piece) if a.fact == "application.coats"]
    assert answer.value == 4


def test_new_work_on_known_pieces_comes_in(full, other, package, tmp_path, photo):
    take_package(other, package)
    other.file_photo(jpeg(7), photo(name="new.jpg"), [PieceDraft(0, code="T-0001")])
    other.add_judgement("T-0001", "fault", "pinholed", "present", "Ben")
    count = len(full.piece("T-0001").readings)
    report = take_package(full, export_package(other, tmp_path / "b.zip", originals=True).place)
    piece = full.piece("T-0001")
    assert len(piece.readings) == count + 1
    assert "pinholed" in {fault.fault for fault in effective_faults(piece)}
    assert report.counts["piece"].added == 0
    assert find_problems(full) == ()


def test_a_later_reading_from_elsewhere_stands_in_place_of_the_earlier(full, other, package, tmp_path, photo):
    """The same photo read anew by a later method: both readings are kept, one counts."""
    take_package(other, package)
    again = photo(calibration="none", method={"marks": 100})
    other.file_photo(jpeg(2), again, [PieceDraft(0, code="T-0001")])
    standing = [r for r in other.piece("T-0001").readings if not r.superseded]
    take_package(full, export_package(other, tmp_path / "b.zip", originals=True).place)
    mine = [r for r in full.piece("T-0001").readings if not r.superseded]
    assert len(mine) == len(standing)
    assert mine[0].method["marks"] == 100


def test_another_piece_of_the_same_code_gets_its_own(full, other, package, photo):
    other.file_photo(jpeg(50), photo(), [PieceDraft(0, code="T-0001", notes="quite another")])
    report = take_package(other, package)
    assert ("renamed", "piece", "T-0001", "T-0001-2") in {
        (n.kind, n.table, n.what, n.told) for n in report.notes
    }
    assert other.piece("T-0001").notes == "quite another"
    assert other.piece("T-0001-2").notes == NASTY[3]


def test_the_same_photo_filed_twice_is_one_piece(full, other, package, photo):
    """Filed on phone and laptop before the two met: one tile, not two."""
    other.file_photo(jpeg(1), photo(), [PieceDraft(0, code="T-0001", notes="here first")])
    take_package(other, package)
    assert other.piece("T-0001").notes == "here first"
    assert [p.code for p in other.pieces() if p.code.startswith("T-0001")] == ["T-0001"]


def test_clays_and_glazes_of_one_name_stay_two_unless_they_are_one(full, other, package):
    same = full.bodies()
    other.add_body("White", "porcelain", absorption_pct=0.1)
    other.add_recipe("=Moss", [RecipeLine("quartz", 100)])
    report = take_package(other, package)
    told = {(n.table, n.what, n.told) for n in report.notes if n.kind == "renamed"}
    assert told == {("body", "White", "White (2)"), ("recipe", "=Moss", "=Moss (2)")}
    assert {b.name for b in other.bodies()} == {"White", "White (2)", *(b.name for b in same)}
    assert [r.revision for r in other.recipes(latest_only=False) if r.name == "=Moss (2)"] == [2, 1]
    assert other.piece("T-0001").body.name == "White (2)"


def test_an_equal_clay_and_glaze_made_by_hand_there_are_the_same(full, other, package):
    other.add_body("White", "stoneware", rated_cone="6", absorption_pct=1.8, notes=NASTY[0])
    report = take_package(other, package)
    assert report.notes == []
    assert [b.name for b in other.bodies()].count("White") == 1


def test_a_next_revision_comes_after_those_here(full, other, package, tmp_path):
    take_package(other, package)
    other.add_recipe("=Moss", [RecipeLine("whiting", 1)])
    full.add_recipe("=Moss", [RecipeLine("quartz", 1)])
    take_package(full, export_package(other, tmp_path / "b.zip", originals=True).place)
    moss = [r for r in full.recipes(latest_only=False) if r.name == "=Moss"]
    assert [(r.revision, r.lines[0].material) for r in moss][:2] == [(4, "whiting"), (3, "quartz")]


def test_another_studios_ways_stay_out_of_a_catalogue_in_use(full, other, package):
    other.add_load("Mine")
    take_package(other, package)
    assert other.casebook.ways().studio != "Attic"


def test_a_later_word_stays_the_later_one(catalog, other, photo, tmp_path):
    catalog.file_photo(jpeg(1), photo(), [PieceDraft(0, layers=(Layer(None, "slip"),))])
    for verdict in ("present", "absent", "present", "absent"):
        catalog.add_judgement("T-0001", "fault", "crazed", verdict)
    take_package(other, export_package(catalog, tmp_path / "a.zip").place)
    assert effective_faults(other.piece("T-0001")) == effective_faults(catalog.piece("T-0001")) == ()
    assert datetime.now(UTC) > other.piece("T-0001").filed_at


@pytest.mark.parametrize(
    ("name", "column", "value"),
    [
        ("body", "kind", "cheese"), ("body", "rated_cone", "hot"), ("recipe", "cone_low", "x"),
        ("recipe", "intended", "[1]"), ("load_cone", "cone", "-"), ("load_segment", "target_c", "9000"),
        ("load_witness", "cone", "99"), ("answer", "fact", "no.such"), ("answer", "value", '{"x":1}'),
        ("answer", "value", '{"value":"much"}'), ("body_measure", "figures", "{}"),
        ("material", "oxides", '{"SiO2":"x"}'),
        ("trial", "plan", "{}"), ("outcome", "pair_id", "no/cause"), ("setting", "value", "moon"),
        ("leach_result", "make", '{"layers":[1]}'),
    ],
)  # fmt: skip
def test_what_no_screen_could_show_is_refused(package, other, tmp_path, name, column, value):
    """Each rule that the screens hold people to holds for packages."""
    import hashlib

    with zipfile.ZipFile(package) as archive:
        files = {entry: archive.read(entry) for entry in archive.namelist()}
    rows = table(package, name)
    if name == "setting":
        rows = [{**row, "value": value if row["name"] == "region" else row["value"]} for row in rows]
    else:
        rows = [{**row, column: value} for row in rows]
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, list(rows[0]), lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(rows)
    files[f"data/{name}.csv"] = out.getvalue().encode()
    told = json.loads(files["datapackage.json"])
    for resource in told["resources"]:
        resource["hash"] = "sha256:" + hashlib.sha256(files[resource["path"]]).hexdigest()
    files["datapackage.json"] = json.dumps(told).encode()
    with zipfile.ZipFile(tmp_path / "bad.zip", "w") as archive:
        for entry, data in files.items():
            archive.writestr(entry, data)
    with pytest.raises(PackageError, match=name):
        take_package(other, tmp_path / "bad.zip")
    assert other.count_pieces() == 0
