"""Formulas against worked examples printed elsewhere, molar masses against a second library, and balances."""

import csv
import math
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.glaze.errors import EmptyRecipeError, RecipeAmountError, UnknownMaterialError
from catalog.glaze.formula import formula_of
from catalog.glaze.materials import find_material, material_names, materials, oxides_from_formula
from catalog.glaze.oxides import FLUXES, OXIDES, molar_mass_g, mole_pct
from catalog.package_data import read_rows
from catalog.records import RecipeLine

OXIDE_TABLE = Path(__file__).parents[2] / "references" / "oxides.csv"

LIME_GLAZE = [("potash feldspar", 40), ("china clay", 10), ("whiting", 20), ("silica", 30)]


def rounded(values, digits):
    return {name: round(value, digits) for name, value in values.items()}


def test_molar_masses_agree_with_a_second_library():
    # tests/references/oxides.csv: second column computed with molmass 2026.1.8
    with OXIDE_TABLE.open(encoding="utf-8", newline="") as file:
        rows = {row["oxide"]: row for row in csv.DictReader(file)}
    for oxide in OXIDES:
        assert molar_mass_g(oxide) == pytest.approx(float(rows[oxide]["molar_mass_molmass_g_mol"]), rel=1e-4)


def test_lime_glaze_to_unity_formula():
    # Recipe and mineral weights: duncanshearer.co.nz/glaze/molecular (a potter's teaching page); the answer
    # is worked by hand from them: unity K2O 0.264, CaO 0.736, Al2O3 0.407, SiO2 3.710, Si:Al 9.11; fired wt %
    # SiO2 67.43, Al2O3 12.56, CaO 12.48, K2O 7.54; loss 10.19 %; mol % 72.50, 14.37, 7.96, 5.17
    formula = formula_of(LIME_GLAZE)
    assert rounded(formula.unity, 3) == {"K2O": 0.264, "CaO": 0.736, "Al2O3": 0.407, "SiO2": 3.710}
    assert round(formula.si_al, 2) == 9.11
    assert rounded(formula.wt_pct, 2) == {"K2O": 7.54, "CaO": 12.48, "Al2O3": 12.56, "SiO2": 67.43}
    assert rounded(formula.mol_pct, 2) == {"K2O": 5.17, "CaO": 14.37, "Al2O3": 7.96, "SiO2": 72.50}
    assert round(formula.loi_pct, 2) == 10.19
    assert round(formula.flux_mol, 4) == 0.2717


def test_two_feldspar_glaze_to_unity_formula():
    # Course page barrodelbajo.com.ar/info/formula_a_seguer prints KNaO 0.252, CaO 0.748, Al2O3 0.542,
    # SiO2 2.999, flux sum 0.294 (it weighs both feldspars as 556); exact masses by hand: 0.2939, Na2O 0.130,
    # K2O 0.122, SiO2 2.998
    formula = formula_of(
        [("soda feldspar", 20), ("potash feldspar", 20), ("kaolin", 22), ("chalk", 22), ("quartz", 16)]
    )
    assert round(formula.knao, 3) == 0.252
    assert rounded(formula.unity, 3) == {
        "Na2O": 0.130,
        "K2O": 0.122,
        "CaO": 0.748,
        "Al2O3": 0.542,
        "SiO2": 2.998,
    }
    assert formula.flux_mol == pytest.approx(0.2939, abs=5e-5)


@pytest.mark.parametrize(("quartz", "silica"), [(54.0, 4.002), (84.0, 5.001)])
def test_segers_cones_4_and_5_batches(quartz, silica):
    # Seger's cone table, from memory: 0.3 K2O 0.7 CaO 0.5 Al2O3 4 SiO2 is feldspar 83.55, marble 35.00,
    # quartz 54.00, kaolin 25.90 by the old weights; exact masses by hand: Al2O3 0.501, SiO2 4.002
    formula = formula_of([("feldspar", 83.55), ("marble", 35.0), ("quartz", quartz), ("kaolin", 25.9)])
    assert rounded(formula.unity, 3) == {
        "K2O": 0.300,
        "CaO": 0.700,
        "Al2O3": 0.501,
        "SiO2": pytest.approx(silica, abs=2e-3),
    }


@pytest.mark.parametrize(
    ("weights", "moles", "digits"),
    [
        # ukrbukva.net page 8,66170 prints 72.35, 0.89, 9.57, 13.44, 3.75 with rounded weights; exact by hand:
        (
            {"SiO2": 73, "Al2O3": 1.5, "CaO": 9, "Na2O": 14, "MgO": 2.5},
            {"SiO2": 72.402, "Al2O3": 0.877, "CaO": 9.564, "Na2O": 13.461, "MgO": 3.696},
            3,
        ),
        # architectnew.ru/anps-485-1 prints 71.75, 7.44, 5.91, 13.44, 1.46 (weights 60, 56, 40, 62, 102)
        (
            {"SiO2": 72.5, "CaO": 7.0, "MgO": 4.0, "Na2O": 14.0, "Al2O3": 2.5},
            {"SiO2": 71.8, "CaO": 7.4, "MgO": 5.9, "Na2O": 13.4, "Al2O3": 1.5},
            1,
        ),
    ],
)
def test_weight_to_mole_per_cent(weights, moles, digits):
    assert rounded(mole_pct(weights), digits) == moles


