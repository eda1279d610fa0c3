"""Viscosity models against their authors' printed glasses, measured standards, and refusals."""

import math

import pytest

from catalog.glaze.formula import formula_of
from catalog.glaze.oxides import molar_mass_g
from catalog.glaze.viscosity import best_viscosity, log_spread, viscosity_answers
from catalog.glaze.viscosity_curve import curve_through
from catalog.glaze.viscosity_fluegel import fluegel_isokoms_c, fluegel_viscosity
from catalog.glaze.viscosity_giordano import giordano_curve
from catalog.glaze.viscosity_lakatos import lakatos_isokoms_c, lakatos_viscosity

# Lakatos, Johansson & Simmingskold, August 1976, tables 1A and 1B (public copy): weight %, printed
# temperatures at 10^2, 10^4, 10^6 poise, the same worked from table 7, and printed measured minus printed
LAKATOS = {
    "S1": (
        {"SiO2": 77.02, "Al2O3": 0.19, "Na2O": 12.03, "K2O": 0.13, "CaO": 10.12},
        (1503.7, 1054.3, 843.3),
        (1503.2, 1054.3, 843.3),
        (5.3, 4.8, 5.4),
    ),
    "S7": (
        {"SiO2": 71.41, "Al2O3": 2.21, "Na2O": 12.44, "K2O": 2.6, "CaO": 10.1, "MgO": 0.77},
        (1465.9, 1034.0, 829.9),
        (1465.9, 1034.0, 830.0),
        (2.9, 2.1, 2.5),
    ),
    "S16": (
        {"SiO2": 69.7, "Al2O3": 2.23, "Na2O": 14.06, "K2O": 0.04, "CaO": 11.05, "MgO": 2.23},
        (1422.7, 1017.8, 824.6),
        (1421.4, 1017.2, 824.3),
        (4.7, 2.1, 2.3),
    ),
    "S28": (
        {"SiO2": 72.37, "Al2O3": 2.02, "Na2O": 12.87, "K2O": 0.08, "CaO": 11.12, "MgO": 0.65},
        (1467.3, 1039.1, 837.6),
        (1467.0, 1039.0, 837.6),
        (4.9, 2.9, 3.1),
    ),
    "D17": (
        {"SiO2": 62.01, "Al2O3": 1.05, "Na2O": 12.15, "CaO": 10.42, "B2O3": 14.37},
        (1200.0, 905.3, 772.4),
        (1198.7, 904.9, 772.2),
        (-1.4, -0.7, -0.6),
    ),
    "F2-10": (
        {"SiO2": 73.3, "Al2O3": 1.65, "Na2O": 11.2, "K2O": 0.48, "Li2O": 3.0, "CaO": 10.3},
        (1365.4, 939.2, 743.0),
        (1365.5, 939.3, 743.1),
        (-5.1, -0.7, -2.0),
    ),
    "FAL5": (
        {"SiO2": 68.0, "Al2O3": 6.0, "Na2O": 11.0, "K2O": 2.0, "CaO": 11.0, "MgO": 2.0},
        (1499.7, 1069.9, 864.3),
        (1499.6, 1070.0, 864.4),
        (1.0, 2.0, 0.2),
    ),
    # printed parts sum to 99.64, one figure is probably misread: no tight test
    "D6": (
        {"SiO2": 64.82, "Al2O3": 1.1, "Na2O": 12.7, "CaO": 4.48, "BaO": 16.54},
        (1385.7, 971.2, 777.9),
        (1391.5, 973.4, 778.3),
        (2.7, 1.1, 1.3),
    ),
}

# Fluegel 2007, tables 1 and 12 (public copy): mol %, printed model temperatures at 10^1.5, 10^6.6,
# 10^12 Pa s, the same worked from tables 4-6, measured
FLUEGEL = {
    "710A": (
        {"SiO2": 71.43, "Al2O3": 1.31, "Na2O": 8.25, "K2O": 6.27, "CaO": 9.62, "TiO2": 0.32, "ZnO": 2.81},
        (1314, 729, 551),
        (1313.7, 728.9, 551.1),
        (1319, 731, 545),
    ),
    "717A": (
        {"SiO2": 72.25, "Al2O3": 2.19, "Na2O": 1.03, "K2O": 5.42, "B2O3": 16.97, "Li2O": 2.14},
        (1378, 731, 520),
        (1378.0, 731.3, 520.4),
        (1388, 719, 514),
    ),
    "711": (
        {"SiO2": 71.28, "Al2O3": 0.51, "Na2O": 3.76, "K2O": 5.55, "PbO": 18.9},
        (1172, 614, 445),
        (1172.2, 614.0, 445.1),
        (1185, 614, 443),
    ),
    # printed parts sum to 99.45
    "710": (
        {"SiO2": 72.74, "Al2O3": 0.11, "Na2O": 8.7, "K2O": 5.07, "CaO": 12.82, "Fe2O3": 0.01},
        (1294, 732, 564),
        (1296.0, 731.8, 564.1),
        (1293, 725, 556),
    ),
    "DGG I": (
        {
            "SiO2": 70.94,
            "Al2O3": 0.72,
            "Na2O": 14.34,
            "K2O": 0.21,
            "MgO": 6.16,
            "CaO": 7.13,
            "SO3": 0.32,
            "Fe2O3": 0.07,
            "TiO2": 0.1,
        },
        (1303, 715, 535),
        (1302.7, 715.0, 535.3),
        (1301, 721, 539),
    ),
}

