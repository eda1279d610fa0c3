"""Bodies, recipes with their revisions, loads."""

from datetime import date

import pytest

from catalog.errors import (
    BodyNotFoundError,
    InUseError,
    InvalidRecordError,
    LoadNotFoundError,
    NameTakenError,
    RecipeNotFoundError,
)
from catalog.records import ConeResult, Layer, PieceDraft, RecipeLine, Segment

LINES = [
    RecipeLine("potash feldspar", 60),
    RecipeLine("whiting", 40),
    RecipeLine("tin oxide", 5, addition=True),
]


def test_a_body_comes_back_as_given(catalog):
    added = catalog.add_body(
        " White  stoneware ",
        "stoneware",
        rated_cone="6",
        absorption_pct=0.0,
        facts={"body.bisque_cone": "04", "body.recycled": False},
        notes="fine grog",
    )
    (body,) = catalog.bodies()
    assert body == added
    assert (body.name, body.rated_cone, body.absorption_pct) == ("White stoneware", "6", 0.0)
    assert body.facts == {"body.bisque_cone": "04", "body.recycled": False}


def test_not_measured_and_zero_stay_apart(catalog):
    assert catalog.add_body("A").absorption_pct is None
    assert catalog.add_body("B", absorption_pct=0).absorption_pct == 0


def test_a_body_changes_in_place_and_keeps_what_is_not_named(catalog):
    body = catalog.add_body("Buff", "stoneware", rated_cone="6", notes="n")
    changed = catalog.update_body(body.id, rated_cone="7", facts={"body.wall_mm": 6})
    assert (changed.name, changed.kind, changed.rated_cone, changed.notes) == ("Buff", "stoneware", "7", "n")
    assert catalog.bodies() == (changed,)


def test_one_name_is_one_body_in_any_letter_case(catalog):
    catalog.add_body("Möwe")
    with pytest.raises(NameTakenError) as caught:
        catalog.add_body("MÖWE")
    assert caught.value.name == "MÖWE"
    with pytest.raises(BodyNotFoundError):
        catalog.update_body(99, notes="x")


@pytest.mark.parametrize(
    ("field", "fields"),
    [
        ("name", {"name": "  "}),
        ("kind", {"name": "x", "kind": "glass"}),
        ("absorption_pct", {"name": "x", "absorption_pct": -1}),
        ("absorption_pct", {"name": "x", "absorption_pct": float("nan")}),
        ("rated_cone", {"name": "x", "rated_cone": 6}),
        ("fact", {"name": "x", "facts": {"nodot": 1}}),
        ("body.wall_mm", {"name": "x", "facts": {"body.wall_mm": float("inf")}}),
        ("body.wall_mm", {"name": "x", "facts": {"body.wall_mm": None}}),
    ],
)
def test_what_cannot_be_kept_is_refused_with_what_is_wanted(catalog, field, fields):
    with pytest.raises(InvalidRecordError) as caught:
        catalog.add_body(**fields)
    assert caught.value.field == field
    assert caught.value.wanted
    assert catalog.bodies() == ()


def test_an_unknown_field_is_named(catalog):
    body = catalog.add_body("Buff")
    with pytest.raises(TypeError, match="colour"):
        catalog.update_body(body.id, colour="buff")


# --- recipes


def test_a_changed_recipe_is_the_next_revision_and_the_first_stays(catalog, photo):
    first = catalog.add_recipe("Moss", LINES, cone_low="5", cone_high="6", intended=["matt"])
    filed = catalog.file_photo(b"p", photo(), [PieceDraft(0, layers=(Layer(first.id, ""),))])
    changed = [*LINES[:-1], RecipeLine("tin oxide", 7, addition=True)]
    second = catalog.add_recipe("moss", changed, cone_low="5", cone_high="6", intended=["matt"])
    assert (first.revision, second.revision) == (1, 2)
    assert catalog.recipe(first.id) == first
    assert catalog.recipe(first.id).lines == tuple(LINES)
    assert catalog.recipes() == (second,)
    assert catalog.recipes(latest_only=False) == (second, first)
    assert catalog.piece(filed[0].code).layers[0].recipe_id == first.id


