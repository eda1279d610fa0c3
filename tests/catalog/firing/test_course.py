"""Facts from a course, and schedule files good and bad."""

import numpy as np
import pytest

from catalog.causes.vocabulary import check_value
from catalog.firing.course_facts import course_facts
from catalog.firing.course_figures import bisque_facts, course_figures, slow_vs_usual_pct
from catalog.firing.errors import ScheduleError
from catalog.firing.holds import holds_of
from catalog.firing.path import PathKind, path_of_log, path_of_schedule
from catalog.firing.report import heatwork_report
from catalog.firing.schedule_csv import read_course_csv, read_schedule_csv
from catalog.package_data import read_rows
from catalog.records import Segment

DROP_AND_HOLD = [
    Segment(150, 1100),
    Segment(60, 1220, 10),
    Segment(200, 1180, 30),
    Segment(100, 1000),
    Segment(50, 100),
]


def test_facts_of_a_plan_worked_by_hand():
    facts = course_facts(path_of_schedule(DROP_AND_HOLD))
    assert facts["firing.final_ramp_C_h"] == pytest.approx(60.0)
    assert facts["firing.hold_peak_min"] == pytest.approx(10.0)
    assert facts["firing.drop_hold_min"] == pytest.approx(30.0)
    # 1220 to 1180 in 0.2 h, 0.5 h hold, 1180 to 1000 in 1.8 h: 220 C in 2.5 h
    assert facts["firing.cool_C_h_to_1000"] == pytest.approx(220 / 2.5, abs=0.05)
    assert facts["firing.cool_C_h_650_500"] == pytest.approx(50.0)
    assert facts["firing.cool_C_h_300_150"] == pytest.approx(50.0)
    for key, value in facts.items():
        assert check_value(key, value) == value


def test_a_plan_that_ends_at_its_peak_says_nothing_of_cooling():
    facts = course_facts(path_of_schedule([Segment(150, 1100), Segment(70, 1215, 10)]))
    assert facts["firing.drop_hold_min"] == 0.0
    assert not any(key.startswith("firing.cool") for key in facts)


def test_a_ramp_made_of_two_pieces_is_averaged():
    # 1120 to 1170 at 100 (0.5 h), 1170 to 1220 at 50 (1 h): 100 C in 1.5 h
    facts = course_facts(path_of_schedule([Segment(100, 1170), Segment(50, 1220)]))
    assert facts["firing.final_ramp_C_h"] == pytest.approx(100 / 1.5)


def test_a_log_counts_what_lies_within_five_degrees_as_hold():
    facts = course_facts(path_of_log([0, 600, 602, 604, 612, 700], [20, 1215, 1217, 1216, 1214, 1000]))
    assert facts["firing.hold_peak_min"] == pytest.approx(13.7, abs=1.0)
    # 1214 to 1000 C in 88 minutes
    assert facts["firing.cool_C_h_to_1000"] == pytest.approx(214 / (88 / 60))


def write(tmp_path, text):
    path = tmp_path / "course.csv"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    "text",
    [
        "rate_c_per_h,target_c,hold_min\n150,1100,0\n60,1222.5,10\n",
        "Rate_C_per_h;Target_C;Hold_min\n150;1100;\n60;1222,5;10\n",
        "hold_min\ttarget_c\trate_c_per_h\n0\t1100\t150\n10\t1222.5\t60\n",
    ],
)
def test_a_schedule_file_reads_whatever_wrote_it(tmp_path, text):
    assert read_schedule_csv(write(tmp_path, text)) == (Segment(150, 1100, 0), Segment(60, 1222.5, 10))


def test_a_log_file_and_a_schedule_file_are_told_apart(tmp_path):
    log = read_course_csv(write(tmp_path, "time_min,temperature_c\n0,20\n480,1100\n602,1222\n"))
    assert log.kind is PathKind.LOG
    plan = read_course_csv(write(tmp_path, "rate_c_per_h,target_c\n135,1100\n60,1222\n"))
    assert plan.kind is PathKind.PLAN
    by_log = heatwork_report(write(tmp_path, "time_min,temperature_c\n0,20\n480,1100\n602,1222\n"))
    assert by_log.cone == heatwork_report([Segment(135, 1100), Segment(60, 1222)]).cone == "6"


def test_any_other_table_is_taken_as_a_log_and_the_answer_says_how(tmp_path):
    plain = heatwork_report(write(tmp_path, "time_min,temperature_c\n0,20\n480,1100\n602,1222\n"))
    imported = heatwork_report(write(tmp_path, "elapsed;kiln °F\n0:00;68\n8:00;2012\n10:02;2231,6\n"))
    assert (imported.cone, imported.kind) == (plain.cone, PathKind.LOG)
    assert imported.position == pytest.approx(plain.position, abs=1e-6)
    assert any("°F turned into °C" in note for note in imported.notes)
    assert any("Time is 'elapsed'" in note for note in imported.notes)
    with pytest.raises(ScheduleError, match="wanted: a log, or a schedule"):
        heatwork_report(write(tmp_path, "rate,goal\nfast,high\n"))


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("", None, "empty"),
        ("rate,target\n1,2\n", None, "wanted: columns"),
        ("rate_c_per_h,target_c\n", None, "no rows"),
        ("rate_c_per_h,target_c\nfast,1000\n", 2, "'fast'"),
        ("rate_c_per_h,target_c\n100,\n", 2, "target_c is ''"),
        ("rate_c_per_h,target_c\n100,2232\n", None, "°F"),
        ("time_min,temperature_c\n0,20\n10,100\n5,120\n", 4, "does not come after"),
        ("time_min,temperature_c\n0,20\n10,hot\n", 3, "'hot'"),
        ("time_min,temperature_c\n0,20\n", None, "two points"),
    ],
)
def test_a_bad_file_is_refused_with_line_and_wish(tmp_path, text, line, words):
    with pytest.raises(ScheduleError) as caught:
        read_course_csv(write(tmp_path, text))
    assert caught.value.line == line
    assert words in str(caught.value)
    assert "course.csv" in str(caught.value)