CONTAINER_MOL = {
    "SiO2": 74.41,
    "Al2O3": 0.75,
    "Na2O": 12.9,
    "K2O": 0.19,
    "MgO": 0.3,
    "CaO": 11.27,
    "SO3": 0.16,
    "Fe2O3": 0.01,
    "TiO2": 0.01,
}

# anhydrous ocean-floor basalt, weight %: SiO2 TiO2 Al2O3 FeO MgO CaO Na2O K2O
BASALT = {
    "SiO2": 50.42,
    "TiO2": 1.53,
    "Al2O3": 15.13,
    "FeO": 9.81,
    "MgO": 7.76,
    "CaO": 11.35,
    "Na2O": 2.83,
    "K2O": 0.14,
}


@pytest.mark.parametrize("name", LAKATOS)
def test_lakatos_printed_glasses(name):
    weights, printed, worked, measured_above = LAKATOS[name]
    got = lakatos_isokoms_c(weights)
    assert tuple(round(got[level], 1) for level in (1.0, 3.0, 5.0)) == worked
    for level, model, above, error in zip(
        (1.0, 3.0, 5.0), printed, measured_above, (4.63, 3.34, 3.14), strict=True
    ):
        assert abs(got[level] - model) <= (1.4 if name != "D6" else 5.9)
        assert abs(got[level] - (model + above)) <= 2.0 * error  # twice the paper's standard error
    assert lakatos_viscosity(weights).curve is not None


@pytest.mark.parametrize("name", FLUEGEL)
def test_fluegel_printed_glasses(name):
    moles, printed, worked, measured = FLUEGEL[name]
    got = fluegel_isokoms_c(moles)
    assert tuple(round(got[level], 1) for level in (1.5, 6.6, 12.0)) == worked
    for level, model, real in zip((1.5, 6.6, 12.0), printed, measured, strict=True):
        assert abs(got[level] - model) <= (0.5 if name != "710" else 2.1)
        assert abs(got[level] - real) <= 17.0  # the larger of the paper's standard errors, 10 to 17 C
    assert fluegel_viscosity(moles).curve is not None


def test_fluegel_against_a_separately_published_curve():
    # container glass: a -2.309, b 3922, t0 291 C (encyclopedia list of glass properties) is at 10^1.5 Pa s at
    # 291 + 3922/3.809 = 1320.7 C; this glass took no part in choosing the signs of the table
    assert fluegel_isokoms_c(CONTAINER_MOL)[1.5] == pytest.approx(1320.7, abs=2.0)
    curve = fluegel_viscosity(CONTAINER_MOL).curve
    for temperature in (600.0, 700.0, 800.0, 1000.0, 1200.0, 1300.0):
        published = -2.309 + 3922.0 / (temperature - 291.0)
        assert curve.log_eta(temperature) == pytest.approx(published, abs=0.25)


def test_lakatos_and_fluegel_agree_where_both_hold():
    weights = LAKATOS["S28"][0]
    lakatos, fluegel, _ = viscosity_answers(weights)
    for temperature in (900.0, 1000.0, 1200.0, 1300.0):
        assert lakatos.curve.log_eta(temperature) == pytest.approx(
            fluegel.curve.log_eta(temperature), abs=0.15
        )


@pytest.mark.parametrize(("water", "log_eta"), [(0.0, 1.757695), (1.0, 1.055301)])
def test_giordano_against_the_authors_spreadsheet(water, log_eta):
    # basalt at 1200 C: grdViscosity.xls gives 1.757695047576570 dry and 1.05530134571660 with 1 wt % water,
    # printed in the test of a public translation of the model; the sheet rounds its molar masses
    dry = sum(BASALT.values())
    weights = {oxide: pct * (100.0 - water) / dry for oxide, pct in BASALT.items()} | {"H2O": water}
    moles = {oxide: pct / molar_mass_g(oxide) for oxide, pct in weights.items()}
    total = sum(moles.values())
    curve = giordano_curve({oxide: 100.0 * count / total for oxide, count in moles.items()})
    assert curve.log_eta(1200.0) == pytest.approx(log_eta, abs=1e-3)