@pytest.mark.parametrize(
    "change",
    [
        {"cone_high": "7"},
        {"intended": ["matt", "crazed"]},
        {"facts": {"recipe.melt": "fluid"}},
        {"notes": "sieve twice"},
        {"lines": [*LINES[1:], LINES[0]]},
    ],
)
def test_any_change_makes_a_revision(catalog, change):
    kept = {"lines": LINES, "cone_low": "5", "cone_high": "6", "intended": ["matt"], "facts": {}, "notes": ""}
    catalog.add_recipe("Moss", **kept)
    assert catalog.add_recipe("Moss", **{**kept, **change}).revision == 2


def test_an_unchanged_recipe_is_the_one_kept(catalog):
    first = catalog.add_recipe("Moss", LINES, intended=["crazing", "matt"])
    again = catalog.add_recipe(" Moss ", LINES, intended=["matt", "crazed"])
    assert again == first
    assert len(catalog.recipes(latest_only=False)) == 1


def test_going_back_to_an_older_recipe_is_a_new_revision(catalog):
    catalog.add_recipe("Moss", LINES)
    catalog.add_recipe("Moss", LINES[:2])
    assert catalog.add_recipe("Moss", LINES).revision == 3


@pytest.mark.parametrize(
    "lines", [[], [RecipeLine("quartz", -1)], [RecipeLine("quartz", 0)], [RecipeLine("", 5)]]
)
def test_a_recipe_needs_materials_and_amounts(catalog, lines):
    with pytest.raises(InvalidRecordError):
        catalog.add_recipe("Moss", lines)
    assert catalog.recipes() == ()


def test_an_unknown_recipe_is_named(catalog):
    with pytest.raises(RecipeNotFoundError) as caught:
        catalog.recipe(5)
    assert caught.value.recipe_id == 5


# --- loads


def test_a_load_comes_back_as_given_and_changes_in_place(catalog):
    load = catalog.add_load(
        "October",
        kiln="Small electric kiln",
        fired_on=date(2026, 10, 19),
        cone_aimed="6",
        cones=[ConeResult("top", "8"), ConeResult("middle", "7", "leaning")],
        atmosphere="oxidation",
        schedule=[Segment(80, 120, 30), Segment(150, 1100), Segment(70, 1215, 10)],
        facts={"firing.kiln": "electric"},
        notes="went over",
    )
    assert catalog.load(load.id) == load
    assert load.schedule[1] == Segment(150, 1100, 0)
    changed = catalog.update_load(load.id, cones=[ConeResult("top", "6")], fired_on=None)
    assert changed.cones == (ConeResult("top", "6"),)
    assert (changed.fired_on, changed.schedule, changed.name) == (None, load.schedule, "October")
    assert catalog.load(load.id) == changed


def test_loads_come_last_fired_first_with_undated_on_top(catalog):
    for name, day in [("b", date(2026, 2, 1)), ("d", None), ("a", date(2026, 1, 1)), ("c", date(2026, 3, 1))]:
        catalog.add_load(name, "bisque" if name == "a" else "glaze", fired_on=day)
    assert [load.name for load in catalog.loads()] == ["d", "c", "b", "a"]
    assert [load.name for load in catalog.loads("bisque")] == ["a"]


def test_06_is_not_6(catalog):
    assert catalog.add_load("a", "bisque", cone_aimed="06").cone_aimed == "06"
    with pytest.raises(InvalidRecordError) as caught:
        catalog.add_load("b", cone_aimed=6)
    assert caught.value.field == "cone_aimed"


@pytest.mark.parametrize(
    "fields",
    [
        {"kind": "raku"},
        {"atmosphere": "smoky"},
        {"cones": [ConeResult("top", "")]},
        {"schedule": [Segment(100, 2000)]},
        {"schedule": [Segment(100, 1200, -5)]},
    ],
)
def test_a_load_that_cannot_be_is_refused_whole(catalog, fields):
    with pytest.raises(InvalidRecordError):
        catalog.add_load("x", **fields)
    assert catalog.loads() == ()


def test_a_load_with_pieces_stays(catalog, photo):
    load = catalog.add_load("October")
    catalog.file_photo(b"p", photo(), [PieceDraft(0)], load.id)
    with pytest.raises(InUseError) as caught:
        catalog.delete_load(load.id)
    assert (caught.value.what, caught.value.piece_count) == ("load", 1)
    empty = catalog.add_load("Mistake", cones=[ConeResult("top", "6")])
    catalog.delete_load(empty.id)
    with pytest.raises(LoadNotFoundError):
        catalog.load(empty.id)
