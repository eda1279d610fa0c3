"""Where a course stands still: holds on the way up, at the top and on the way down."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from catalog.firing.path import PathKind, TemperaturePath
from catalog.firing.rate_process import FloatArray

__all__ = ["Hold", "drop_hold_min", "holds_of"]

HELD_C_PER_H = 20.0
"""Slower than this counts as held (our choice: a third of the chart's middle rate)."""

_LEAST_MIN = 3.0
_HALF_WINDOW_MIN = 5.0
"""A log's rate is taken over ten minutes: readings wander by a degree or two. The ends of a hold are found
within about two minutes."""

_BRIDGED_MIN = {PathKind.PLAN: 0.0, PathKind.LOG: 3.0}
"""Stands of a log parted by less are one: a reading wandered off (our choice)."""

_COLDEST_C = 60.0
"""Below this a kiln stands by itself."""

_DROP_BAND_C = (20.0, 100.0)
"""Below the peak: where a hold on the way down counts (the vocabulary's definition)."""

_TOP_BAND_C = 5.0


@dataclass(frozen=True, slots=True)
class Hold:
    """A stand: hours from the start, length, mean temperature; `where` is "climbing", "top" or "cooling"."""

    start_h: float
    minutes: float
    temperature_c: float
    where: str


def _pieces(path: TemperaturePath) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Start hours, lengths in hours, mean temperatures of the pieces in which the course stands still."""
    if path.kind is PathKind.PLAN:
        hours, change = np.diff(path.time_h), np.diff(path.temperature_c)
        still = np.abs(change) <= HELD_C_PER_H * hours
        middle = (path.temperature_c[:-1] + path.temperature_c[1:]) / 2.0
        return path.time_h[:-1][still], hours[still], middle[still]
    whole = float(path.time_h[-1]) * 60.0
    minutes = np.arange(0.0, whole, 1.0)
    centre = np.minimum(minutes + 0.5, whole)
    # means of the five minutes before and after, from the running integral: a logger's noise goes
    times = path.time_h * 60.0
    steps, rises = np.diff(times), np.diff(path.temperature_c)
    pieces = steps * (path.temperature_c[:-1] + path.temperature_c[1:]) / 2.0
    integral = np.concatenate([[0.0], np.cumsum(pieces)])

    def up_to(minute: FloatArray) -> FloatArray:
        i = np.clip(np.searchsorted(times, minute, side="right") - 1, 0, steps.size - 1)
        past = minute - times[i]
        result: FloatArray = integral[i] + past * (path.temperature_c[i] + past * rises[i] / steps[i] / 2.0)
        return result

    def mean(first: FloatArray, last: FloatArray) -> FloatArray:
        first, last = np.maximum(first, 0.0), np.minimum(last, whole)
        return (up_to(last) - up_to(first)) / np.maximum(last - first, 1e-9)

    before, after = mean(centre - _HALF_WINDOW_MIN, centre), mean(centre, centre + _HALF_WINDOW_MIN)
    still = np.abs(after - before) <= HELD_C_PER_H * _HALF_WINDOW_MIN / 60.0
    still &= (centre > _HALF_WINDOW_MIN / 2.0) & (centre < whole - _HALF_WINDOW_MIN / 2.0)
    start = minutes[still] / 60.0
    return start, np.full(start.size, 1.0 / 60.0), mean(centre - 1.0, centre + 1.0)[still]


def holds_of(path: TemperaturePath) -> tuple[Hold, ...]:
    """Give the holds of a course, in order; those of three minutes and more, above 60 °C.

    Parameters
    ----------
    path : TemperaturePath
        Of a log, rates are taken over ten minutes.
    """
    start, hours, middle = _pieces(path)
    warm = middle >= _COLDEST_C
    start, hours, middle = start[warm], hours[warm], middle[warm]
    if not start.size:
        return ()
    bridged = _BRIDGED_MIN[path.kind] / 60.0 + 1e-6
    apart = np.flatnonzero(start[1:] - (start[:-1] + hours[:-1]) > bridged) + 1
    top_h = float(path.time_h[int(np.argmax(path.temperature_c))])
    holds = []
    for part in np.split(np.arange(start.size), apart):
        minutes = 60.0 * float(hours[part].sum())
        if minutes < _LEAST_MIN:
            continue
        level = float(np.average(middle[part], weights=hours[part]))
        if level >= path.peak_c - _TOP_BAND_C:
            where = "top"
        else:
            where = "climbing" if float(start[part[0]]) < top_h else "cooling"
        holds.append(Hold(float(start[part[0]]), minutes, level, where))
    return tuple(holds)


def drop_hold_min(path: TemperaturePath) -> float:
    """Give the minutes held 20 to 100 °C below the peak on the way down."""
    near, far = _DROP_BAND_C
    return sum(
        hold.minutes
        for hold in holds_of(path)
        if hold.where == "cooling" and near <= path.peak_c - hold.temperature_c <= far
    )