def test_theoretical_materials_close_and_agree_with_the_table():
    for row in read_rows("catalog.glaze", "materials.csv"):
        material = materials()[row["material"]]
        printed = {
            oxide: float(row[f"{oxide}_wt_pct"])
            for oxide in OXIDES
            if row.get(f"{oxide}_wt_pct") and float(row[f"{oxide}_wt_pct"])
        }
        assert material.oxides_wt_pct.keys() == printed.keys(), row["material"]
        for oxide, value in printed.items():
            assert material.oxides_wt_pct[oxide] == pytest.approx(value, abs=6e-4), (row["material"], oxide)
        assert material.loi_wt_pct == pytest.approx(float(row["loi_wt_pct"] or 0), abs=6e-4), row["material"]


def test_a_formula_with_several_hydroxides_is_split_right():
    # 2CoCO3.3Co(OH)2.H2O: 5 CoO in 534.739, 4 H2O, 2 CO2 (tests/references table of the same compound)
    oxides, gases, fluorine = oxides_from_formula("2CoCO3.3Co(OH)2.H2O")
    assert oxides["CoO"] == pytest.approx(70.064, abs=5e-4)
    assert gases["H2O"] == pytest.approx(13.476, abs=5e-4)
    assert gases["CO2"] == pytest.approx(16.460, abs=5e-4)
    assert fluorine == 0.0


SOME_RECIPE = st.dictionaries(
    st.sampled_from(sorted(m.name for m in materials().values() if m.kind == "theoretical")),
    st.floats(0.01, 1000),
    min_size=1,
    max_size=12,
)


@settings(max_examples=500, deadline=None)
@given(SOME_RECIPE)
def test_mass_balance_of_random_recipes_closes(recipe):
    formula = formula_of([(name, amount) for name, amount in recipe.items()])
    assert math.isclose(math.fsum(formula.wt_pct.values()), 100.0, abs_tol=1e-9)
    assert math.isclose(math.fsum(formula.mol_pct.values()), 100.0, abs_tol=1e-9)
    assert math.isclose(math.fsum(s.batch_wt_pct for s in formula.shares), 100.0, abs_tol=1e-9)
    assert abs(formula.unaccounted_pct) < 1e-9
    if formula.unity is not None:
        assert math.isclose(math.fsum(formula.unity.get(f, 0.0) for f in FLUXES), 1.0, abs_tol=1e-9)


@given(SOME_RECIPE, st.floats(0.01, 100))
def test_the_total_of_a_recipe_does_not_matter(recipe, factor):
    once = formula_of(list(recipe.items()))
    again = formula_of([(name, factor * amount) for name, amount in recipe.items()])
    for oxide, value in once.wt_pct.items():
        assert again.wt_pct[oxide] == pytest.approx(value, rel=1e-9, abs=1e-9)


def test_a_recipe_without_flux_has_no_unity_formula():
    formula = formula_of([("kaolin", 50), ("silica", 50)])
    assert formula.unity is None
    assert formula.knao is None
    assert formula.r2o is None
    assert formula.si_al == pytest.approx(2 + 50 / 60.083 / (50 / 258.156), abs=0.001)


@pytest.mark.parametrize(
    ("one", "other"),
    [("silica", "flint"), ("chalk", "Calcium Carbonate"), ("china clay", "KAOLIN"), ("quartz", " Quartz ")],
)
def test_names_of_one_material_are_one(one, other):
    assert find_material(one) is find_material(other)


def test_every_listed_name_is_found():
    assert {find_material(name).name for name in material_names()} == set(materials())


@pytest.mark.parametrize(
    ("name", "near"), [("whitting", "whiting"), ("nephaline syenite", "nepheline syenite")]
)
def test_an_unknown_material_is_refused_with_the_nearest(name, near):
    with pytest.raises(UnknownMaterialError) as caught:
        formula_of([RecipeLine(name, 10.0)])
    assert caught.value.nearest[0] == near


def test_a_persons_own_material_comes_first():
    own = {"whiting": find_material("wollastonite")}
    assert formula_of([("whiting", 1.0)], own).loi_pct == 0.0


@pytest.mark.parametrize("amount", [-1.0, math.nan, math.inf, "ten", True])
def test_an_amount_that_is_none_is_refused(amount):
    with pytest.raises(RecipeAmountError):
        formula_of([("silica", amount)])


def test_an_empty_recipe_is_refused():
    with pytest.raises(EmptyRecipeError):
        formula_of([])
    with pytest.raises(EmptyRecipeError):
        formula_of([("silica", 0.0)])
