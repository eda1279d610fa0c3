"""Search by colour, against a plain loop with another library's CIEDE2000 (colour-science)."""

import math
import random
import warnings

import pytest

from catalog.errors import InvalidRecordError
from catalog.records import Layer, PieceDraft, RecipeLine
from catalog.search import colour_table, match_colour
from catalog.store import Catalog
from vision.reading import Lab

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from colour.difference import delta_E_CIE2000

# Two libraries, one formula evaluated in other orders: they agree to far below a printed digit.
AGREE = 1e-6

# Sharma, Wu & Dalal, Color Research & Application 30 (2005) 21-30, table 1: pairs 1, 7, 14, 17 and 31.
SHARMA = [
    ((50.0, 2.6772, -79.7751), (50.0, 0.0, -82.7485), 2.0425),
    ((50.0, 0.0, 0.0), (50.0, -1.0, 2.0), 2.3669),
    ((50.0, -0.0010, 2.4900), (50.0, 0.0010, -2.4900), 4.8045),
    ((50.0, 2.5, 0.0), (73.0, 25.0, -18.0), 27.1492),
    ((63.0109, -31.0961, -5.8663), (62.8187, -29.7946, -4.0864), 1.2630),
]


@pytest.fixture(scope="module")
def shelf(tmp_path_factory, photo, tile):
    """60 pieces of one to four colours, in two clays, glazes and loads, three finishes and calibrations."""
    with Catalog.open(tmp_path_factory.mktemp("shelf")) as catalog:
        yield filled(catalog, photo, tile)


def filled(catalog, photo, tile):
    rng = random.Random(20261125)
    bodies = [catalog.add_body("White").id, catalog.add_body("Dark").id]
    recipes = [catalog.add_recipe(n, [RecipeLine("quartz", 1)]).id for n in ("Moss", "Slate")]
    loads = [catalog.add_load("Spring").id, catalog.add_load("Autumn").id]
    for n in range(20):
        tiles = []
        for index in range(3):
            shares = [rng.random() for _ in range(rng.randint(1, 4))]
            palette = tuple(
                # To the digits that a reading's JSON keeps, so that the plain loop sees the same numbers.
                (
                    tuple(round(rng.uniform(*span), 2) for span in ((5, 95), (-70, 70), (-80, 80))),
                    round(share / sum(shares), 4),
                )
                for share in shares
            )
            tiles.append(tile(index, palette, finish=rng.choice(["gloss", "satin", "matt", None])))
        drafts = [
            PieceDraft(
                index,
                kind=rng.choice(["tile", "ware"]),
                body_id=rng.choice([*bodies, None]),
                layers=(Layer(rng.choice(recipes), ""),),
            )
            for index in range(3)
        ]
        catalog.file_photo(
            b"%d" % n,
            photo(*tiles, name=f"{n}.jpg", calibration=rng.choice(["chart", "card", "none"])),
            drafts,
            rng.choice(loads),
        )
    catalog.ids = {"body_id": bodies[0], "recipe_id": recipes[1], "load_id": loads[0]}
    return catalog


def plain_search(catalog, target, *, min_fraction=0.05, max_delta_e_00=math.inf, **wanted):
    """One piece after another, one colour after another."""
    found = []
    for piece in catalog.pieces():
        if wanted.get("kind") not in (None, piece.kind):
            continue
        if wanted.get("body_id") is not None and (piece.body is None or piece.body.id != wanted["body_id"]):
            continue
        if wanted.get("load_id") not in (None, piece.load.id):
            continue
        if wanted.get("recipe_id") not in (None, piece.layers[0].recipe_id):
            continue
        (reading,) = piece.readings
        if wanted.get("calibrated_only") and reading.calibration_kind == "none":
            continue
        if wanted.get("finish") is not None and reading.tile.gloss.finish != wanted["finish"]:
            continue
        deltas = [
            float(delta_E_CIE2000(entry.lab.as_tuple(), target))
            for entry in reading.tile.glaze.palette
            if entry.fraction >= min_fraction
        ]
        if deltas and min(deltas) <= max_delta_e_00:
            found.append((min(deltas), piece.code, reading.calibration_kind))
    return sorted(found)


TARGETS = [
    (50.0, 0.0, 0.0),
    (32.3, 79.2, -107.9),
    (40.0, -2.0, -20.0),
    (85.0, -10.0, 60.0),
    (50.0, 1.0, -70.0),
]


