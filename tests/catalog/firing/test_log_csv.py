"""Ten awkward logs of one known firing, and what must hold for any: no silent shift of clock or unit."""

from datetime import datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.firing.errors import ScheduleError
from catalog.firing.heatwork import end_point_cone
from catalog.firing.log_clock import TimeKind, field_minutes
from catalog.firing.log_csv import import_log_csv

# The firing behind every file, by hand: 20 to 1100 C in 540 min, to 1222 C at 60 C/h in 122 min, 10 min hold,
# to 922 C in 150 min. Chart: 60 C/h over the last 100 to 1222 C is cone 6, and a hold adds a little.
TURNS_MIN = [0.0, 540.0, 662.0, 672.0, 822.0]
TURNS_C = [20.0, 1100.0, 1222.0, 1222.0, 922.0]


def at(minute):
    return float(np.interp(minute, TURNS_MIN, TURNS_C))


MINUTES = [float(m) for m in range(0, 823, 2)]


def write(tmp_path, text, encoding="utf-8"):
    path = tmp_path / "log.csv"
    path.write_bytes(text.encode(encoding))
    return path


def truth():
    from catalog.firing.path import path_of_log

    return end_point_cone(path_of_log(MINUTES, [at(m) for m in MINUTES])).position


def check(log, minutes=822.0, peak=1222.0, cone=0.05):
    assert log.path.time_h[-1] * 60.0 == pytest.approx(minutes, abs=0.1)
    assert log.path.peak_c == pytest.approx(peak, abs=0.3)
    assert end_point_cone(log.path).position == pytest.approx(truth(), abs=cone)


def fahrenheit(c):
    return c * 1.8 + 32.0


def test_1_fahrenheit_semicolons_decimal_comma_and_a_mark_at_the_start(tmp_path):
    rows = [f"{m:.0f};{fahrenheit(at(m)):.1f}".replace(".", ",") for m in MINUTES]
    log = import_log_csv(write(tmp_path, "Time (min);Temp °F\n" + "\n".join(rows), "utf-8-sig"))
    check(log)
    assert any("°F turned into °C" in note for note in log.notes)
    assert any("°F: the column's name says so" in reason for reason in log.columns.reasons)


def test_2_a_twelve_hour_clock_over_midnight(tmp_path):
    start = datetime(2026, 3, 1, 16, 20)
    rows = [f"{start + timedelta(minutes=m):%I:%M:%S %p},{at(m):.1f}" for m in MINUTES]
    log = import_log_csv(write(tmp_path, "Time,Kiln temp C\n" + "\n".join(rows)))
    check(log)
    assert log.columns.time_kind is TimeKind.CLOCK
    assert sum("passes midnight" in note for note in log.notes) == 1


def test_3_separate_date_and_clock_day_first(tmp_path):
    start = datetime(2026, 3, 4, 20, 0)
    rows = [
        f"{start + timedelta(minutes=m):%d.%m.%Y};{start + timedelta(minutes=m):%H:%M};{at(m):.0f}"
        for m in MINUTES
    ]
    log = import_log_csv(write(tmp_path, "Datum;Zeit;TC\n" + "\n".join(rows)))
    check(log, cone=0.06)
    assert log.columns.date == "Datum"
    assert not any("midnight" in note for note in log.notes)


def test_4_the_clock_goes_back_an_hour(tmp_path):
    start = datetime(2026, 10, 24, 20, 0)
    rows = []
    for m in MINUTES:
        wall = start + timedelta(minutes=m - (60 if m > 400 else 0))
        rows.append(f"{wall:%Y-%m-%d %H:%M:%S},{at(m):.1f}")
    log = import_log_csv(write(tmp_path, "timestamp,temperature_c\n" + "\n".join(rows)))
    check(log)
    assert sum("goes back an hour" in note for note in log.notes) == 1


def test_5_offsets_from_utc_make_the_same_change_no_change(tmp_path):
    start = datetime(2026, 10, 24, 18, 0)
    rows = []
    for m in MINUTES:
        hours = 1 if m > 400 else 2
        rows.append(f"{start + timedelta(minutes=m, hours=hours):%Y-%m-%dT%H:%M:%S}+0{hours}:00,{at(m):.1f}")
    log = import_log_csv(write(tmp_path, "timestamp,temperature_c\n" + "\n".join(rows)))
    check(log)
    assert log.notes == ()


