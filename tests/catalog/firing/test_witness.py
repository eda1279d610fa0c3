"""Witness cones against the course: which outranks which, and what the thermocouple is off by."""

from datetime import date

import pytest

from catalog.firing.cone_table import cone_processes
from catalog.firing.heatwork import end_point_cone
from catalog.firing.path import TemperaturePath, path_of_log, path_of_schedule
from catalog.firing.plot_data import INVERSIONS_C, firing_plot
from catalog.firing.witness import offset_c, shelf_offsets, shelf_verdicts
from catalog.records import ConeResult, Load, Segment

TO_SIX = (Segment(150, 1100), Segment(60, 1222))


def load(number, cones, schedule=TO_SIX, kiln="the front kiln", day=1):
    results = tuple(ConeResult(shelf, cone) for shelf, cone in cones)
    fired = None if day is None else date(2026, 3, day)
    return Load(number, f"load {number}", "glaze", kiln, fired, "6", results, schedule=schedule)


def test_the_offset_is_the_distance_between_published_end_points():
    # chart at 60 C/h: cone 6 at 1222 C, cone 7 at 1239, cone 5 at 1186; within the model's worst residuals
    course = path_of_schedule(TO_SIX)
    assert offset_c(course, "6") == pytest.approx(0.0, abs=4.0)
    assert offset_c(course, "7") == pytest.approx(17.0, abs=4.0)
    assert offset_c(course, "5") == pytest.approx(-36.0, abs=4.0)
    assert offset_c(course, "04") is None


@pytest.mark.parametrize("shift", [-12.0, 0.0, 9.0])
def test_an_offset_put_in_comes_out(shift):
    process = next(p for p in cone_processes() if p.cone == "6")
    end = process.end_point_c(60.0)
    true = path_of_schedule([Segment(60, end)])
    read = TemperaturePath(true.time_h, true.temperature_c - shift, true.kind)
    assert offset_c(read, "6") == pytest.approx(shift, abs=1e-3)


def test_a_witness_cone_outranks_the_computation_shelf_by_shelf():
    top, bottom = shelf_verdicts(load(1, [("top", "7"), ("bottom", "5")]))
    assert (top.shelf, top.cone, top.by) == ("top", "7", "witness cone")
    assert (bottom.cone, bottom.by) == ("5", "witness cone")
    assert top.offset_c > 0 > bottom.offset_c
    assert "the planned schedule computes to cone" in top.sentence
    (computed,) = shelf_verdicts(load(2, []))
    assert (computed.by, computed.offset_c) == ("computed", None)
    assert computed.cone == end_point_cone(path_of_schedule(TO_SIX)).cone
    assert shelf_verdicts(load(3, [], schedule=())) == ()
    assert shelf_verdicts(load(4, [("top", "just before six")], schedule=())) == ()


def test_offsets_are_kept_by_kiln_and_shelf_with_count_spread_and_drift():
    cones = ["6", "6", "7", "7"]
    loads = [load(i, [("top", cone), ("bottom", "5")], day=i + 1) for i, cone in enumerate(cones)]
    loads.append(load(9, [("top", "6")], kiln="another kiln"))
    loads.append(load(10, [("top", "6")], schedule=()))
    other, bottom, top = shelf_offsets(loads)
    assert (other.kiln, other.count, other.spread_c, other.drift_c_per_load) == (
        "another kiln",
        1,
        None,
        None,
    )
    assert (bottom.count, bottom.spread_c) == (4, pytest.approx(0.0))
    assert bottom.drift_c_per_load == pytest.approx(0.0, abs=1e-9)
    # offsets a, a, a + s, a + s: median a + s/2, deviation s / sqrt(3), slope 0.4 s (by hand)
    step = offset_c(path_of_schedule(TO_SIX), "7") - offset_c(path_of_schedule(TO_SIX), "6")
    assert top.spread_c == pytest.approx(step / 3**0.5)
    assert top.drift_c_per_load == pytest.approx(0.4 * step)
    assert top.median_c == pytest.approx(offset_c(path_of_schedule(TO_SIX), "6") + step / 2)
    assert "4 loads" in top.sentence()
    assert top.by_log == 0
    assert "than its plan says" in top.sentence()


def test_a_log_takes_the_plans_place():
    one = load(1, [("top", "6")])
    measured = path_of_log([0, 432, 542], [20, 1100, 1210])
    (by_log,) = shelf_offsets([one], {1: measured})
    assert by_log.by_log == 1
    assert "than its log says" in by_log.sentence()
    assert by_log.median_c == pytest.approx(offset_c(measured, "6"))
    assert by_log.median_c > shelf_offsets([one])[0].median_c


def test_a_plot_shows_plan_cones_by_shelf_and_inversions():
    plot = firing_plot(load(1, [("top", "7"), ("bottom", "5")]))
    assert plot.log is None
    assert plot.plan.temperature_c == (20.0, 1100.0, 1222.0)
    assert plot.plan.time_h == pytest.approx((0.0, 7.2, 7.2 + 122 / 60))
    marks = {mark.name: mark.temperature_c for mark in plot.cones}
    assert marks == {"cone 7, top": pytest.approx(1239, abs=4), "cone 5, bottom": pytest.approx(1186, abs=4)}
    assert {mark.temperature_c for mark in plot.inversions} == {573.0, 226.0} == set(INVERSIONS_C.values())
    assert plot.last_100.temperature_c == (1122.0, 1222.0)
    assert plot.last_100.time_h[1] - plot.last_100.time_h[0] == pytest.approx(100 / 60)
    bare = firing_plot(load(2, [], schedule=()))
    assert (bare.plan, bare.last_100, bare.cones) == (None, None, ())
