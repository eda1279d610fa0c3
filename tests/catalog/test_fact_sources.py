"""Every fact of recipe, firing and body is computed, asked where it is cheapest, or said not to be had."""

import pytest

from catalog.body.absorption import Weighing, absorption_of
from catalog.causes.vocabulary import check_value
from catalog.firing.course_facts import course_facts
from catalog.firing.course_figures import bisque_facts
from catalog.firing.path import path_of_log
from catalog.glaze.fit import FITS, Fit
from catalog.glaze.formula import formula_of
from catalog.glaze.materials import materials
from catalog.glaze.melt import melt_facts, melt_of
from catalog.glaze.recipe_facts import recipe_facts
from catalog.package_data import read_rows

PLACES = {"recipe": "catalog.glaze", "firing": "catalog.firing", "body": "catalog.body"}
ASKED = {"recipe": {"recipe", "piece"}, "firing": {"load", "piece"}, "body": {"body", "load", "piece"}}
BASE = [("potash feldspar", 40), ("kaolin", 10), ("whiting", 20), ("quartz", 30)]


def sources():
    return {row["fact"]: row for place in PLACES.values() for row in read_rows(place, "fact_sources.csv")}


@pytest.mark.parametrize("stem", list(PLACES))
def test_every_field_has_its_source(stem):
    rows = read_rows(PLACES[stem], "fact_sources.csv")
    assert len({row["fact"] for row in rows}) == len(rows)
    for row in rows:
        assert row["how"] in ("computed", "asked", "not obtainable"), row
        if row["how"] == "asked":
            assert row["by"] in ASKED[stem], row
        elif row["how"] == "computed":
            assert row["by"].startswith("catalog."), row
        else:
            assert row["note"], row
    told = set(sources())
    wanted = {
        row["field"]
        for row in read_rows("catalog.causes", "conditions.csv")
        if row["field"].startswith(f"{stem}.")
    }
    assert wanted <= told, sorted(wanted - told)


def test_what_is_said_to_be_computed_from_a_recipe_is():
    everything = recipe_facts(formula_of([*BASE, *((name, 1.0) for name in materials())]))
    said = {fact for fact, row in sources().items() if row["by"] == "catalog.glaze.recipe_facts"}
    assert said == set(everything)
    for key, value in everything.items():
        assert check_value(key, value) == value


def test_what_is_said_to_be_computed_from_the_melt_is():
    fit = Fit(FITS, (), "a set", "", -3e-7, 1e-7, "")
    found = melt_facts(melt_of(formula_of(BASE)), fit)
    assert {fact for fact, row in sources().items() if row["by"] == "catalog.glaze.melt"} == set(found)


def test_what_is_said_to_be_computed_from_a_course_is():
    minutes = [0, 30, 480, 600, 615, 700, 1400, 2400]
    course = path_of_log(minutes, [20, 60, 1100, 1220, 1220, 990, 400, 60])
    said = sources()
    by_course = {fact for fact, row in said.items() if row["by"] == "catalog.firing.course_facts"}
    assert by_course == set(course_facts(course))
    bisque = set(bisque_facts(course))
    assert bisque == {
        fact
        for fact, row in said.items()
        if row["by"] == "catalog.firing.course_figures" and fact.startswith("body.")
    }
    assert absorption_of([Weighing(50.0, 51.0)]).pct == pytest.approx(2.0)


@pytest.mark.parametrize(
    ("material", "key"),
    [
        ("lithium carbonate", "recipe.li2co3_pct"),
        ("tin oxide", "recipe.sno2_added_pct"),
        ("copper carbonate", "recipe.cu_added_pct"),
        ("copper oxide", "recipe.cu_added_pct"),
    ],
)
def test_what_stands_in_the_batch_is_counted_of_the_whole_batch(material, key):
    """5 parts above a base of 100: 5 of 105 by weight (by hand)."""
    facts = recipe_facts(formula_of([*BASE, (material, 5.0)]))
    assert facts[key] == pytest.approx(500.0 / 105.0)
    assert recipe_facts(formula_of(BASE))[key] == 0.0
