"""Facts from a course, and schedule files good and bad."""

import pytest

from catalog.causes.vocabulary import check_value
from catalog.firing.course_facts import course_facts
from catalog.firing.errors import ScheduleError
from catalog.firing.path import PathKind, path_of_log, path_of_schedule
from catalog.firing.report import heatwork_report
from catalog.firing.schedule_csv import read_course_csv, read_schedule_csv
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
