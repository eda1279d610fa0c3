"""Statements of use: no combination yields a promise; open faults on a food surface always forbid food."""

import itertools
import re
from datetime import date

import pytest

from catalog.causes.errors import UnknownFaultError
from catalog.causes.knowledge import fault_names
from catalog.package_data import read_rows
from catalog.records import Layer, Recipe, RecipeLine
from catalog.ware.leach import ELEMENTS, REGIONS, WARE_CLASSES, LeachResult, limit_for, method_names
from catalog.ware.of_piece import ware_of
from catalog.ware.sisters import sisters
from catalog.ware.statement import PLACES, FaultAt, Use, Ware, use_statement
from tests.synthetic_studio import RECIPES, piece

FORBIDDEN = re.compile(
    r"\b(safe|safely|safety|non-toxic|harmless|lead[- ]free|passes|passed|compliant|complies|approved|"
    r"guaranteed?|certified|suitable for food|fit for food|good for food|dishwasher|microwave|permitted)\b",
    re.IGNORECASE,
)
WHEN = date(2026, 3, 1)


def result(element="lead", amount=0.01, unit="mg/L", accredited=True, same_make=True):
    return LeachResult(
        element, amount, unit, "ASTM C738", "a laboratory", accredited, WHEN, same_make=same_make
    )


BOTH = (result("lead", 0.01), result("cadmium", 0.001))
HOLD = "Hold: more than about 2 per cent manganese dioxide. Not for food or drink until tested."

FAULTS = (None, *fault_names())
BODIES = (None, 0.5, 8.0)
KNOWN_OR_NOT = ((True, ()), (False, ()), (True, (HOLD,)))
RESULTS = (
    (),
    BOTH,
    (result("lead", 50.0), result("cadmium", 0.001)),
    (result("lead", 0.01, accredited=False), result("cadmium", 0.001)),
    (result("lead", 0.01),),
    tuple(result(r.element, r.amount, same_make=False) for r in BOTH),
)


def test_no_combination_yields_a_promise():
    # fault x surface x body x recipe x leach result
    seen = set()
    for fault, place, body, (known, holds), results in itertools.product(
        FAULTS, PLACES, BODIES, KNOWN_OR_NOT, RESULTS
    ):
        faults = () if fault is None else (FaultAt(fault, place),)
        said = use_statement(Ware(faults, "cup", "us", body, known, holds, results))
        text = said.text()
        seen.add(said.use)
        assert not FORBIDDEN.search(text), text
        assert said.reasons
        if said.use is Use.TESTED:
            assert known
            assert not holds
            assert results == BOTH
            assert WHEN.isoformat() in text
            assert "ASTM C738" in text
    assert seen == set(Use)


@pytest.mark.parametrize("fault", ["blister", "crater", "pinhole", "craze", "crawl", "blistered", "crazing"])
@pytest.mark.parametrize("place", ["inside", "rim", "unknown"])
def test_open_faults_on_a_food_surface_always_forbid_food(fault, place):
    # safety.md section B
    for ware, region in itertools.product(WARE_CLASSES, REGIONS):
        said = use_statement(Ware((FaultAt(fault, place),), ware, region, 0.5, True, (), BOTH))
        assert said.use is Use.DECORATIVE
        assert "Not for food." in said.text()


def test_a_fault_whose_place_is_not_known_counts_as_on_the_food_surface():
    assert use_statement(Ware((FaultAt("pinhole"),), results=BOTH)).use is Use.DECORATIVE


def test_ware_that_breaks_or_sheds_is_for_no_use_and_its_sisters_are_called():
    for fault in ("shiver", "dunt", "crack_making", "bloat", "lime_pop"):
        said = use_statement(Ware((FaultAt(fault, "outside"),), results=BOTH))
        assert said.use is Use.DECORATIVE
        assert said.recall


def test_an_open_glaze_on_an_absorbent_body_is_for_dry_use():
    said = use_statement(Ware((FaultAt("craze", "outside"),), "cup", "us", 8.0, True, (), BOTH))
    assert said.use is Use.DRY


def test_without_a_result_it_is_not_for_food_and_the_tests_are_named():
    said = use_statement(Ware())
    assert said.use is Use.UNTIL_TESTED
    assert "ASTM C738" in said.text()
    assert "ISO 6486-1" in said.text()


def test_a_result_stands_beside_its_regions_figure():
    said = use_statement(Ware((), "cup", "us", 0.5, True, (), BOTH))
    assert said.use is Use.TESTED
    # lead 0.5 ug/mL for cups and mugs: FDA CPG 545.450, as given in the table
    assert "lead 0.01 mg/L by ASTM C738" in said.text()
    assert "0.5 mg/L" in said.text()


