"""The sample studio, filed from its scenario with a made-up reader in place of the camera's."""

import json
from pathlib import Path

import pytest

from catalog.checkup import find_problems
from catalog.demo import SCENARIO, fill_demo, match_tiles
from catalog.demo_removal import holds_demo, remove_demo
from catalog.errors import NotFreshError, ScenarioError
from catalog.records import ConeResult, PieceDraft
from vision.errors import UnreadablePhotoError

SAMPLES = Path(__file__).parents[2] / "sample_images" / SCENARIO


@pytest.fixture(scope="module")
def scenario():
    return json.loads(SAMPLES.read_text(encoding="utf-8"))


@pytest.fixture
def folder(tmp_path, scenario):
    place = tmp_path / "samples"
    place.mkdir()
    (place / SCENARIO).write_text(json.dumps(scenario), encoding="utf-8")
    for item in scenario["photos"]:
        (place / item["file"]).write_bytes(item["file"].encode())
    return place


@pytest.fixture
def reader(scenario, photo, tile):
    """Reads as many tiles as the scenario has, without labels; notes what it was asked."""
    counts = {item["file"]: len(item["tiles"]) for item in scenario["photos"]}

    def read(data, name, subject):
        assert data == name.encode()
        read.asked.append((name, subject))
        return photo(*(tile(i, faults={"blistered": 0.9}) for i in range(counts[name])), name=name), {
            0: b"view of " + data
        }

    read.asked = []
    return read


def test_all_of_the_scenario_is_filed(catalog, folder, reader, scenario):
    steps = []
    report = fill_demo(catalog, folder, reader, progress=lambda *step: steps.append(step))
    tiles = {t["code"]: (t, item) for item in scenario["photos"] for t in item["tiles"]}
    assert (report.photos, report.pieces, report.problems) == (len(scenario["photos"]), len(tiles), ())
    assert [name for name, _ in reader.asked] == [item["file"] for item in scenario["photos"]]
    assert {s for _, s in reader.asked} == {None, "ware", "patch"}
    assert steps[-1] == (len(steps) - 1, len(steps), scenario["photos"][-1]["file"])
    recipes = {recipe.id: recipe.name for recipe in catalog.recipes()}
    pieces = catalog.pieces()
    assert {piece.code for piece in pieces} == set(tiles)
    for piece in pieces:
        said, item = tiles[piece.code]
        assert (piece.body.name, piece.load.name, piece.shelf, piece.kind) == (
            said["body"],
            item["load"],
            said["shelf"],
            said["kind"],
        )
        assert [(recipes[x.recipe_id], x.coats, x.raw_thickness_mm) for x in piece.layers] == [
            (x["recipe"], x["coats"], x.get("raw_thickness_mm")) for x in said["layers"]
        ]
    over = next(load for load in catalog.loads() if load.name == "Glaze firing 19 October")
    assert over.cones[0] == ConeResult("top", "8")
    assert find_problems(catalog) == ()


def test_filling_again_adds_nothing(catalog, folder, reader):
    fill_demo(catalog, folder, reader)
    before = (catalog.pieces(), catalog.recipes(latest_only=False), catalog.loads(), catalog.bodies())
    assert fill_demo(catalog, folder, reader).problems == ()
    assert (catalog.pieces(), catalog.recipes(latest_only=False), catalog.loads(), catalog.bodies()) == before


def test_a_photo_that_fails_is_named_and_the_rest_is_filed(catalog, folder, reader, scenario):
    first, second = (item["file"] for item in scenario["photos"][:2])
    (folder / first).unlink()

    def read(data, name, subject):
        if name == second:
            raise UnreadablePhotoError(name, "cut off after 6 kB")
        return reader(data, name, subject)

    report = fill_demo(catalog, folder, read)
    assert report.photos == len(scenario["photos"]) - 2
    assert dict(report.problems) == {first: "the photo is not there", second: f"{second}: cut off after 6 kB"}


def test_a_catalogue_with_work_of_its_own_is_left_alone(catalog, folder, reader, photo):
    catalog.file_photo(b"own", photo(), [PieceDraft(0, code="MINE")])
    with pytest.raises(NotFreshError) as caught:
        fill_demo(catalog, folder, reader)
    assert caught.value.piece_count == 1
    assert (catalog.count_pieces(), catalog.bodies(), reader.asked) == (1, (), [])


