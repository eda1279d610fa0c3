"""What a plot of a firing shows, as plain lists: the plan, the log, cones by shelf, the inversions."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from catalog.firing.cone_table import cone_processes
from catalog.firing.heatwork import final_rate_c_per_h
from catalog.firing.log_csv import LogImport
from catalog.firing.path import TOP_BAND_C, TemperaturePath, path_of_schedule
from catalog.firing.rate_process import FloatArray
from catalog.firing.witness import shelf_verdicts
from catalog.records import Load

__all__ = ["INVERSIONS_C", "Curve", "FiringPlot", "HeightMark", "firing_plot"]

INVERSIONS_C = {"quartz inversion": 573.0, "cristobalite inversion": 226.0}
"""Quartz: ceramic material science texts. Cristobalite: usually quoted as 220 to 226 °C (from memory)."""

_MOST_POINTS = 2000
"""A drawn curve is thinned to about so many points; its peak and ends stay."""

_USUAL_RATE_C_PER_H = 60.0


@dataclass(frozen=True, slots=True)
class Curve:
    """A line to draw: hours and °C, as many of each."""

    name: str
    time_h: tuple[float, ...]
    temperature_c: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class HeightMark:
    """A level to mark: an inversion, or the end point of a shelf's cone at this firing's own final rate."""

    name: str
    temperature_c: float


@dataclass(frozen=True, slots=True)
class FiringPlot:
    """All that a plot of a firing shows.

    Attributes
    ----------
    plan, log : Curve or None
    others : tuple of Curve
        Further thermocouples.
    cones : tuple of HeightMark
        Witness cones by shelf.
    inversions : tuple of HeightMark
    last_100 : Curve or None
        The last 100 °C to the peak, two points, of the log (or plan); its name is the rate.
    """

    plan: Curve | None
    log: Curve | None
    others: tuple[Curve, ...]
    cones: tuple[HeightMark, ...]
    inversions: tuple[HeightMark, ...]
    last_100: Curve | None


def _curve(name: str, time_h: FloatArray, temperature_c: FloatArray) -> Curve:
    known = np.isfinite(temperature_c)
    time_h, temperature_c = time_h[known], temperature_c[known]
    if time_h.size > _MOST_POINTS:
        even = np.linspace(0, time_h.size - 1, _MOST_POINTS).round().astype(int)
        kept = np.union1d(even, [int(np.argmax(temperature_c))])
        time_h, temperature_c = time_h[kept], temperature_c[kept]
    return Curve(name, tuple(time_h.tolist()), tuple(temperature_c.tolist()))


def firing_plot(load: Load, log: LogImport | None = None) -> FiringPlot:
    """Give what a plot of a load shows.

    Parameters
    ----------
    load : Load
    log : LogImport, optional

    Raises
    ------
    ScheduleError
        The load's schedule cannot be.
    """
    plan = path_of_schedule(load.schedule, load.name) if load.schedule else None
    course = log.path if log is not None else plan
    rate = None if course is None else final_rate_c_per_h(course)
    processes = {process.cone: process for process in cone_processes()}
    cones = tuple(
        HeightMark(
            f"cone {verdict.cone}, {verdict.shelf}" if verdict.shelf else f"cone {verdict.cone}",
            processes[verdict.cone].end_point_c(rate or _USUAL_RATE_C_PER_H),
        )
        for verdict in shelf_verdicts(load, None if log is None else log.path)
        if verdict.by == "witness cone"
    )
    others: tuple[Curve, ...] = ()
    if log is not None:
        others = tuple(_curve(name, log.path.time_h, log.thermocouples[name]) for name in log.columns.others)
    return FiringPlot(
        plan=None if plan is None else _curve("plan", plan.time_h, plan.temperature_c),
        log=None if log is None else _curve("log", log.path.time_h, log.path.temperature_c),
        others=others,
        cones=cones,
        inversions=tuple(HeightMark(name, height) for name, height in INVERSIONS_C.items()),
        last_100=_last_100(course, rate),
    )


def _last_100(course: TemperaturePath | None, rate: float | None) -> Curve | None:
    if course is None or rate is None:
        return None
    peak = course.peak_c - TOP_BAND_C[course.kind]
    first = int(np.flatnonzero(course.temperature_c >= peak)[0])
    top = float(
        np.interp(peak, course.temperature_c[first - 1 : first + 1], course.time_h[first - 1 : first + 1])
    )
    return Curve(f"{rate:.0f} °C/h over the last 100 °C", (top - 100.0 / rate, top), (peak - 100.0, peak))
