"""Doubt carried linearly, against a formula worked by hand and a plain Monte Carlo rival."""

import math

import numpy as np
import pytest

from catalog.glaze.expansion import expansions_of
from catalog.glaze.formula import formula_of
from catalog.glaze.oxides import FLUXES, molar_mass_g
from catalog.glaze.uncertainty import DOUBTS, Doubtful, Doubts, compare_unity, doubt_of, formula_figures
from catalog.records import RecipeLine

LIME_GLAZE = [("potash feldspar", 40.0), ("china clay", 10.0), ("whiting", 20.0), ("silica", 30.0)]


def test_two_weights_by_hand():
    # wollastonite w and silica s: SiO2 in the unity formula is 1 + (s/60.083)/(w/116.160). Only the ratio
    # carries doubt: 0.5 % of each weight is sqrt(2) x 0.5 % of it (GUM 5.1.6, product of powers)
    lines = [("wollastonite", 50.0), ("silica", 50.0)]
    got = doubt_of(formula_figures, lines, doubts=Doubts(0.5, 0.0, 0.0))["unity.SiO2"]
    ratio = 116.160 / 60.083
    assert got.value == pytest.approx(1.0 + ratio, abs=1e-4)
    assert got.plus_minus == pytest.approx(ratio * math.sqrt(2.0) * 0.005, rel=1e-3)


def test_against_a_plain_monte_carlo():
    rng = np.random.default_rng(4)
    formula = formula_of(LIME_GLAZE)
    oxides = list(formula.wt_pct)
    shares = np.array([share.batch_wt_pct for share in formula.shares])
    table = np.array(
        [[s.material.oxides_wt_pct.get(o, 0.0) / molar_mass_g(o) for o in oxides] for s in formula.shares]
    )
    draws = 20_000
    weights = shares * (1.0 + 0.0025 * rng.normal(size=(draws, len(shares))))
    analyses = table * (1.0 + 0.0025 * rng.normal(size=(draws, *table.shape)))
    moles = np.einsum("dm,dmo->do", weights, analyses)
    flux = moles[:, [oxides.index(o) for o in oxides if o in FLUXES]].sum(axis=1, keepdims=True)
    spread = 2.0 * (moles / flux).std(axis=0)
    got = doubt_of(formula_figures, LIME_GLAZE)
    for oxide, plus_minus in zip(oxides, spread, strict=True):
        assert got[f"unity.{oxide}"].plus_minus == pytest.approx(plus_minus, rel=0.05)


def test_a_typical_analysis_is_doubted_more():
    ideal = doubt_of(formula_figures, [("kaolin", 50.0), ("whiting", 50.0)])["si_al"]
    typical = doubt_of(formula_figures, [("ball clay", 50.0), ("whiting", 50.0)])["si_al"]
    # two oxides in a ratio: sqrt(2) x 0.5 % and sqrt(2) x 5 %
    assert ideal.plus_minus / ideal.value == pytest.approx(math.sqrt(2.0) * 0.005, rel=1e-3)
    assert typical.plus_minus / typical.value == pytest.approx(math.sqrt(2.0) * 0.05, rel=5e-3)


def test_any_answer_can_be_carried():
    def appen(formula):
        return {e.set_name: e.per_k for e in expansions_of(formula.wt_pct) if e.per_k is not None}

    got = doubt_of(appen, LIME_GLAZE)
    assert len(got) == 4
    for each in got.values():
        assert 0.0 < each.plus_minus < 0.02 * each.value


def test_no_doubt_in_none_out():
    got = doubt_of(formula_figures, LIME_GLAZE, doubts=Doubts(0.0, 0.0, 0.0))
    assert all(each.plus_minus == 0.0 for each in got.values())
    assert got["si_al"].value == pytest.approx(9.11, abs=0.005)


def test_a_doubt_decides_only_near_a_limit():
    assert Doubtful(1.0, 0.1).crosses(1.05)
    assert not Doubtful(1.0, 0.1).crosses(1.2)
    assert Doubtful(1.0, 0.1).differs_from(Doubtful(1.2, 0.1))
    assert not Doubtful(1.0, 0.1).differs_from(Doubtful(1.1, 0.1))


def test_revisions_are_compared_oxide_by_oxide():
    before = [RecipeLine(name, amount) for name, amount in LIME_GLAZE]
    slip_of_the_scale = [RecipeLine("potash feldspar", 40.05), *before[1:]]
    assert not any(change.told for change in compare_unity(before, slip_of_the_scale))
    magnesia = [*before[:2], RecipeLine("whiting", 16.0), RecipeLine("dolomite", 4.0), before[3]]
    told = {change.oxide: change for change in compare_unity(before, magnesia) if change.told}
    assert told["MgO"].before.value == 0.0
    assert told["MgO"].after.value > 0.0
    assert told["CaO"].after.value < told["CaO"].before.value


def test_the_defaults_are_half_a_per_cent_of_each_weight():
    assert (DOUBTS.weighing_pct, DOUBTS.analysis_pct) == (0.5, 0.5)