def noisy_log(path, step_s=10.0, noise_c=0.8):
    """A plan as a logger would write it."""
    rng = np.random.default_rng(5)
    hours = np.arange(0.0, path.time_h[-1], step_s / 3600.0)
    wander = noise_c * rng.standard_normal(hours.size)
    return path_of_log(hours * 60.0, np.interp(hours, path.time_h, path.temperature_c) + wander)


def test_figures_of_a_plan_worked_by_hand():
    figures = course_figures(path_of_schedule(DROP_AND_HOLD), above_c=(1000.0, 1180.0))
    # up: 1000 to 1100 at 150 (40 min), 1100 to 1220 at 60 (120 min), 10 min hold; down: 12, 30 held, 108 min
    # above 1180: 40 min up, 10 at the top, 12 down, 30 held at 1180 itself
    assert [m for _, m in figures.minutes_above] == pytest.approx([320.0, 92.0])
    assert figures.hours_to_peak == pytest.approx(1080 / 150 + 2.0)
    cooling = {(hot, cool): rate for hot, cool, rate in figures.cooling_c_per_h}
    assert cooling[(1000.0, 700.0)] == pytest.approx(50.0)
    assert cooling[(300.0, 150.0)] == pytest.approx(50.0)
    assert [(h.where, h.minutes, h.temperature_c) for h in figures.holds] == [
        ("top", pytest.approx(10.0), pytest.approx(1220.0)),
        ("cooling", pytest.approx(30.0), pytest.approx(1180.0)),
    ]


def test_a_noisy_log_of_the_plan_gives_the_same_facts():
    plan = course_facts(path_of_schedule(DROP_AND_HOLD))
    log = course_facts(noisy_log(path_of_schedule(DROP_AND_HOLD)))
    assert log["firing.drop_hold_min"] == pytest.approx(plan["firing.drop_hold_min"], abs=5.0)
    assert log["firing.final_ramp_C_h"] == pytest.approx(60.0, abs=4.0)
    assert log["firing.cool_C_h_650_500"] == pytest.approx(50.0, abs=1.0)
    assert log["firing.interrupted"] is False
    assert "firing.interrupted" not in plan
    for key, value in log.items():
        assert check_value(key, value) == value


def test_a_candling_hold_and_a_power_cut_are_found():
    candled = path_of_schedule([Segment(60, 110, 120), Segment(150, 1000)])
    assert [(h.where, round(h.minutes)) for h in holds_of(candled)] == [("climbing", 120)]
    assert [h.where for h in holds_of(noisy_log(candled))] == ["climbing"]
    cut = path_of_log([0, 300, 330, 700], [20, 800, 600, 1222])
    assert course_facts(cut)["firing.interrupted"] is True
    drying = path_of_log([0, 60, 600, 1000], [20, 110, 40, 1000])
    assert course_facts(drying)["firing.interrupted"] is False


def test_bisque_facts_by_hand():
    # 20 to 700 at 100 C/h, 700 to 950 at 50 C/h (5 h) with an hour at 850, then 950 to 1060 at 110 C/h
    plan = path_of_schedule([Segment(100, 700), Segment(50, 850, 60), Segment(50, 950), Segment(110, 1060)])
    facts = bisque_facts(plan)
    assert facts["body.bisque_hold_700_950_h"] == pytest.approx(6.0)
    assert facts["body.bisque_hours"] == pytest.approx(6.8 + 6.0 + 1.0)
    for key, value in facts.items():
        assert check_value(key, value) == value


def test_an_ageing_kiln_is_slower_than_its_own_usual():
    usual = [path_of_log([0, 600], [20, 1220 + i]) for i in range(3)]
    slow = path_of_log([0, 690], [20, 1220])
    assert slow_vs_usual_pct(slow, usual) == pytest.approx(15.0, abs=0.5)
    assert slow_vs_usual_pct(slow, usual[:2]) is None


def test_every_firing_fact_is_computed_asked_or_said_not_to_be_had():
    rows = read_rows("catalog.firing", "fact_sources.csv")
    told = {row["fact"]: row for row in rows}
    vocabulary = read_rows("catalog.causes", "conditions.csv")
    wanted = {row["field"] for row in vocabulary if row["field"].startswith("firing.")}
    assert wanted <= set(told)
    assert {row["how"] for row in rows} <= {"computed", "asked", "not obtainable"}
    covered = noisy_log(path_of_schedule(DROP_AND_HOLD))
    by_course = {key for key, row in told.items() if row["by"] == "catalog.firing.course_facts"}
    assert by_course == set(course_facts(covered))