@pytest.mark.parametrize("target", TARGETS)
def test_all_pieces_come_in_the_order_of_a_plain_loop(shelf, target):
    matches = match_colour(shelf, Lab(*target), limit=1000)
    plain = plain_search(shelf, target)
    assert [m.delta_e_00 for m in matches] == pytest.approx([p[0] for p in plain], abs=AGREE)
    assert [m.piece.code for m in matches] == [p[1] for p in plain]
    assert [m.calibration_kind for m in matches] == [p[2] for p in plain]
    for match in matches:
        assert match.delta_e_00 == pytest.approx(
            float(delta_E_CIE2000(match.lab.as_tuple(), target)), abs=AGREE
        )
        assert match.reading_id == match.piece.readings[0].id
        assert not match.outdated


@pytest.mark.parametrize(
    "wanted",
    [
        {"kind": "ware"},
        {"body_id": ...},
        {"recipe_id": ...},
        {"load_id": ...},
        {"finish": "satin"},
        {"max_delta_e_00": 20.0},
        {"max_delta_e_00": 0.0},
        {"min_fraction": 0.4},
        {"min_fraction": 0.0},
        {"calibrated_only": True},
        {
            "kind": "tile",
            "body_id": ...,
            "recipe_id": ...,
            "load_id": ...,
            "calibrated_only": True,
            "min_fraction": 0.3,
        },
    ],
)
def test_filters_are_those_of_a_plain_loop(shelf, wanted):
    wanted = {k: shelf.ids[k] if v is ... else v for k, v in wanted.items()}
    for target in TARGETS[:2]:
        matches = match_colour(shelf, Lab(*target), limit=1000, **wanted)
        assert [m.piece.code for m in matches] == [p[1] for p in plain_search(shelf, target, **wanted)]


def test_limit_cuts_the_same_list(shelf):
    all_of_them = match_colour(shelf, Lab(50, 0, 0), limit=1000)
    assert match_colour(shelf, Lab(50, 0, 0), limit=5) == all_of_them[:5]
    assert len(match_colour(shelf, Lab(50, 0, 0))) == 12


@pytest.mark.parametrize(("one", "two", "expected"), SHARMA)
def test_the_difference_is_the_published_one(catalog, photo, tile, one, two, expected):
    catalog.file_photo(b"p", photo(tile(0, ((one, 1.0),))), [PieceDraft(0)])
    (match,) = match_colour(catalog, Lab(*two))
    # Readings are kept to 0.01 in L*, a*, b* in JSON, but the palette rows as they were measured.
    assert match.delta_e_00 == pytest.approx(expected, abs=5.1e-5)


def test_equal_differences_put_the_larger_share_first_then_the_one_filed_first(catalog, photo, tile):
    grey = (50.0, 0.0, 0.0)
    red = (40.0, 60.0, 30.0)
    tiles = [tile(i, ((grey, s), (red, 1 - s))) for i, s in enumerate([0.3, 0.6, 0.3])]
    catalog.file_photo(b"p", photo(*tiles), [PieceDraft(i) for i in range(3)])
    assert [m.piece.code for m in match_colour(catalog, Lab(*grey))] == ["T-0002", "T-0001", "T-0003"]
    assert [m.fraction for m in match_colour(catalog, Lab(*grey))] == [0.6, 0.3, 0.3]


def test_an_uncorrected_colour_is_ranked_and_marked(catalog, photo, tile):
    catalog.file_photo(b"1", photo(tile(0, (((50, 0, 0), 1.0),)), calibration="none"), [PieceDraft(0)])
    catalog.file_photo(b"2", photo(tile(0, (((55, 0, 0), 1.0),)), calibration="chart"), [PieceDraft(0)])
    assert [m.calibration_kind for m in match_colour(catalog, Lab(50, 0, 0))] == ["none", "chart"]
    (only,) = match_colour(catalog, Lab(50, 0, 0), calibrated_only=True)
    assert only.piece.code == "T-0002"


