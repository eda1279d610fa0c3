"""Fit within one set: limits worked by hand, doubt, known glazes, and refusals to mix."""

import pytest

from catalog.glaze.errors import MixedSetsError
from catalog.glaze.expansion import Expansion, expansions_of
from catalog.glaze.fit import (
    BodyExpansion,
    KnownGlaze,
    fit_beside,
    fit_on_body,
    fits_on_body,
    set_doubt_per_k,
    sets_spread_per_k,
)
from catalog.glaze.formula import formula_of

SCHOTT = "Winkelmann & Schott 1894"


def figure(e7, set_name=SCHOTT, note=""):
    return Expansion(set_name, None if e7 is None else e7 * 1e-7, "about 0-100 C", note, "memory")


def body(e7, plus_minus=0.5, set_name=SCHOTT):
    return BodyExpansion(e7 * 1e-7, plus_minus * 1e-7, "about 0-100 C", set_name)


@pytest.mark.parametrize(
    ("glaze", "verdict"),
    [
        # usual belief (potters.org subject103697): fits from 1 to 10 % below the body; body 70: 63 to 69.3
        (75.0, "likely to craze"),
        (70.0, "likely to craze"),
        (68.0, "fits"),
        (65.0, "fits"),
        (61.0, "likely to shiver"),
    ],
)
def test_glaze_below_body_by_hand(glaze, verdict):
    fit = fit_on_body(figure(glaze), body(70.0))
    assert fit.verdict == verdict
    assert fit.may_also == ()
    assert fit.difference_per_k == pytest.approx((glaze - 70.0) * 1e-7)
    assert fit.plus_minus_per_k == pytest.approx(0.5e-7)


def test_the_doubt_is_shown_where_it_changes_the_answer():
    near = fit_on_body(figure(69.0), body(70.0))
    assert (near.verdict, near.may_also) == ("fits", ("likely to craze",))
    assert fit_on_body(figure(69.0), body(70.0, 0.1)).may_also == ()
    recipe = fit_on_body(figure(68.0), body(70.0, 0.1), recipe_plus_minus_per_k=2e-7)
    assert recipe.may_also == ("likely to craze",)


def test_the_doubt_of_a_set_is_its_miss_on_measured_glasses():
    # measured 90 and 35 e-7/K (encyclopedia); by hand 83.6 and 39.2 (Winkelmann & Schott), 76.3 (English &
    # Turner, borosilicate outside), 88.5 and 33.2 (Appen, so the least doubt of 3 stands)
    assert set_doubt_per_k(SCHOTT) == pytest.approx(6.4e-7, abs=5e-9)
    assert set_doubt_per_k("English & Turner 1929") == pytest.approx(13.7e-7, abs=5e-9)
    assert set_doubt_per_k("Appen 1949-1970") == 3e-7
    with pytest.raises(ValueError, match="no factor set"):
        set_doubt_per_k("somebody 1999")


def test_against_a_measured_body_the_sets_doubt_counts():
    fit = fit_on_body(figure(85.0), body(70.0, 0.5, set_name=""))
    assert fit.verdict == "likely to craze"
    assert fit.plus_minus_per_k == pytest.approx(6.42e-7, abs=1e-8)
    # 66 is 5.7 % below 70, but 6.4 either way reaches from crazing to shivering
    lost = fit_on_body(figure(66.0), body(70.0, 0.5, set_name=""))
    assert lost.verdict == "not computable"
    assert "crazing to shivering" in lost.reason


def test_sets_are_never_mixed():
    with pytest.raises(MixedSetsError):
        fit_on_body(figure(66.0), body(70.0, set_name="Appen 1949-1970"))
    with pytest.raises(MixedSetsError):
        fit_beside(figure(66.0), [KnownGlaze("a", figure(66.0, "Appen 1949-1970"), "fits")])


@pytest.mark.parametrize(
    "silent",
    [figure(None, note="not computable: the set has no factor for CuO"), figure(60.0, note="outside: boron")],
)
def test_a_silent_set_gives_no_verdict(silent):
    assert fit_on_body(silent, body(70.0)).verdict == "not computable"
    beside = fit_beside(silent, [KnownGlaze("a", figure(60.0), "fits")])
    assert (beside.verdict, beside.reason) == ("not computable", silent.note)


KNOWN = (
    KnownGlaze("shino", figure(82.0), "crazes"),
    KnownGlaze("liner", figure(68.0), "fits"),
    KnownGlaze("satin", figure(64.0), "fits"),
    KnownGlaze("petalite", figure(55.0), "shivers"),
)


@pytest.mark.parametrize(
    ("glaze", "verdict"),
    [
        (85.0, "likely to craze"),
        (82.0, "likely to craze"),
        (75.0, "not computable"),
        (66.0, "fits"),
        (60.0, "not computable"),
        (50.0, "likely to shiver"),
    ],
)
def test_beside_glazes_whose_fate_is_known(glaze, verdict):
    assert fit_beside(figure(glaze), KNOWN).verdict == verdict


def test_known_glazes_that_contradict_each_other_tell_nothing():
    contrary = (*KNOWN, KnownGlaze("odd", figure(60.0), "crazes"))
    assert "contradict" in fit_beside(figure(66.0), contrary).reason
    assert fit_beside(figure(66.0), ()).verdict == "not computable"


def test_one_recipe_by_every_set_each_for_itself():
    glaze = formula_of([("nepheline syenite", 70), ("whiting", 15), ("silica", 15)])
    expansions = expansions_of(glaze.wt_pct)
    fits = fits_on_body(expansions, BodyExpansion(60e-7))
    assert [fit.set_name for fit in fits] == [each.set_name for each in expansions]
    # rich in soda: it crazes by every set that is not lost in its own doubt
    assert {fit.verdict for fit in fits} == {"likely to craze", "not computable"}
    (own_scale,) = fits_on_body(expansions, BodyExpansion(60e-7, set_name=SCHOTT))
    assert own_scale.set_name == SCHOTT
    with pytest.raises(ValueError, match="above zero"):
        fit_on_body(figure(60.0), BodyExpansion(0.0))


def test_how_far_the_sets_differ_is_the_least_doubt_against_a_measured_body():
    # lime glaze, by hand: 81.1 (Winkelmann & Schott), 54.9 (English & Turner), 63.9 (Appen): 26.2 apart, far
    # more than any margin of fit, so against a measured body no set can say that it fits
    lime = formula_of([("potash feldspar", 40), ("china clay", 10), ("whiting", 20), ("silica", 30)])
    expansions = expansions_of(lime.wt_pct)
    assert sets_spread_per_k(expansions) == pytest.approx(26.2e-7, abs=1e-8)
    for fit in fits_on_body(expansions, BodyExpansion(65e-7, 1e-7)):
        assert fit.plus_minus_per_k >= 13.1e-7
        assert fit.verdict != "fits"
    assert sets_spread_per_k([figure(60.0)]) == 0.0
