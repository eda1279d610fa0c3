"""The facts a firing's course answers by itself: rates, holds and cooling, from a plan or a log."""

from __future__ import annotations

import numpy as np

from catalog.firing.heatwork import final_rate_c_per_h
from catalog.firing.path import PathKind, TemperaturePath
from catalog.firing.time_above import minutes_above

__all__ = ["course_facts"]

_PEAK_BAND_C = {PathKind.PLAN: 0.0, PathKind.LOG: 5.0}
"""Within this of the peak counts as the hold at top: plans hold exactly, logs wander (our choice)."""

_DROP_BAND_C = (20.0, 100.0)
"""Below the peak: where a hold on the way down counts (the vocabulary's definition)."""

_HELD_C_PER_H = 20.0
"""Slower than this on the way down counts as held (our choice)."""


def course_facts(path: TemperaturePath) -> dict[str, float]:
    """Give the `firing.` facts that follow from a course.

    Parameters
    ----------
    path : TemperaturePath

    Returns
    -------
    dict of str to float
        `firing.final_ramp_C_h`, `firing.hold_peak_min`, `firing.drop_hold_min` (zero for a plan that ends at
        its peak) and the cooling rates the course covers. What it does not cover is left out.
    """
    facts: dict[str, float] = {}
    ramp = final_rate_c_per_h(path)
    if ramp is not None:
        facts["firing.final_ramp_C_h"] = ramp
    band = path.peak_c - _PEAK_BAND_C[path.kind]
    facts["firing.hold_peak_min"] = minutes_above(path, band)
    last_at_top = int(np.flatnonzero(path.temperature_c >= band)[-1])
    top_end = float(path.time_h[last_at_top])
    cooled = top_end < float(path.time_h[-1])
    if cooled or path.kind is PathKind.PLAN:
        facts["firing.drop_hold_min"] = _drop_hold_min(path, top_end)
    for key, hot, cool in (
        ("firing.cool_C_h_to_1000", float(path.temperature_c[last_at_top]), 1000.0),
        ("firing.cool_C_h_650_500", 650.0, 500.0),
        ("firing.cool_C_h_300_150", 300.0, 150.0),
    ):
        rate = _cooling_c_per_h(path, top_end, hot, cool)
        if rate is not None:
            facts[key] = rate
    return facts


def _drop_hold_min(path: TemperaturePath, after_h: float) -> float:
    near, far = _DROP_BAND_C
    hours, change = np.diff(path.time_h), np.diff(path.temperature_c)
    warmest = np.maximum(path.temperature_c[:-1], path.temperature_c[1:])
    coolest = np.minimum(path.temperature_c[:-1], path.temperature_c[1:])
    held = (
        (path.time_h[:-1] >= after_h)
        & (warmest <= path.peak_c - near)
        & (coolest >= path.peak_c - far)
        & (np.abs(change) <= _HELD_C_PER_H * hours)
    )
    return float(60.0 * hours[held].sum())


def _cooling_c_per_h(path: TemperaturePath, after_h: float, hot_c: float, cool_c: float) -> float | None:
    """Mean rate from one temperature down to another after the peak; None when not covered."""
    if hot_c <= cool_c:
        return None
    late = path.time_h >= after_h
    times, temperatures = path.time_h[late], path.temperature_c[late]
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