def test_one_result_above_the_figure_counts_whatever_came_later():
    over = LeachResult("lead", 0.6, "mg/L", "ASTM C738", "a laboratory", True, date(2025, 1, 1))
    said = use_statement(Ware((), "cup", "us", 0.5, True, (), (over, *BOTH)))
    assert said.use is Use.DECORATIVE
    assert said.recall
    # the same release is under the figure of small hollow ware, 2 ug/mL
    other = use_statement(Ware((), "small_hollow", "us", 0.5, True, (), (over, *BOTH)))
    assert other.use is Use.TESTED


def test_a_unit_that_does_not_fit_the_ware_is_no_result():
    flat = Ware((), "flat", "eu", 0.5, True, (), BOTH)  # category 1 is judged in mg/dm2
    assert use_statement(flat).use is Use.UNTIL_TESTED


@pytest.mark.parametrize(
    ("region", "ware", "element", "limit", "unit"),
    [
        # Directive 84/500/EEC article 2; FDA CPG 545.450 and 545.400; ISO 6486-2:1999 (recalled)
        ("eu", "flat", "lead", 0.8, "mg/dm2"),
        ("eu", "cup", "lead", 4.0, "mg/L"),
        ("eu", "cooking", "cadmium", 0.1, "mg/L"),
        ("us", "pitcher", "lead", 0.5, "mg/L"),
        ("us", "pitcher", "cadmium", 0.25, "mg/L"),
        ("us", "cup", "cadmium", 0.5, "mg/L"),
        ("iso", "storage", "lead", 0.5, "mg/L"),
        ("california", "cup", "lead", 0.1, "mg/L"),
    ],
)
def test_figures_by_region_and_ware(region, ware, element, limit, unit):
    found = limit_for(region, ware, element)
    assert (found.limit, found.unit) == (limit, unit)
    assert found.source


def test_every_region_has_a_figure_for_every_ware_or_says_none():
    for region, ware, element in itertools.product(REGIONS, WARE_CLASSES, ELEMENTS):
        found = limit_for(region, ware, element)
        if found is not None:
            assert found.basis in ("read", "memory")
            assert ("recalled" in found.text()) == (found.basis == "memory")
    assert limit_for("atlantis", "cup", "lead") is None
    assert "ASTM C738" in method_names()


def test_every_fault_that_can_be_named_has_a_rule_or_is_a_matter_of_looks():
    ruled = {row["fault"] for row in read_rows("catalog.ware", "use_of_faults.csv")}
    assert set(fault_names()) - ruled == {"pit_dimple", "run", "speck_dark", "not_opaque"}
    with pytest.raises(UnknownFaultError):
        use_statement(Ware((FaultAt("wobble"),)))


def test_sister_pieces_are_listed_by_what_they_share():
    bad = piece()
    same_load = piece(2, layers=(), body=None)
    same_pair = piece(3, load=None)
    both = piece(4)
    stranger = piece(5, load=None, body=None)
    found = sisters(bad, [bad, same_load, same_pair, both, stranger])
    assert [sister.code for sister in found] == ["T-0004", "T-0003", "T-0002"]
    assert found[0].text() == "T-0004: same load, same glaze, same clay"


def test_a_filed_piece_gives_what_a_statement_needs():
    made = piece(facts={"body.absorption_pct": 4.0})
    found = ware_of(made, recipes=RECIPES, places={"blister": "outside"}, ware="cup", region="us")
    assert found.faults == (FaultAt("blister", "outside"),)
    assert found.absorption_pct == 4.0
    assert found.recipe_known
    assert found.holds == ()
    assert use_statement(found).use is Use.DRY
    assert use_statement(ware_of(made, recipes=RECIPES)).use is Use.DECORATIVE


def test_a_recipe_that_is_not_known_or_calls_for_a_hold_holds_the_piece():
    shop = piece(layers=(Layer(None, "Shop green", 2),), faults=())
    assert not ware_of(shop, recipes=RECIPES).recipe_known
    lines = (RecipeLine("potash feldspar", 90.0), RecipeLine("manganese dioxide", 10.0))
    loaded = Recipe(7, "Night", 1, lines)
    held = ware_of(piece(layers=(Layer(7, "Night", 1),), faults=()), recipes={7: loaded})
    assert any("manganese" in text for text in held.holds)
    assert use_statement(held).use is Use.UNTIL_TESTED
