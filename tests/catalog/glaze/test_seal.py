"""Gas after sealing: volumes by hand, the sealing sum against a closed form, silence outside the models."""

import math

import pytest

from catalog.glaze.errors import BatchError
from catalog.glaze.formula import formula_of
from catalog.glaze.gas import gas_steps
from catalog.glaze.materials import materials
from catalog.glaze.seal import DRY_COAT_G_PER_ML, coat_g_per_cm2, gas_ml_per_cm2, gas_of_coat, seal_estimate
from catalog.glaze.viscosity import viscosity_answers
from catalog.glaze.viscosity_curve import ViscosityAnswer, ViscosityCurve
from catalog.package_data import read_rows

LIME_GLAZE = [("potash feldspar", 40), ("china clay", 10), ("whiting", 20), ("silica", 30)]
TALC_GLAZE = [("potash feldspar", 45), ("whiting", 14), ("talc", 12), ("china clay", 9), ("silica", 20)]


def test_volume_by_hand():
    # whiting gives 44 % CO2 between 600 and 900 C (gas_table.csv): 0.1 g/cm2 of it has 0.1 x 0.44/6 = 7.333
    # mg still to give at 850 C; 0.007333/44.009 mol x 0.0820574 x 1123.15 K = 15.36 mL at one atmosphere
    whiting = formula_of([("whiting", 100)])
    assert gas_ml_per_cm2(whiting, 850.0, 0.1) == pytest.approx(15.36, abs=5e-3)
    assert gas_ml_per_cm2(whiting, 900.0, 0.1) == 0.0


def test_every_gas_of_every_material_has_a_molar_mass():
    known = {row["gas"] for row in read_rows("catalog.glaze", "gas_molar.csv")}
    for material in materials().values():
        for reduction in (False, True):
            assert {step.gas for step in gas_steps(material, reduction=reduction)} <= known, material.name


def test_coat_weight_from_thickness():
    # one measured coat, 0.41 mm dry (johnsankey.ca/ptips), at 1.33 g/mL: 0.0545 g/cm2
    assert coat_g_per_cm2(0.41) == pytest.approx(0.0545, abs=5e-5)
    # the same coat was 0.20 mm fired: a ratio of 0.49; a glass of 2.45 g/mL with a tenth lost on the way
    assert round(0.20 / 0.41, 2) == 0.49
    assert pytest.approx(2.45 * 0.20 / 0.41 / 0.9, abs=5e-3) == DRY_COAT_G_PER_ML
    with pytest.raises(BatchError):
        coat_g_per_cm2(0.0)


def test_the_sum_of_sealing_against_a_closed_form():
    # a curve so straight that log10 viscosity falls by s a degree: the sum to T is k 10^-L(T) / (s ln 10), so
    # it reaches 1 where L(T) = log10(k / (s ln 10))
    curve = ViscosityCurve("straight", -1000.0, 1e8, -98_000.0, 1.0, 22.0)
    rate, radius, tension = 100.0, 5.0, 300.0
    answer = ViscosityAnswer("straight", curve, "")
    got = seal_estimate((answer,), rate_c_per_h=rate, grain_radius_um=radius, tension_mn_per_m=tension)
    slope = (curve.log_eta(700.0) - curve.log_eta(701.0)) if curve.log_eta(700.0) else None
    assert slope is not None
    k = tension * 1e-3 / (radius * 1e-6) * 3600.0 / rate
    assert curve.log_eta(got.temperature_c) == pytest.approx(
        math.log10(k / (slope * math.log(10.0))), abs=0.02
    )


def test_faster_heating_and_coarser_grains_seal_later():
    answers = viscosity_answers(formula_of(LIME_GLAZE).wt_pct)
    usual = seal_estimate(answers)
    assert usual.method == "Fluegel 2007"
    assert usual.low_c < usual.temperature_c < usual.high_c
    assert seal_estimate(answers, rate_c_per_h=300.0).temperature_c > usual.temperature_c
    assert seal_estimate(answers, grain_radius_um=20.0).temperature_c > usual.temperature_c
    assert seal_estimate(answers, tension_mn_per_m=400.0).temperature_c < usual.temperature_c
    with pytest.raises(ValueError, match="above zero"):
        seal_estimate(answers, rate_c_per_h=0.0)


def test_a_boron_glaze_seals_before_a_lime_glaze():
    # conditions.csv of the knowledge: coats rich in boron, soda or lithium seal near 700 to 850 C (recalled)
    boron = [("calcium borosilicate frit", 70), ("china clay", 10), ("silica", 20)]
    low = seal_estimate(viscosity_answers(formula_of(boron).wt_pct))
    high = seal_estimate(viscosity_answers(formula_of(LIME_GLAZE).wt_pct))
    assert low.high_c < high.high_c
    assert low.temperature_c < high.temperature_c - 50.0
    assert low.low_c < 850.0


def test_what_comes_after_sealing():
    lime = gas_of_coat(formula_of(LIME_GLAZE), coat_g_per_cm2=0.06)
    assert [left.above_c for left in lime.left] == [850.0, 1050.0]
    assert lime.left[0].g_per_100_g == pytest.approx(20 * 0.44 / 6)
    assert lime.left[1].ml_per_cm2 == 0.0
    assert lime.after_seal.ml_per_cm2 <= lime.left[0].ml_per_cm2 or lime.seal.temperature_c < 850.0
    talc = gas_of_coat(formula_of(TALC_GLAZE))
    assert talc.left[0].ml_per_cm2 is None
    assert talc.comes_after_seal in ("yes", "within the doubt", "no")
    blistering = formula_of([*LIME_GLAZE, ("barium carbonate", 10)])
    assert gas_of_coat(blistering).comes_after_seal == "yes"  # 1000 to 1350 C, gas_table.csv
    calm = formula_of([("calcium borosilicate frit", 70), ("silica", 30)])
    assert gas_of_coat(calm).comes_after_seal == "no"
    with pytest.raises(BatchError):
        gas_of_coat(calm, coat_g_per_cm2=-1.0)


def test_outside_the_models_there_is_no_sealing_temperature():
    glaze = formula_of([("lead bisilicate", 60), ("alumina", 30), ("tin oxide", 20), ("whiting", 10)])
    answer = gas_of_coat(glaze, coat_g_per_cm2=0.06)
    assert answer.seal.temperature_c is None
    assert answer.seal.reason.startswith("not computable")
    assert answer.after_seal is None
    assert answer.comes_after_seal == "not computable"
    assert answer.left[0].ml_per_cm2 > 0.0
