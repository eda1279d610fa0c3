"""Materials of one's own: sums checked, states of oxidation, traces, bases, revisions."""

import math

import pytest

from catalog.glaze.analysis_sheet import (
    AnalysisSheet,
    moisture_of,
    newest_materials,
    own_material,
    revised,
)
from catalog.glaze.batch import batch_for
from catalog.glaze.errors import AnalysisSheetError
from catalog.glaze.formula import formula_of
from catalog.glaze.gas import gas_steps
from catalog.records import RecipeLine

# a ball clay as laboratories print one: dry basis, oxides and loss to 100
CLAY = {
    "SiO2": 54.0,
    "Al2O3": 29.0,
    "Fe2O3": 1.0,
    "TiO2": 1.3,
    "CaO": 0.3,
    "MgO": 0.4,
    "K2O": 1.7,
    "Na2O": 0.3,
}


def test_a_dry_sheet_becomes_a_material_that_closes():
    own = own_material(AnalysisSheet("my clay", CLAY, 12.0, moisture_pct=3.0, lot="L-17"))
    formula = formula_of([("my clay", 100.0)], newest_materials([own]))
    assert formula.loi_pct == pytest.approx(12.0)
    assert formula.unaccounted_pct == pytest.approx(0.0, abs=1e-9)
    assert (own.revision, own.lot, own.moisture_pct, own.material.kind) == (1, "L-17", 3.0, "analysis")


def test_a_fired_sheet_is_the_same_clay():
    fired = {oxide: pct / 0.88 for oxide, pct in CLAY.items()}
    dry = own_material(AnalysisSheet("clay", CLAY, 12.0)).material
    same = own_material(AnalysisSheet("clay", fired, 12.0, basis="fired")).material
    for oxide, pct in dry.oxides_wt_pct.items():
        assert same.oxides_wt_pct[oxide] == pytest.approx(pct)
    assert same.loi_wt_pct == 12.0


@pytest.mark.parametrize(
    ("printed", "shown", "factor"),
    [
        # by hand from atomic weights: FeO to Fe2O3 159.687/(2 x 71.844) = 1.1113; MnO2 to MnO
        # 70.937/86.936 = 0.8160; Co3O4 to CoO 3 x 74.932/240.796 = 0.9336
        ("FeO", "Fe2O3", 1.1113),
        ("MnO2", "MnO", 0.8160),
        ("Co3O4", "CoO", 0.9336),
    ],
)
def test_other_states_of_oxidation_are_counted_as_the_oxide_shown(printed, shown, factor):
    own = own_material(AnalysisSheet("ore", {printed: 50.0, "SiO2": 50.0}, 0.0))
    assert own.material.oxides_wt_pct[shown] == pytest.approx(50.0 * factor, abs=3e-3)
    formula = formula_of([("ore", 1.0)], newest_materials([own]))
    assert formula.unaccounted_pct == pytest.approx(0.0, abs=1e-9)
    assert printed in own.notes[0]


def test_traces_and_decimal_commas():
    cells = {"SiO2": "99,4 %", "Al2O3": "0.3", "Fe2O3": "<0.05", "TiO2": "tr.", "CaO": "n.d."}
    own = own_material(AnalysisSheet("sand", cells, 0.1))
    assert own.material.oxides_wt_pct == {"Al2O3": 0.3, "SiO2": 99.4}
    assert len(own.notes) == 3


def test_sulphate_leaves_as_gas():
    own = own_material(AnalysisSheet("salt", {"CaO": 41.2, "SO3": 58.8}, 0.0))
    assert own.material.gases_wt_pct == {"SO3": 58.8}
    assert own.material.loi_wt_pct == pytest.approx(58.8)


def test_gas_like_a_known_material_takes_its_temperatures_and_the_sheets_loss():
    # a chalk of 98 % carbonate: gas_table.csv has 600 to 900 C for whiting
    own = own_material(AnalysisSheet("chalk", {"CaO": 54.9, "SiO2": 2.0}, 43.1, gas_like="whiting"))
    (step,) = gas_steps(own.material)
    assert (step.start_c, step.end_c, step.gas) == (600.0, 900.0, "CO2")
    assert step.wt_pct == pytest.approx(43.1)
    assert gas_steps(own_material(AnalysisSheet("chalk", {"CaO": 54.9, "SiO2": 2.0}, 43.1)).material) == ()


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"oxides_wt_pct": CLAY | {"SiO2": 44.0}}, "add to 90.00 %"),
        ({"oxides_wt_pct": {o: p / 0.88 for o, p in CLAY.items()}}, "fired basis"),
        ({"basis": "fired"}, "dry basis"),
        ({"oxides_wt_pct": CLAY | {"Al2O": 1.0}}, "nearest known: Al2O3"),
        ({"oxides_wt_pct": CLAY | {"CO2": 1.0}}, "part of the loss"),
        ({"oxides_wt_pct": CLAY | {"TiO2": -1.0}}, "zero or more"),
        ({"oxides_wt_pct": CLAY | {"TiO2": "much"}}, "wanted: a number"),
        ({"oxides_wt_pct": CLAY | {"tio2": 1.0}}, "twice"),
        ({"loi_pct": math.nan}, "loss on ignition"),
        ({"moisture_pct": 100.0}, "moisture"),
        ({"fluorine_pct": -1.0}, "fluorine"),
        ({"basis": "raw"}, "basis"),
        ({"name": " "}, "no name"),
        ({"gas_like": "moonstone"}, "no such material"),
    ],
)
def test_sheets_that_cannot_be_right_are_refused_with_the_reason(change, says):
    given = {"name": "clay", "oxides_wt_pct": CLAY, "loi_pct": 12.0} | change
    with pytest.raises(AnalysisSheetError, match=says) as caught:
        own_material(AnalysisSheet(**given))
    assert caught.value.name


def test_revisions_are_kept_and_the_newest_counts():
    first = own_material(AnalysisSheet("clay", CLAY, 12.0, moisture_pct=2.0))
    second = revised(
        first, AnalysisSheet("clay", CLAY | {"SiO2": 55.0, "Al2O3": 28.0}, 12.0, moisture_pct=20.0)
    )
    assert (first.revision, second.revision) == (1, 2)
    assert first.material.oxides_wt_pct["SiO2"] == 54.0
    assert newest_materials([second, first])["clay"].oxides_wt_pct["SiO2"] == 55.0
    batch = batch_for([RecipeLine("clay", 100)], 80.0, moisture_pct=moisture_of([first, second]))
    assert batch.lines[0].grams == pytest.approx(100.0)
    with pytest.raises(AnalysisSheetError, match="same material"):
        revised(first, AnalysisSheet("sand", {"SiO2": 100.0}, 0.0))