def test_6_several_thermocouples_one_broken_and_a_set_point(tmp_path):
    rows = [f"{m * 60:.0f},{at(m) + 30:.1f},{at(m):.1f},{at(m) - 9:.1f},1370" for m in MINUTES]
    log = import_log_csv(write(tmp_path, "elapsed_s,setpoint,TC1,TC2,TC3\n" + "\n".join(rows)))
    check(log)
    assert (log.columns.temperature, log.columns.others) == ("TC1", ("TC2",))
    assert any("TC1 1222, TC2 1213" in note for note in log.notes)
    lower = import_log_csv(tmp_path / "log.csv", {"temperature": "TC2"})
    assert lower.path.peak_c == pytest.approx(1213.0)
    assert lower.columns.others == ("TC1",)
    assert "Temperature was chosen: TC2." in lower.columns.reasons


def test_7_gaps_blanks_and_slips(tmp_path):
    rows = []
    for m in MINUTES:
        if 200 < m < 290:
            continue
        value = {300.0: "", 302.0: "---", 304.0: "9999", 306.0: "-200", 310.0: "20"}.get(m, f"{at(m):.1f}")
        rows.append(f"{m:.0f},{value}")
    log = import_log_csv(write(tmp_path, "minutes,temp c\n" + "\n".join(rows)))
    check(log)
    told = " ".join(log.notes)
    assert "2 rows without a reading left out" in told
    assert "2 rows outside -40 to 1450 °C left out" in told
    assert "1 lone reading over 100 °C off both neighbours left out" in told
    assert "No reading for 90 min at 200 min" in told


def test_8_the_logger_starts_again_in_the_middle(tmp_path):
    rows = [f"{int(m) // 60}:{int(m) % 60:02d}:00,{at(m):.1f}" for m in MINUTES if m <= 300]
    rows += [f"{int(m - 302) // 60}:{int(m - 302) % 60:02d}:00,{at(m):.1f}" for m in MINUTES if m > 300]
    log = import_log_csv(write(tmp_path, "Run time,Temp (C)\n" + "\n".join(rows)))
    check(log)
    assert log.interrupted
    assert any("begins anew" in note and "line 153" in note for note in log.notes)


def test_9_no_head_lines_before_the_table_and_tabs_in_utf_16(tmp_path):
    rows = ["kiln two", "glaze load", ""] + [f"{m:.0f}\t{at(m):.1f}" for m in MINUTES]
    log = import_log_csv(write(tmp_path, "\r\n".join(rows), "utf-16"))
    check(log)
    assert any("no head line" in note for note in log.notes)
    assert any("2 lines before the head" in note for note in log.notes)
    assert any("nobody says so" in reason for reason in log.columns.reasons)


def test_10_twenty_thousand_rows_on_a_clock_of_whole_minutes(tmp_path):
    start = datetime(2026, 3, 1, 8, 0)
    seconds = np.linspace(0, 822 * 60, 20_000)
    rows = [f"{start + timedelta(seconds=float(s)):%Y-%m-%d %H:%M},{at(s / 60.0):.2f}" for s in seconds]
    log = import_log_csv(write(tmp_path, "when stamp,temp_f\n".replace("_f", "_c") + "\n".join(rows)))
    assert log.rows == 20_000
    check(log, cone=0.05)
    assert any("share their time" in note for note in log.notes)


def test_month_and_day_are_told_by_the_shorter_firing(tmp_path):
    start = datetime(2026, 3, 1, 20, 0)
    rows = [f"{start + timedelta(minutes=m):%m/%d/%Y %I:%M %p},{at(m):.1f}" for m in MINUTES]
    log = import_log_csv(write(tmp_path, "date time,temp c\n" + "\n".join(rows)))
    check(log)
    assert log.columns.time_kind is TimeKind.DATE_MONTH_FIRST