def test_giordano_through_the_whole_way():
    as_fe2o3 = {k: v for k, v in BASALT.items() if k != "FeO"}
    as_fe2o3["Fe2O3"] = BASALT["FeO"] * molar_mass_g("Fe2O3") / (2.0 * molar_mass_g("FeO"))
    _, _, giordano = viscosity_answers(as_fe2o3)
    assert giordano.curve.log_eta(1200.0) == pytest.approx(1.757695, abs=1e-3)


def test_a_curve_goes_through_its_three_points():
    answer = curve_through("by hand", {1.0: 1450.0, 3.0: 1030.0, 5.0: 830.0})
    for level, temperature in answer.isokoms_c.items():
        assert answer.curve.log_eta(temperature) == pytest.approx(level, abs=1e-9)
        assert answer.curve.temperature_c(level) == pytest.approx(temperature, abs=1e-9)
    assert answer.curve.log_eta(1600.0) is None
    assert answer.curve.log_eta(100.0) is None
    assert answer.curve.temperature_c(6.0) is None
    assert curve_through("rising", {1.0: 900.0, 3.0: 1000.0, 5.0: 800.0}).curve is None


def test_a_stoneware_glaze_lies_outside_the_soda_lime_model_and_says_why():
    glaze = formula_of([("potash feldspar", 40), ("china clay", 10), ("whiting", 20), ("silica", 30)])
    lakatos, fluegel, giordano = viscosity_answers(glaze.wt_pct)
    assert lakatos.curve is None
    assert "Na2O 0.00 wt% below 10" in lakatos.reason
    assert "Al2O3 12.56 wt% above 8.26" in lakatos.reason
    assert fluegel.curve is not None
    assert giordano.curve is not None
    assert best_viscosity((lakatos, fluegel, giordano)) is fluegel
    # a gloss glaze at its peak is of the order of 10^2.5 to 10^4 poise (handbook order of size, recalled, for
    # sanity only): 10^4.1 poise by Fluegel. Giordano, made of natural melts, gives forty times as much; the
    # gap between the models is the doubt that is told
    assert 1.5 < fluegel.curve.log_eta(1250.0) < 3.2
    gap = giordano.curve.log_eta(1250.0) - fluegel.curve.log_eta(1250.0)
    assert log_spread((lakatos, fluegel, giordano), 1250.0) == pytest.approx(gap)
    assert 1.0 < gap < 2.0
    assert log_spread((fluegel,), 1250.0) is None


def test_outside_every_model_is_an_answer():
    glaze = formula_of([("lead bisilicate", 60), ("alumina", 30), ("tin oxide", 20)])
    answers = viscosity_answers(glaze.wt_pct)
    assert all(answer.curve is None for answer in answers)
    best = best_viscosity(answers)
    assert best.method == "none"
    assert best.reason.startswith("outside every model")
    assert all(answer.method in best.reason for answer in answers)


def test_a_level_a_model_does_not_reach_is_refused():
    lakatos = lakatos_viscosity(LAKATOS["S7"][0])
    assert best_viscosity((lakatos,), log_eta=3.0) is lakatos
    assert best_viscosity((lakatos,), log_eta=8.0).curve is None


@pytest.mark.parametrize(("oxide", "pct"), [("ZnO", 6.0), ("SnO2", 5.0), ("CuO", 2.0)])
def test_too_much_of_one_oxide_is_named(oxide, pct):
    moles = {name: value * (100.0 - pct) / 100.0 for name, value in FLUEGEL["DGG I"][0].items()}
    answer = fluegel_viscosity(moles | {oxide: pct})
    assert answer.curve is None
    assert oxide in answer.reason


def test_doubt_in_log_viscosity_follows_the_slope():
    curve = lakatos_viscosity(LAKATOS["S7"][0]).curve
    step = (curve.log_eta(1095.0) - curve.log_eta(1105.0)) / 10.0
    assert curve.log_doubt(1100.0) == pytest.approx(4.63 * step, rel=1e-3)
    assert math.isclose(giordano_curve({"SiO2": 70.0, "Al2O3": 10.0, "K2O": 20.0}).log_doubt(1200.0), 0.40)