@pytest.mark.parametrize("content", [None, "not json", "[]", '{"bodies": []}'])
def test_a_broken_scenario_is_named(catalog, tmp_path, reader, content):
    if content is not None:
        (tmp_path / SCENARIO).write_text(content)
    with pytest.raises(ScenarioError) as caught:
        fill_demo(catalog, tmp_path, reader)
    assert caught.value.where == str(tmp_path / SCENARIO)


def test_a_scenario_that_names_an_unknown_glaze_is_named(catalog, folder, reader, scenario):
    broken = json.loads(json.dumps(scenario))
    broken["photos"][0]["tiles"][0]["layers"][0]["recipe"] = "Nobody's blue"
    (folder / SCENARIO).write_text(json.dumps(broken), encoding="utf-8")
    with pytest.raises(ScenarioError, match="Nobody's blue"):
        fill_demo(catalog, folder, reader)
    assert catalog.count_pieces() == 0


@pytest.mark.parametrize(
    ("labels", "codes", "pairs", "missing"),
    [
        ([None, None], ["A", "B"], [(0, 0), (1, 1)], []),
        (["b", "a"], ["A", "B"], [(0, 1), (1, 0)], []),
        ([None, "A", None], ["A", "B", "C"], [(0, 1), (1, 0), (2, 2)], []),
        ([None, "C"], ["A", "B", "C"], [(2, 1)], ["A", "B"]),
        ([None], ["A", "B"], [], ["A", "B"]),
        ([None, None, None], ["A", "B"], [], ["A", "B"]),
        (["Z", None], ["A"], [(0, 1)], []),
        ([], ["A"], [], ["A"]),
    ],
)
def test_labels_decide_and_order_only_where_numbers_agree(photo, tile, labels, codes, pairs, missing):
    tiles = tuple(tile(i, label=label) for i, label in enumerate(labels))
    reading = photo(*tiles) if tiles else photo(tile())
    if not tiles:
        reading = type(reading)("p", None, reading.calibration, ())
    assert match_tiles(codes, reading) == (pairs, missing)


def test_the_sample_goes_and_own_pieces_stay(catalog, folder, reader, photo, tile):
    fill_demo(catalog, folder, reader)
    load = next(x for x in catalog.loads() if x.name == "Glaze firing 19 October")
    white = next(x for x in catalog.bodies() if x.name == "White stoneware")
    own = PieceDraft(0, code="MINE-1", body_id=white.id)
    catalog.file_photo(b"my own photo", photo(tile(0), name="mine.jpg"), [own], load.id, {0: b"my view"})
    catalog.ware.set_holder("MINE-1", "a friend")
    before = catalog.piece("MINE-1")
    count = holds_demo(catalog, folder)
    assert count == catalog.count_pieces() - 1
    done = remove_demo(catalog, folder)
    assert done.pieces == count
    assert set(done.kept) == {"Glaze firing 19 October", "White stoneware"}
    assert catalog.pieces() == (before,)
    assert catalog.view_bytes(before.readings[0].id) == b"my view"
    assert catalog.ware.holders()["MINE-1"].holder == "a friend"
    assert [x.name for x in catalog.loads()] == ["Glaze firing 19 October"]
    assert catalog.recipes() == ()
    assert find_problems(catalog) == ()
    assert len(list(catalog.photos.digests())) == 1
    assert holds_demo(catalog, folder) == 0
    assert remove_demo(catalog, folder).pieces == 0


def test_a_sample_piece_moved_to_an_own_load_is_left(catalog, folder, reader):
    fill_demo(catalog, folder, reader)
    mine = catalog.add_load("My load")
    code = catalog.pieces(limit=1)[0].code
    catalog.update_piece(code, load_id=mine.id)
    remove_demo(catalog, folder)
    assert [piece.code for piece in catalog.pieces()] == [code]


def test_filled_removed_and_filled_again(catalog, folder, reader):
    first = fill_demo(catalog, folder, reader)
    remove_demo(catalog, folder)
    assert (catalog.count_pieces(), catalog.loads(), catalog.recipes(), catalog.bodies()) == (0, (), (), ())
    assert fill_demo(catalog, folder, reader).pieces == first.pieces
