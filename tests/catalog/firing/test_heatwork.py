"""Heat work against the published chart, worked schedules, and what must hold for any firing."""

import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.special import exp1

from catalog.firing.cone_table import cone_processes, published_end_point_c, published_end_points
from catalog.firing.cones import LADDER, cone_position
from catalog.firing.errors import ScheduleError
from catalog.firing.fit import residuals_c
from catalog.firing.heatwork import MODEL_RMS_C, end_point_cone, log_works
from catalog.firing.path import path_of_log, path_of_schedule
from catalog.firing.rate_process import GAS_CONSTANT_KJ, ZERO_C_IN_K, _tail, log_ramp_integral
from catalog.records import Segment


def plan(*segments):
    return path_of_schedule([Segment(*segment) for segment in segments])


def test_the_closed_form_agrees_with_a_library_and_with_quadrature():
    x = np.array([17.0, 20.0, 40.0, 100.0])
    assert _tail(x) == pytest.approx(1.0 - x * np.exp(x) * exp1(x), rel=1e-12)
    end = 1222.0 + ZERO_C_IN_K
    by_steps, _ = quad(
        lambda t: np.exp(-700.0 / GAS_CONSTANT_KJ * (1 / t - 1 / end)), 900.0, end, epsrel=1e-10
    )
    closed = np.exp(log_ramp_integral(np.array(700.0), np.array(end)) + 700.0 / GAS_CONSTANT_KJ / end)
    assert closed == pytest.approx(by_steps, rel=1e-6)
    softest = min(min(p.activation_kj, p.activation_above_kj) for p in cone_processes())
    assert softest / (GAS_CONSTANT_KJ * (1500.0 + ZERO_C_IN_K)) > 17.0


def test_published_end_points_come_back():
    # manufacturer's chart, cones.csv: 111 self-supporting regular end points
    missed = []
    for process in cone_processes():
        missed += residuals_c(process, published_end_points()[process.cone])
    rms = float(np.sqrt(np.mean(np.square(missed))))
    print(f"{len(missed)} end points: RMS {rms:.2f} C, worst {max(missed, key=abs):+.2f} C")
    assert len(missed) == 111
    # the trial's plain Arrhenius process for each cone alone: RMS 1.3, worst 3.8
    assert rms < 1.3
    assert rms == pytest.approx(MODEL_RMS_C, abs=0.01)
    assert max(map(abs, missed)) < 3.8


@pytest.mark.parametrize("cone", LADDER)
def test_a_firing_at_a_charts_rate_lands_on_its_cone(cone):
    # Heated evenly at each chart rate to 4 C under and 4 C over the published end point, the verdict lies
    # below and on (or past) the cone: the model's worst residual is 3.8 C
    place = cone_position(cone)
    for rate, end in published_end_points()[cone]:
        over = end_point_cone(plan((rate, end + 4.0))).position
        under = end_point_cone(plan((rate, end - 4.0))).position
        assert over is not None
        assert over >= place
        assert under is None or under < max(place, over)


def test_worked_example_straight_line_between_chart_rates():
    # cone 6: 1185, 1222, 1243 C at 15, 60, 150 C/h (chart); at 100 C/h 1222 + 21 (40/90) = 1231.3 C by hand
    assert published_end_points()["6"] == ((15.0, 1185.0), (60.0, 1222.0), (150.0, 1243.0))
    assert published_end_point_c("6", 100.0) == pytest.approx(1231.3, abs=0.05)
    assert published_end_point_c("6", 300.0) is None
    # shop table in Fahrenheit (noveltyhorse.tech cone page): 2232 F and 2269 F
    assert published_end_point_c("6", 60.0) == pytest.approx((2232 - 32) / 1.8, abs=0.5)
    assert published_end_point_c("6", 150.0) == pytest.approx((2269 - 32) / 1.8, abs=0.5)


@pytest.mark.parametrize(
    ("segments", "cone", "low", "high"),
    [
        # From the chart by hand: the last 100 C at 60 C/h ends at 1222 for cone 6 and 1239 for cone 7.
        (((150, 1100), (60, 1222)), "6", 0.0, 0.35),
        # 150 C/h to 1207 is cone 5 (1207), 5.5 is at 1225.
        (((150, 1207),), "5", 0.0, 0.25),
        # bisque: 60 C/h over the last 100 to 1063 is cone 04 (1063), 03 is at 1086.
        (((100, 950), (60, 1063)), "04", 0.0, 0.25),
    ],
)
def test_three_schedules_read_off_the_chart(segments, cone, low, high):
    verdict = end_point_cone(plan(*segments))
    # a degree short of an end point counts as the cone before it
    reached = verdict.position
    assert cone_position(cone) - 0.1 <= reached <= cone_position(cone) + high
    assert low <= verdict.fraction < 1.0