def test_a_corrected_reading_of_a_piece_silences_its_uncorrected_one(catalog, photo, tile):
    catalog.file_photo(
        b"1", photo(tile(0, (((50, 0, 0), 1.0),)), calibration="none"), [PieceDraft(0, code="A1")]
    )
    catalog.file_photo(
        b"2", photo(tile(0, (((60, 5, 5), 1.0),)), calibration="card"), [PieceDraft(0, code="A1")]
    )
    (match,) = match_colour(catalog, Lab(50, 0, 0))
    assert (match.calibration_kind, match.lab) == ("card", Lab(60, 5, 5))


def test_a_piece_is_found_by_any_of_its_photos_once(catalog, photo, tile):
    for n, lightness in enumerate((30.0, 70.0)):
        catalog.file_photo(b"%d" % n, photo(tile(0, (((lightness, 0, 0), 1.0),))), [PieceDraft(0, code="A1")])
    for lightness in (30.0, 70.0):
        (match,) = match_colour(catalog, Lab(lightness, 0, 0))
        assert match.delta_e_00 == 0


def test_a_colour_of_an_older_definition_is_marked_until_its_photo_is_read_again(catalog, photo, tile):
    catalog.file_photo(b"1", photo(method={"colour": 0}), [PieceDraft(0)])
    assert [m.outdated for m in match_colour(catalog, Lab(40, -2, -20))] == [True]
    catalog.file_photo(b"1", photo(), [PieceDraft(0)])
    assert [m.outdated for m in match_colour(catalog, Lab(40, -2, -20))] == [False]


def test_what_another_program_files_is_found_at_once(home, catalog, photo, tile):
    assert match_colour(catalog, Lab(50, 0, 0)) == ()
    with Catalog.open(home) as other:
        other.file_photo(b"1", photo(), [PieceDraft(0)])
        assert [m.piece.code for m in match_colour(catalog, Lab(50, 0, 0))] == ["T-0001"]
        other.delete_piece("T-0001")
        assert match_colour(catalog, Lab(50, 0, 0)) == ()
        other.restore_piece("T-0001")
        assert len(match_colour(catalog, Lab(50, 0, 0))) == 1


def test_only_what_changed_is_read_again(home, catalog, photo, tile):
    """Filed before and after, removed and read anew: as a catalogue opened afresh has it."""
    for n, place in enumerate([40, 60, 80]):
        catalog.file_photo(
            b"%d" % n, photo(tile(0, (((place, 5, 5), 0.7), ((place, 9, 9), 0.3)))), [PieceDraft(0)]
        )
    assert len(colour_table(catalog).lab) == 6
    with Catalog.open(home) as other:
        other.delete_piece("T-0002")
        other.file_photo(b"9", photo(tile(0, (((20, 5, 5), 1.0),))), [PieceDraft(0, "T-0001")])
        kept, afresh = colour_table(catalog), colour_table(other)
    for name in ("lab", "fraction", "piece_id", "reading_id", "calibration", "finish", "counted", "readings"):
        assert getattr(kept, name).tolist() == getattr(afresh, name).tolist(), name
    assert sorted(kept.lab[:, 0]) == [20, 40, 40, 80, 80]


def test_the_colours_are_read_once_while_nothing_is_filed(catalog, photo):
    catalog.file_photo(b"1", photo(), [PieceDraft(0)])
    table = colour_table(catalog)
    catalog.set_fact("T-0001", "application.coats", 2)
    assert colour_table(catalog) is table
    with pytest.raises(ValueError, match="read-only"):
        table.lab[0, 0] = 1


def test_a_changed_record_shows_in_the_next_match(catalog, photo):
    body = catalog.add_body("White")
    catalog.file_photo(b"1", photo(), [PieceDraft(0)])
    assert match_colour(catalog, Lab(40, 0, 0), body_id=body.id) == ()
    catalog.update_piece("T-0001", body_id=body.id)
    (match,) = match_colour(catalog, Lab(40, 0, 0), body_id=body.id)
    assert match.piece.body == body


@pytest.mark.parametrize(
    "wrong",
    [
        {"lab": Lab(101, 0, 0)},
        {"lab": Lab(50, float("nan"), 0)},
        {"lab": Lab(50, 0, 500)},
        {"limit": 0},
        {"finish": "shiny"},
        {"kind": "vase"},
    ],
)
def test_wrong_questions_are_refused(catalog, wrong):
    with pytest.raises(InvalidRecordError):
        match_colour(catalog, wrong.pop("lab", Lab(50, 0, 0)), **wrong)
