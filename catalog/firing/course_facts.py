"""The facts a firing's course, planned or logged, answers by itself: rates, holds, cooling, pauses."""

from __future__ import annotations

import numpy as np

from catalog.firing.course_figures import cooling_c_per_h, end_of_top_h
from catalog.firing.heatwork import final_rate_c_per_h
from catalog.firing.holds import drop_hold_min
from catalog.firing.path import TOP_BAND_C, PathKind, TemperaturePath
from catalog.firing.time_above import minutes_above

__all__ = ["course_facts", "was_interrupted"]

_COLD_C = 100.0
"""A course that starts hotter does not tell how long the firing took from cold."""

_FALL_C = 30.0
"""A fall by more than this before the peak is an interruption: controllers overshoot by less (our choice)."""

_ALIGHT_C = 200.0
"""Below this a kiln may cool between a drying step and the firing."""


def course_facts(path: TemperaturePath) -> dict[str, float]:
    """Give the `firing.` facts that follow from a course.

    Parameters
    ----------
    path : TemperaturePath

    Returns
    -------
    dict of str to float
        `firing.total_hours`, `firing.final_ramp_C_h`, `firing.hold_peak_min`, `firing.drop_hold_min` (zero
        for a plan that ends at its peak), the cooling rates the course covers and, of a log,
        `firing.interrupted`. What it does not cover is left out.
    """
    facts: dict[str, float] = {}
    if float(path.temperature_c[0]) < _COLD_C:
        facts["firing.total_hours"] = float(path.time_h[int(np.argmax(path.temperature_c))])
    ramp = final_rate_c_per_h(path)
    if ramp is not None:
        facts["firing.final_ramp_C_h"] = ramp
    facts["firing.hold_peak_min"] = minutes_above(path, path.peak_c - TOP_BAND_C[path.kind])
    top_end = end_of_top_h(path)
    if top_end < float(path.time_h[-1]) or path.kind is PathKind.PLAN:
        facts["firing.drop_hold_min"] = drop_hold_min(path)
    for key, hot, cool in (
        ("firing.cool_C_h_to_1000", path.peak_c, 1000.0),
        ("firing.cool_C_h_650_500", 650.0, 500.0),
        ("firing.cool_C_h_300_150", 300.0, 150.0),
    ):
        rate = cooling_c_per_h(path, top_end, hot, cool)
        if rate is not None:
            facts[key] = rate
    if path.kind is PathKind.LOG:
        facts["firing.interrupted"] = was_interrupted(path)
    return facts


def was_interrupted(path: TemperaturePath) -> bool:
    """Say whether a course fell by more than 30 °C above 200 °C before it came to its peak."""
    top = int(np.argmax(path.temperature_c))
    climb = path.temperature_c[: top + 1]
    highest = np.maximum.accumulate(climb)
    return bool(((highest - climb > _FALL_C) & (highest > _ALIGHT_C)).any())
