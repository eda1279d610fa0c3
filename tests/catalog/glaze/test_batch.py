"""Batches and water against worked figures."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.glaze.batch import (
    batch_for,
    retotal,
    slip_dry_g_per_ml,
    slip_ml_for_coat,
    specific_gravity_for_coat,
)
from catalog.glaze.errors import BatchError, EmptyRecipeError, RecipeAmountError
from catalog.records import RecipeLine

GLAZE = (
    RecipeLine("potash feldspar", 80),
    RecipeLine("china clay", 20),
    RecipeLine("whiting", 40),
    RecipeLine("silica", 60),
    RecipeLine("red iron oxide", 4, addition=True),
)


@pytest.mark.parametrize(("gravity", "dry", "digits"), [(1.45, 0.731, 3), (1.50, 0.8125, 4)])
def test_slip_solids(gravity, dry, digits):
    # Brongniart relation worked by hand with d = 2.60: SG 1.45 holds 0.731 g/mL, SG 1.50 holds 0.8125 g/mL
    assert round(slip_dry_g_per_ml(gravity, 2.60), digits) == dry


def test_base_to_100_with_additions_above():
    assert [line.amount for line in retotal(GLAZE)] == [40.0, 10.0, 20.0, 30.0, 2.0]
    assert [line.addition for line in retotal(GLAZE)] == [False] * 4 + [True]


def test_a_dry_batch_and_its_water_by_hand():
    # 1020 g dry is ten times 100 + 2. At SG 1.50 and d 2.60: 1020/0.8125 = 1255.385 mL, 1883.077 g of slip,
    # so 863.077 g of water
    batch = batch_for(GLAZE, 1020.0, specific_gravity=1.50, solids_density_g_per_ml=2.60)
    assert [round(line.grams, 9) for line in batch.lines] == [400.0, 100.0, 200.0, 300.0, 20.0]
    assert batch.slip_ml == pytest.approx(1255.385, abs=5e-4)
    assert batch.water_g == pytest.approx(863.077, abs=5e-4)


def test_water_of_a_damp_material_is_taken_off():
    # 100 g of dry clay at 20 % moisture is 125 g on the scale and brings 25 g of water
    damp = batch_for(GLAZE, 1020.0, specific_gravity=1.50, moisture_pct={"china clay": 20.0})
    assert damp.lines[1].grams == pytest.approx(125.0)
    assert damp.water_g == pytest.approx(863.077 - 25.0, abs=5e-4)


def test_without_a_specific_gravity_there_is_no_water():
    batch = batch_for(GLAZE, 500.0)
    assert (batch.water_g, batch.slip_ml) == (None, None)
    assert math.fsum(line.dry_g for line in batch.lines) == pytest.approx(500.0, abs=1e-9)


def test_coat_and_water_taken_by_hand():
    # 0.0813 g/cm2 of dry coat is in 0.1 mL of slip at SG 1.50; that slip holds 0.06875 g of water
    assert slip_ml_for_coat(0.08125, 1.50) == pytest.approx(0.1)
    assert specific_gravity_for_coat(0.08125, 0.06875) == pytest.approx(1.50)


@settings(max_examples=60, deadline=None)
@given(st.floats(1.05, 2.2), st.floats(2.3, 4.5), st.floats(10.0, 1e5))
def test_water_and_solids_give_back_the_specific_gravity(gravity, density, dry_g):
    batch = batch_for(GLAZE, dry_g, specific_gravity=gravity, solids_density_g_per_ml=density)
    volume = batch.dry_g / density + batch.water_g
    assert (batch.dry_g + batch.water_g) / volume == pytest.approx(gravity, rel=1e-9)
    assert batch.slip_ml == pytest.approx(volume, rel=1e-9)


@pytest.mark.parametrize("gravity", [1.0, 0.9, 2.6, 3.0, math.nan])
def test_no_slip_is_refused(gravity):
    with pytest.raises(BatchError):
        slip_dry_g_per_ml(gravity)


def test_batches_that_cannot_be_are_refused():
    with pytest.raises(BatchError):
        batch_for(GLAZE, 0.0)
    with pytest.raises(BatchError, match="moisture"):
        batch_for(GLAZE, 10.0, moisture_pct={"whiting": 100.0})
    with pytest.raises(BatchError, match="water"):
        batch_for(GLAZE, 10.0, specific_gravity=2.5, moisture_pct={"potash feldspar": 50.0})
    with pytest.raises(EmptyRecipeError):
        retotal([RecipeLine("red iron oxide", 4, addition=True)])
    with pytest.raises(RecipeAmountError):
        retotal([RecipeLine("whiting", -1.0)])
    with pytest.raises(BatchError):
        slip_ml_for_coat(0.0, 1.5)
    with pytest.raises(BatchError):
        specific_gravity_for_coat(0.1, 0.0)
