"""The melt gathered: its JSON form, silence kept as null, and facts that the vocabulary knows."""

import json

import pytest

from catalog.causes.vocabulary import check_value
from catalog.glaze.expansion import Expansion
from catalog.glaze.fit import BodyExpansion, fit_on_body
from catalog.glaze.formula import formula_of
from catalog.glaze.melt import melt_facts, melt_of

LIME_GLAZE = [("potash feldspar", 40), ("china clay", 10), ("whiting", 20), ("silica", 30)]
LEAD = [("lead bisilicate", 60), ("alumina", 30), ("tin oxide", 20)]


def test_the_json_form():
    data = json.loads(json.dumps(melt_of(formula_of(LIME_GLAZE), coat_g_per_cm2=0.06).to_dict()))
    assert data["viscosity"]["Lakatos 1976"]["log10_pa_s"] == {}
    assert "Na2O" in data["viscosity"]["Lakatos 1976"]["reason"]
    curve = data["viscosity"]["Fluegel 2007"]["log10_pa_s"]
    assert curve["1350"] < curve["1200"] < curve["1000"]
    assert data["viscosity_models_differ_log10"]["1250"] > 1.0
    # by hand: Kucuk 335.3 mN/m at 1400 C
    assert data["surface_tension"]["Kucuk, Clare & Jones 1999"]["mn_per_m"] == 335.3
    assert [left["above_c"] for left in data["gas_left"]] == [850, 1050]
    assert data["sealing"]["low_c"] <= data["sealing"]["temperature_c"] <= data["sealing"]["high_c"]


def test_outside_every_model_stays_null():
    data = melt_of(formula_of(LEAD)).to_dict()
    assert data["sealing"]["temperature_c"] is None
    assert data["gas_after_sealing"] is None
    assert data["gas_comes_after_sealing"] == "not computable"
    assert data["viscosity_models_differ_log10"] == {}


def test_facts_are_in_the_vocabulary_and_left_out_when_not_computable():
    scale = "Winkelmann & Schott 1894"
    fit = fit_on_body(
        Expansion(scale, 75e-7, "about 0-100 C", "", "memory"), BodyExpansion(70e-7, 1e-7, set_name=scale)
    )
    facts = melt_facts(melt_of(formula_of(LIME_GLAZE)), fit)
    assert set(facts) == {"recipe.early_melt_C", "recipe.cte_minus_body"}
    assert facts["recipe.cte_minus_body"] == pytest.approx(0.5)
    for key, value in facts.items():
        assert check_value(key, value) == value
    silent = fit_on_body(
        Expansion(scale, None, "about 0-100 C", "no factor", ""), BodyExpansion(70e-7, set_name=scale)
    )
    assert melt_facts(melt_of(formula_of(LEAD)), silent) == {}