SEGMENTS = st.tuples(st.floats(20, 300), st.floats(900, 1300), st.floats(0, 120))


def position(path):
    place = end_point_cone(path).position
    return -23.0 if place is None else place


@settings(max_examples=60, deadline=None)
@given(SEGMENTS, st.floats(1.0, 40.0))
def test_hotter_slower_or_longer_is_never_less(segment, more):
    rate, target, hold = segment
    base = position(plan((150, 800), (rate, target, hold)))
    assert position(plan((150, 800), (rate, target + more, hold))) >= base - 1e-9
    assert position(plan((150, 800), (rate / (1 + more / 40), target, hold))) >= base - 1e-9
    assert position(plan((150, 800), (rate, target, hold + more))) >= base - 1e-9
    assert position(plan((150, 800), (rate, target, hold), (200, target - more, 20))) >= base - 1e-9


@settings(max_examples=30, deadline=None)
@given(SEGMENTS)
def test_cutting_the_course_finer_changes_nothing(segment):
    coarse = plan((150, 800), segment, (100, 700))
    times = np.unique(np.concatenate([coarse.time_h, np.linspace(0, coarse.time_h[-1], 500)]))
    fine = path_of_log(times * 60, np.interp(times, coarse.time_h, coarse.temperature_c))
    assert position(fine) == pytest.approx(position(coarse), abs=1e-3)


def test_looking_only_near_the_peak_gives_the_same_answer():
    for target in range(560, 1400, 35):
        path = plan((120, target, 15))
        logs = log_works(path, cone_processes())
        bent = np.flatnonzero(logs >= 0.0)
        assert end_point_cone(path).cone == (LADDER[bent[-1]] if bent.size else None)


def test_below_and_above_the_chart():
    low = end_point_cone(plan((100, 500)))
    assert (low.cone, low.next_cone, low.fraction, low.doubt_cones) == (None, "022", None, None)
    assert "less than cone 022" in low.sentence()
    high = end_point_cone(plan((100, 1430, 60)))
    assert (high.cone, high.next_cone, high.fraction) == ("14", None, None)


def test_the_doubt_joins_model_and_thermocouple():
    path = plan((150, 1100), (60, 1222))
    # IEC 60584-1 class 2 (from memory): 0.75 % of 1222 C is 9.2 C
    assert end_point_cone(path).doubt_c == pytest.approx(np.hypot(9.165, MODEL_RMS_C), abs=0.2)
    sure = end_point_cone(path, thermocouple_c=0.0)
    assert sure.doubt_c < 2.0
    assert sure.doubt_cones < end_point_cone(path).doubt_cones


def test_the_json_form_is_the_contracts():
    data = json.loads(json.dumps(end_point_cone(plan((150, 1100), (60, 1222, 10))).to_dict()))
    assert data["cone"] in LADDER
    assert 0.0 <= data["fraction"] < 1.0
    assert data["doubt_c"] > 0.0
    assert "witness cone" in " ".join(data["notes"])


def test_a_rate_off_the_chart_is_said():
    notes = end_point_cone(plan((300, 1222))).notes
    assert any("outside the chart" in note for note in notes)


@pytest.mark.parametrize(
    ("segments", "words"),
    [
        ([], "no segments"),
        ([Segment(0, 1000)], "rate 0"),
        ([Segment(100, 2232)], "°F"),
        ([Segment(100, 1000, -5)], "hold -5"),
        ([Segment(9999, 1000)], "rate 9999"),
        ([Segment(100, 20)], "goes nowhere"),
        ([Segment(float("nan"), 1000)], "finite"),
    ],
)
def test_a_schedule_that_cannot_be_is_refused(segments, words):
    with pytest.raises(ScheduleError, match=words):
        path_of_schedule(segments)


@pytest.mark.parametrize(
    ("times", "temperatures", "words"),
    [
        ([0], [20], "two points"),
        ([0, 10, 10], [20, 100, 120], "point 3"),
        ([0, 10], [20, 2232], "°F"),
        ([0, 10], [20, float("nan")], "finite"),
    ],
)
def test_a_log_that_cannot_be_is_refused(times, temperatures, words):
    with pytest.raises(ScheduleError, match=words):
        path_of_log(times, temperatures)