def test_an_hour_lost_in_spring_changes_nothing_but_is_said(tmp_path):
    start = datetime(2026, 3, 28, 20, 0)
    rows = [
        f"{start + timedelta(minutes=m + (60 if m > 400 else 0)):%Y-%m-%d %H:%M},{at(m):.1f}" for m in MINUTES
    ]
    log = import_log_csv(write(tmp_path, "timestamp,temp c\n" + "\n".join(rows)))
    assert log.path.time_h[-1] * 60.0 == pytest.approx(882.0)
    assert any("put forward an hour" in note for note in log.notes)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "empty"),
        ("time_min,temp\n", "no rows"),
        ("time,temp c\n0,20\n50,21\n100,70\n", "without a unit"),
        ("time_min,note\n0,1a\n10,1b\n", "no column of temperatures"),
        ("time_min,temp\n0,20\n10,100,5\n20,200\n30,300\n", "decimal comma"),
        ("time_min,temp,temp\n0,20,1\n10,100,2\n", "more than once"),
        ("clock,temp c\n20:00,20\n20:30,100\n20:10,150\n", "goes back by 20 min"),
        ('time_min,temp\n0,20\n10,"\n1222 C,"\n20,200\n', "runs over the end of its line"),
        ("time_min,temp,unit\n0,20,C\n60,200,C\n120,700,F\n", "more than one unit"),
    ],
)
def test_what_cannot_be_told_is_refused(tmp_path, text, words):
    with pytest.raises(ScheduleError, match=words):
        import_log_csv(write(tmp_path, text))


def test_a_person_outranks_the_guess(tmp_path):
    path = write(
        tmp_path, "time,temp\n" + "\n".join(f"{m / 60:.4f},{fahrenheit(at(m)) / 2:.2f}" for m in MINUTES)
    )
    guessed = import_log_csv(path)
    assert guessed.columns.unit == "C"
    assert any("taken as °C" in reason and "check it" in reason for reason in guessed.columns.reasons)
    said = import_log_csv(path, {"unit": "F", "time_kind": "minutes"})
    assert said.path.peak_c == pytest.approx((fahrenheit(1222) / 2 - 32) / 1.8, abs=0.1)
    assert said.path.time_h[-1] * 60 == pytest.approx(822 / 60, abs=0.01)
    for wrong in ({"temperature": "TC9"}, {"unit": "K"}, {"time_kind": "weeks"}):
        with pytest.raises(ScheduleError):
            import_log_csv(path, wrong)


@pytest.mark.parametrize(
    ("cell", "minutes"),
    [
        ("12:05 AM", 5),
        ("12:05 pm", 725),
        ("1:02:30 p.m.", 782.5),
        ("26:10", 1570),
        ("1 d 02:00", 1560),
        ("7:61", None),
    ],
)
def test_hours_and_minutes(cell, minutes):
    assert field_minutes(cell) == minutes


@settings(max_examples=15, deadline=None)
@given(
    st.sampled_from([("C", "temp_c"), ("F", "temp_f")]),
    st.sampled_from([(",", "."), (";", ","), (";", "."), ("\t", ",")]),
    st.sampled_from([("time_min", 1.0), ("time (s)", 60.0), ("elapsed hours", 1.0 / 60.0)]),
    st.integers(1, 6),
)
def test_however_it_is_written_it_is_the_same_firing(tmp_path_factory, unit, signs, clock, step):
    separator, decimal = signs
    rows = [
        separator.join(
            f"{value:.4f}".replace(".", decimal)
            for value in (m * clock[1], at(m) if unit[0] == "C" else fahrenheit(at(m)))
        )
        for m in MINUTES[:: step if 411 % step == 0 else 1]
    ]
    text = f"{clock[0]}{separator}{unit[1]}\n" + "\n".join(rows)
    log = import_log_csv(write(tmp_path_factory.mktemp("log"), text))
    assert log.columns.unit == unit[0]
    assert (np.diff(log.path.time_h) > 0).all()
    times = np.array(log.path.time_h) * 60
    assert log.path.temperature_c == pytest.approx(np.interp(times, TURNS_MIN, TURNS_C), abs=0.02)
    assert any("°F" in note for note in log.notes) == (unit[0] == "F")


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 1439), st.lists(st.integers(1, 40), min_size=3, max_size=40))
def test_a_clock_over_any_midnights_keeps_every_interval(tmp_path_factory, start, steps):
    minutes = start + np.concatenate([[0], np.cumsum(steps)])
    wall = [f"{m // 60 % 24:02d}:{m % 60:02d}:00" for m in minutes]
    temperatures = np.linspace(100, 900, minutes.size)
    text = "clock;temp c\n" + "\n".join(f"{w};{t:.3f}" for w, t in zip(wall, temperatures, strict=True))
    log = import_log_csv(write(tmp_path_factory.mktemp("log"), text))
    steps_back = int((np.diff(minutes % 1440) < 0).sum())
    assert np.diff(log.path.time_h) * 60 == pytest.approx(np.diff(minutes))
    assert sum("midnight" in note for note in log.notes) == steps_back
