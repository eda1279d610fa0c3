"""The course of a firing as straight pieces of temperature over time: a plan's or a log's."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from catalog.firing.errors import ScheduleError
from catalog.firing.rate_process import FloatArray
from catalog.records import Segment

__all__ = ["TOP_BAND_C", "PathKind", "TemperaturePath", "path_of_log", "path_of_schedule"]

START_C = 20.0
"""Room temperature from which a plan starts (our choice; heat work below 400 °C is nil)."""

HOTTEST_C = 1450.0
"""Above this a temperature is taken for a slip or for Fahrenheit: the hottest cone held ends at 1384 °C."""

FASTEST_C_PER_H = 3000.0
"""A ramp above this is taken for a slip (common practice: pottery kilns climb at up to some 400 °C/h)."""


class PathKind(StrEnum):
    """What a path tells: what was meant, or what was measured."""

    PLAN = "plan"
    LOG = "log"


TOP_BAND_C = {PathKind.PLAN: 0.0, PathKind.LOG: 5.0}
"""Within this of the peak counts as the top: plans hold exactly, logs wander (our choice)."""


@dataclass(frozen=True, slots=True, eq=False)
class TemperaturePath:
    """Temperature over time, straight between the points.

    Attributes
    ----------
    time_h : (n,) float array
        Hours from the start, strictly growing.
    temperature_c : (n,) float array
        Degrees Celsius.
    kind : PathKind
    """

    time_h: FloatArray
    temperature_c: FloatArray
    kind: PathKind

    @property
    def peak_c(self) -> float:
        """Highest temperature."""
        return float(self.temperature_c.max())


def path_of_schedule(segments: Sequence[Segment], name: str = "schedule") -> TemperaturePath:
    """Give the course a schedule plans.

    Parameters
    ----------
    segments : sequence of Segment
        In order; the direction follows from the target, the sign of the rate does not matter.
    name : str
        What to call it in errors.

    Raises
    ------
    ScheduleError
        No segment, a rate of zero on a segment that has a way to go, a negative hold, or a figure outside
        what a pottery kiln does.
    """
    if not segments:
        raise ScheduleError(name, "no segments; wanted: at least one with a rate, a target and a hold")
    times, temperatures = [0.0], [START_C]
    for number, segment in enumerate(segments, start=1):
        _check_segment(name, number, segment, temperatures[-1])
        way = abs(segment.target_c - temperatures[-1])
        if way > 0.0:
            times.append(times[-1] + way / abs(segment.rate_c_per_h))
            temperatures.append(segment.target_c)
        if segment.hold_min > 0.0:
            times.append(times[-1] + segment.hold_min / 60.0)
            temperatures.append(segment.target_c)
    if len(times) < 2:
        raise ScheduleError(name, "the schedule goes nowhere; wanted: a target above room temperature")
    return TemperaturePath(np.array(times), np.array(temperatures), PathKind.PLAN)


def _check_segment(name: str, number: int, segment: Segment, before_c: float) -> None:
    where = f"segment {number}"
    for what, value in (
        ("rate", segment.rate_c_per_h),
        ("target", segment.target_c),
        ("hold", segment.hold_min),
    ):
        if not np.isfinite(value):
            raise ScheduleError(name, f"{where}: the {what} is not a finite number")
    if not 0.0 <= segment.target_c <= HOTTEST_C:
        raise ScheduleError(
            name, f"{where}: target {segment.target_c:g} °C is not between 0 and {HOTTEST_C:g}; is it in °F?"
        )
    if segment.hold_min < 0.0:
        raise ScheduleError(name, f"{where}: hold {segment.hold_min:g} min; wanted: zero or more")
    if segment.target_c != before_c and not 0.0 < abs(segment.rate_c_per_h) <= FASTEST_C_PER_H:
        raise ScheduleError(
            name,
            f"{where}: rate {segment.rate_c_per_h:g} °C/h; wanted: above 0 and at most {FASTEST_C_PER_H:g}",
        )


def path_of_log(
    time_min: Sequence[float], temperature_c: Sequence[float], name: str = "log"
) -> TemperaturePath:
    """Give the course a log measured.

    Parameters
    ----------
    time_min : sequence of float
        Minutes, growing.
    temperature_c : sequence of float
        Degrees Celsius, as many.

    Raises
    ------
    ScheduleError
        Fewer than two points, a time that does not grow, or a temperature outside what a kiln does.
    """
    times = np.asarray(time_min, dtype=np.float64)
    temperatures = np.asarray(temperature_c, dtype=np.float64)
    if times.size < 2 or times.size != temperatures.size:
        raise ScheduleError(name, "fewer than two points; wanted: times and temperatures, two or more")
    if not (np.isfinite(times).all() and np.isfinite(temperatures).all()):
        raise ScheduleError(name, "a time or temperature is not a finite number")
    back = np.flatnonzero(np.diff(times) <= 0.0)
    if back.size:
        row = int(back[0]) + 2
        raise ScheduleError(
            name, f"point {row}: the time {times[row - 1]:g} min does not come after the last"
        )
    if temperatures.max() > HOTTEST_C or temperatures.min() < -50.0:
        extreme = temperatures.max() if temperatures.max() > HOTTEST_C else temperatures.min()
        raise ScheduleError(
            name, f"temperature {extreme:g} °C is not between -50 and {HOTTEST_C:g}; is it in °F?"
        )
    return TemperaturePath((times - times[0]) / 60.0, temperatures, PathKind.LOG)
