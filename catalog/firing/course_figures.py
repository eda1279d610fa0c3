"""The figures of a course a person reads: last rate, time above temperatures, cooling, holds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from catalog.firing.heatwork import final_rate_c_per_h
from catalog.firing.holds import Hold, holds_of
from catalog.firing.path import TOP_BAND_C, TemperaturePath
from catalog.firing.time_above import minutes_above

__all__ = ["CourseFigures", "bisque_facts", "cooling_c_per_h", "course_figures", "slow_vs_usual_pct"]

COOLING_C = ((1000.0, 700.0), (650.0, 500.0), (300.0, 150.0))
"""Where cooling matters: crystals in the glaze, quartz inversion, cristobalite inversion."""

_WARM_START_C = 100.0
"""Time to top is counted from here: how long a kiln idles below differs from day to day (our choice)."""


@dataclass(frozen=True, slots=True)
class CourseFigures:
    """Figures of a course.

    Attributes
    ----------
    peak_c : float
    hours_to_peak, hours : float
        To the first time at the peak; in all.
    last_100_c_per_h : float or None
    minutes_above : tuple of (temperature_c, minutes)
        For the temperatures asked.
    cooling_c_per_h : tuple of (from_c, to_c, rate or None)
        From the peak to 1000 °C first, then `COOLING_C`; None where the course does not cover it.
    holds : tuple of Hold
    """

    peak_c: float
    hours_to_peak: float
    hours: float
    last_100_c_per_h: float | None
    minutes_above: tuple[tuple[float, float], ...]
    cooling_c_per_h: tuple[tuple[float, float, float | None], ...]
    holds: tuple[Hold, ...]


def course_figures(path: TemperaturePath, above_c: Sequence[float] = ()) -> CourseFigures:
    """Give the figures of a course.

    Parameters
    ----------
    path : TemperaturePath
    above_c : sequence of float
        Temperatures to count the time above; 100, 50 and 25 °C below the peak where none are given.
    """
    top_end = end_of_top_h(path)
    levels = tuple(above_c) or tuple(path.peak_c - below for below in (100.0, 50.0, 25.0))
    return CourseFigures(
        peak_c=path.peak_c,
        hours_to_peak=float(path.time_h[int(np.argmax(path.temperature_c))]),
        hours=float(path.time_h[-1]),
        last_100_c_per_h=final_rate_c_per_h(path),
        minutes_above=tuple((level, minutes_above(path, level)) for level in levels),
        cooling_c_per_h=tuple(
            (hot, cool, cooling_c_per_h(path, top_end, hot, cool))
            for hot, cool in ((path.peak_c, 1000.0), *COOLING_C)
        ),
        holds=holds_of(path),
    )


def end_of_top_h(path: TemperaturePath) -> float:
    """Give the hour at which the course leaves its top for good."""
    band = path.peak_c - TOP_BAND_C[path.kind]
    return float(path.time_h[int(np.flatnonzero(path.temperature_c >= band)[-1])])


def cooling_c_per_h(path: TemperaturePath, after_h: float, hot_c: float, cool_c: float) -> float | None:
    """Give the mean rate from one temperature down to another after an hour; None when not covered."""
    late = path.time_h >= after_h
    times, temperatures = path.time_h[late], path.temperature_c[late]
    hot_c = min(hot_c, float(temperatures[0])) if hot_c >= path.peak_c else hot_c
    if hot_c <= cool_c:
        return None
    crossed = []
    for level in (hot_c, cool_c):
        below = np.flatnonzero(temperatures <= level)
        if not below.size or (below[0] == 0 and temperatures[0] < level):
            return None
        i = int(below[0])
        if i == 0:
            crossed.append(float(times[0]))
            continue
        part = (temperatures[i - 1] - level) / (temperatures[i - 1] - temperatures[i])
        crossed.append(float(times[i - 1] + part * (times[i] - times[i - 1])))
    start, end = crossed
    return (hot_c - cool_c) / (end - start) if end > start else None


def bisque_facts(path: TemperaturePath) -> dict[str, float]:
    """Give the `body.` facts that follow from a bisque's course.

    Returns
    -------
    dict of str to float
        `body.bisque_hours`, from cold to top, and `body.bisque_hold_700_950_h`, between 700 and 950 °C on
        the way up.
    """
    top = int(np.argmax(path.temperature_c))
    if top == 0:
        return {}
    climb = TemperaturePath(path.time_h[: top + 1], path.temperature_c[: top + 1], path.kind)
    between = minutes_above(climb, 700.0) - minutes_above(climb, 950.0)
    return {
        "body.bisque_hours": float(path.time_h[top] - path.time_h[0]),
        "body.bisque_hold_700_950_h": between / 60.0,
    }


def slow_vs_usual_pct(path: TemperaturePath, earlier: Sequence[TemperaturePath]) -> float | None:
    """Give the extra time to top against the middle of a kiln's earlier firings, in per cent.

    Parameters
    ----------
    path : TemperaturePath
        A log.
    earlier : sequence of TemperaturePath
        Logs of the same kiln and schedule; three or more. Time counts from 100 °C to the lowest of the
        peaks, so that firings to other peaks compare.

    Returns
    -------
    float or None
        `firing.slow_vs_usual_pct`; None with fewer than three earlier ones or none that climbs so far.
    """
    if len(earlier) < 3:
        return None
    goal = min(other.peak_c for other in (path, *earlier)) - 1.0
    hours = [_climb_h(other, goal) for other in (path, *earlier)]
    usual = [value for value in hours[1:] if value is not None]
    if hours[0] is None or len(usual) < 3:
        return None
    return 100.0 * (hours[0] / float(np.median(usual)) - 1.0)


def _climb_h(path: TemperaturePath, goal_c: float) -> float | None:
    crossed = []
    for level in (_WARM_START_C, goal_c):
        above = np.flatnonzero(path.temperature_c >= level)
        if not above.size or goal_c <= _WARM_START_C:
            return None
        i = int(above[0])
        if i == 0:
            crossed.append(float(path.time_h[0]))
            continue
        low, high = float(path.temperature_c[i - 1]), float(path.temperature_c[i])
        part = (level - low) / (high - low)
        crossed.append(float(path.time_h[i - 1] + part * (path.time_h[i] - path.time_h[i - 1])))
    hours = crossed[1] - crossed[0]
    return hours if hours > 0.0 else None
