"""Blends are exact: fractions of the parents, oxide by oxide."""

import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.glaze.blend import blend, dry_shares_of_slips, line_blend, triaxial_blend
from catalog.glaze.errors import BlendError, UnknownMaterialError
from catalog.glaze.formula import formula_of
from catalog.records import RecipeLine

LIME = (
    RecipeLine("potash feldspar", 40),
    RecipeLine("china clay", 10),
    RecipeLine("whiting", 20),
    RecipeLine("flint", 30),
)
TALC = (RecipeLine("soda feldspar", 50), RecipeLine("talc", 20), RecipeLine("silica", 30))
IRON = (RecipeLine("potash feldspar", 50), RecipeLine("whiting", 50), RecipeLine("red iron oxide", 25, True))


def grams_of(lines):
    formula = formula_of(lines)
    return {oxide: pct * formula.fired_pct / 100.0 for oxide, pct in formula.wt_pct.items()}


def test_ends_and_middle_of_a_line_by_hand():
    points = line_blend(LIME, TALC, 4)
    assert [point.shares[1] for point in points] == [Fraction(n, 4) for n in range(5)]
    assert points[0].lines == LIME
    middle = {line.material: line.amount for line in points[2].lines}
    assert middle == {
        "potash feldspar": 20.0,
        "china clay": 5.0,
        "whiting": 10.0,
        "flint": 30.0,
        "soda feldspar": 25.0,
        "talc": 10.0,
    }


def test_tenths_stay_tenths():
    # in binary 0.1 + 0.2 is not 0.3; amounts are taken as the decimals that were written
    one = (RecipeLine("whiting", 0.1), RecipeLine("silica", 0.2))
    assert blend((one, one), (1, 2)).lines == (
        RecipeLine("whiting", 100 / 3),
        RecipeLine("silica", 200 / 3),
    )


def test_additions_are_part_of_the_dry_weight_and_stand_above_the_base():
    # half of each: 50 of base from LIME, 40 base and 10 iron from IRON (100 of 125 is base), so the base of
    # 90 goes to 100 and the iron to 11.11
    point = blend((LIME, IRON), (1, 1))
    assert point.lines[-1].addition
    assert point.lines[-1].amount == pytest.approx(100 * 10 / 90, abs=1e-12)
    assert math.fsum(line.amount for line in point.lines if not line.addition) == pytest.approx(100.0)


def test_a_triangle_has_every_point_once():
    points = triaxial_blend((LIME, TALC, IRON), 5)
    assert len(points) == 21 == len({point.shares for point in points})
    assert all(sum(point.shares) == 1 for point in points)
    assert points[0].shares == (1, 0, 0)
    assert points[-1].shares == (0, 0, 1)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.integers(0, 20), min_size=3, max_size=3).filter(any))
def test_oxides_of_a_blend_are_the_shares_of_the_parents(shares):
    parents = (LIME, TALC, IRON)
    got = grams_of(blend(parents, shares).lines)
    want = {}
    for parent, share in zip(parents, shares, strict=True):
        for oxide, weight in grams_of(parent).items():
            want[oxide] = want.get(oxide, 0.0) + share / sum(shares) * weight
    for oxide, weight in want.items():
        assert got.get(oxide, 0.0) == pytest.approx(weight, abs=1e-10)


def test_slips_by_volume():
    # by hand: at one specific gravity volumes are shares; SG 1.5 holds 0.5/0.45 as much as SG 1.45
    assert dry_shares_of_slips([30.0, 10.0], [1.5, 1.5]) == (Fraction(3, 4), Fraction(1, 4))
    one, other = dry_shares_of_slips([10.0, 10.0], [1.5, 1.45])
    assert float(one / other) == pytest.approx(0.5 / 0.45)


def test_what_cannot_be_blended_is_refused():
    with pytest.raises(BlendError):
        blend((LIME, TALC), (1,))
    with pytest.raises(BlendError):
        blend((LIME, TALC), (0, 0))
    with pytest.raises(BlendError):
        blend((LIME, TALC), (2, -1))
    with pytest.raises(BlendError):
        line_blend(LIME, TALC, 0)
    with pytest.raises(BlendError):
        triaxial_blend((LIME, TALC), 3)
    with pytest.raises(BlendError, match="base"):
        blend(((RecipeLine("red iron oxide", 1, True),),), (1,))
    with pytest.raises(UnknownMaterialError):
        blend((LIME, (RecipeLine("moonstone", 1),)), (1, 1))
    with pytest.raises(BlendError):
        dry_shares_of_slips([1.0], [1.5, 1.5])
