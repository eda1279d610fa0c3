"""Cones as found: the lean of a cone, what a shelf came to, and the offset a half-bent cone gives.

The law of the lean is our working (see the module); what it must agree with is the published chart: a cone at
its end point is that cone, a half-bent one lies between its neighbours, and a firing that is computed to stop
short bends the cone short.
"""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.firing.bend import (
    POSITIONS,
    WitnessReading,
    log_work_at,
    read_shelves,
    telling_reading,
)
from catalog.firing.cone_table import published_end_point_c
from catalog.firing.errors import MeasureError, UnknownConeError
from catalog.firing.path import path_of_schedule
from catalog.firing.witness import offset_c, shelf_offsets
from catalog.records import ConeResult, Load, Segment


def cones(*found, shelf="middle"):
    return [WitnessReading(shelf, cone, angle) for cone, angle in found]


def one(*found, rate=60.0):
    (shelf,) = read_shelves(cones(*found), rate)
    return shelf


def test_work_by_hand():
    # ln(tan 25 / tan 4) / ln(1 / tan 4) = (-0.76298 + 2.66023) / 2.66023 = 0.71319, by pocket calculator
    assert math.exp(log_work_at(50.0)) == pytest.approx(0.7132, abs=5e-4)
    assert log_work_at(90.0) == 0.0
    assert log_work_at(120.0) == 0.0
    assert log_work_at(POSITIONS["as it was set"]) is None


@settings(deadline=None, max_examples=40)
@given(st.floats(15.0, 89.0), st.floats(0.1, 20.0))
def test_more_lean_is_more_work(angle, more):
    assert log_work_at(min(90.0, angle + more)) > log_work_at(angle)


def test_a_pack_of_three_with_the_middle_one_half_over():
    """Guide down, firing cone half over, guard standing: between the guide's and the firing cone's end."""
    shelf = one(("5", 90), ("6", 50), ("7", 8))
    assert (shelf.cone, shelf.next_cone) == ("5.5", "6")
    assert 0.0 < shelf.fraction < 1.0
    assert not shelf.open_above
    assert not shelf.doubtful
    assert "cone 5.5 and" in shelf.sentence()


def test_the_end_point_is_the_cone_and_none_left_standing_leaves_it_open():
    shelf = one(("6", 90), ("7", 8))
    assert (shelf.cone, shelf.fraction, shelf.open_above) == ("6", None, False)
    alone = one(("6", 120))
    assert alone.open_above
    assert "or hotter" in alone.sentence()


def test_a_hotter_cone_bent_further_is_doubted():
    assert one(("5", 30), ("6", 70)).doubtful
    assert "look again" in one(("5", 30), ("6", 70)).sentence()


def test_nothing_moved_says_nothing_and_bars_tell_only_by_going_over():
    assert read_shelves(cones(("6", 8), ("7", 8))) == ()
    assert telling_reading([WitnessReading("top", "6", 50.0, "bar")]) is None
    assert telling_reading([WitnessReading("top", "6", 95.0, "bar")]).form == "bar"


def test_shelves_are_told_apart_and_what_cannot_be_is_refused():
    found = read_shelves([*cones(("6", 90), shelf="top"), *cones(("5", 90), ("6", 20), shelf="bottom")], 60.0)
    assert [(s.shelf, s.cone) for s in found] == [("top", "6"), ("bottom", "5")]
    for angle in (-1.0, 181.0, math.nan):
        with pytest.raises(MeasureError):
            read_shelves(cones(("6", angle)))
    with pytest.raises(UnknownConeError):
        read_shelves(cones(("66", 90)))
    with pytest.raises(MeasureError):
        read_shelves([WitnessReading("top", "6", 90.0, "ring")])


@settings(deadline=None, max_examples=40)
@given(st.sampled_from(["04", "1", "5", "6", "9"]), st.floats(20.0, 78.0))
def test_half_bent_lies_below_its_end_point_and_above_where_nothing_moved(cone, angle):
    shelf = one((cone, angle))
    assert shelf.cone is not None
    assert shelf.cone != cone
    more = one((cone, angle + 1.0))
    assert (more.cone, more.fraction) >= (shelf.cone, shelf.fraction) or more.cone != shelf.cone


def test_a_firing_to_the_published_end_point_has_no_offset_and_a_half_bent_cone_a_cooler_one():
    """Cone 6 at 60 C/h ends at 1222 C (maker's chart); the cone half over, the course ran cooler."""
    end = published_end_point_c("6", 60.0)
    assert end == 1222.0
    path = path_of_schedule([Segment(60.0, end)])
    assert offset_c(path, "6") == pytest.approx(0.0, abs=4.0)
    half = offset_c(path, "6", log_work=log_work_at(50.0))
    assert offset_c(path, "6") - 20.0 < half < offset_c(path, "6") - 5.0


def test_a_half_bent_cone_tells_the_offset_nearer_than_the_end_point_of_a_cooler_one():
    load = Load(
        1,
        "October",
        "glaze",
        "Small",
        cones=(ConeResult("middle", "5.5", "by its lean"),),
        schedule=(Segment(60.0, 1222.0),),
    )
    (by_end,) = shelf_offsets([load])
    (by_lean,) = shelf_offsets([load], None, {1: cones(("5", 90), ("6", 50), ("7", 8))})
    assert by_end.median_c < by_lean.median_c < 0.0
    assert by_lean.loads[0].cone == "6"
