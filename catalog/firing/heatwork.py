"""Heat work: which cone a firing would bend to its end point, and how sure that is.

Model: each cone is an Arrhenius rate process (`rate_process`) with one activation energy below its end point
at the chart's middle rate and one above, fitted to the published end points at up to three rates with the
help of its neighbours on the ladder (`fit`, `ladder_prior`; self-supporting regular cones: RMS 0.85 °C, worst
2.6 °C over 111 end points; a cell left out is predicted within an RMS of 3.6 °C, of 3.9 °C where the cone had
no say in the strengths either). A course of straight pieces is integrated in closed form, holds and cooling
included. The chart's rates are 15 to 150 °C/h over the last 100 °C; outside them, and for long holds, the
model extrapolates and its doubt is that of a cell left out. A cone is work done on one kind of clay; a glaze
of another make-up may answer differently.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np

from catalog.firing.cone_table import (
    SERIES,
    SERIES_WORDS,
    ConeProcess,
    cone_processes,
    published_end_points,
)
from catalog.firing.cones import cone_position
from catalog.firing.path import TOP_BAND_C, PathKind, TemperaturePath
from catalog.firing.rate_process import (
    GAS_CONSTANT_KJ,
    ZERO_C_IN_K,
    FloatArray,
    log_ramp_integral,
)
from catalog.firing.time_above import minutes_above

__all__ = ["HeatWork", "end_point_cone", "final_rate_c_per_h", "log_works", "thermocouple_doubt_c"]

MODEL_RMS_C = 0.85
"""Root mean square residual of the model over all published end points (``python -m catalog.firing.fit``)."""

LEFT_OUT_RMS_C = 3.9
"""The same for an end point left out and predicted from the others, with strengths that never saw its cone:
the model's doubt off the chart."""

_NEAR_PEAK_C = 25.0
_NEAR_PEAK_MOST_MIN = 100.0
"""The slowest published rate, 15 °C/h, takes 100 min over the last 25 °C; longer near the peak is off the
chart."""

_COUNTED_BELOW_PEAK_C = 300.0
"""Pieces cooler than this below the peak are left out: their rate is under a ten-thousandth of the peak's."""

_LOOK_ABOUT = 5
"""Cones on either side looked at first; all are looked at when the answer is not among them."""

_FLAT_C = 0.02
"""A piece that changes by less than this is integrated at its mean temperature."""

CHART_RATES_C_PER_H = (15.0, 150.0)


def thermocouple_doubt_c(temperature_c: float) -> float:
    """Give the tolerance of a new base-metal thermocouple: 2.5 °C or 0.75 % of the reading, the larger.

    IEC 60584-1, type K, class 2 (from memory). An aged one may be further off.
    """
    return max(2.5, 0.0075 * temperature_c)


@dataclass(frozen=True, slots=True)
class HeatWork:
    """The cone a firing amounts to.

    Attributes
    ----------
    cone : str or None
        Hottest cone that reached its end point; None when not even the coolest of the series did.
    fraction : float or None
        How far on the way to the next cone, 0 to under 1; None below and above the series.
    next_cone : str or None
        The next cone of the ladder.
    peak_c : float
        Highest temperature of the course.
    final_rate_c_per_h : float or None
        Mean rate over the last 100 °C before the peak; None when the course is shorter.
    doubt_c : float
        One figure for model and thermocouple together (root of squares), as an error of temperature.
    doubt_cones : float or None
        The same in cones.
    kind : PathKind
        A plan is what was meant: a witness cone outranks it.
    notes : tuple of str
    series : str
        Which cones (`cone_table.SERIES_WORDS`).
    """

    cone: str | None
    fraction: float | None
    next_cone: str | None
    peak_c: float
    final_rate_c_per_h: float | None
    doubt_c: float
    doubt_cones: float | None
    kind: PathKind
    notes: tuple[str, ...]
    series: str = SERIES

    @property
    def position(self) -> float | None:
        """Place on the ladder with the fraction (`cones.cone_position`); None below the series."""
        return _position(self.cone, self.fraction, self.next_cone)

    def sentence(self) -> str:
        """Give the verdict as one plain sentence."""
        what = "This schedule plans" if self.kind is PathKind.PLAN else "This log amounts to"
        if self.cone is None:
            return f"{what} less than cone {self.next_cone} (peak {self.peak_c:.0f} °C)."
        if self.fraction is None or self.next_cone is None:
            return f"{what} cone {self.cone} or more (peak {self.peak_c:.0f} °C)."
        way = f"{100.0 * self.fraction:.0f} % of the way to cone {self.next_cone}"
        doubt = "" if self.doubt_cones is None else f", give or take {self.doubt_cones:.1f} cone"
        return f"{what} cone {self.cone} and {way} (peak {self.peak_c:.0f} °C{doubt})."

    def to_dict(self) -> dict[str, Any]:
        """Give the JSON form that ``glostbook heatwork --json`` prints."""
        return {
            "cone": self.cone,
            "fraction": None if self.fraction is None else min(0.999, round(self.fraction, 3)),
            "next_cone": self.next_cone,
            "peak_c": round(self.peak_c, 1),
            "final_rate_c_per_h": None
            if self.final_rate_c_per_h is None
            else round(self.final_rate_c_per_h, 1),
            "doubt_c": round(self.doubt_c, 1),
            "doubt_cones": None if self.doubt_cones is None else round(self.doubt_cones, 2),
            "kind": str(self.kind),
            "cone_series": SERIES_WORDS[self.series],
            "model": f"Arrhenius rate process for each cone, two energies, residual RMS {MODEL_RMS_C} °C",
            "sentence": self.sentence(),
            "notes": list(self.notes),
        }


def _position(cone: str | None, fraction: float | None, next_cone: str | None) -> float | None:
    if cone is None:
        return None
    here = cone_position(cone)
    if fraction is None or next_cone is None:
        return here
    return here + fraction * (cone_position(next_cone) - here)


def log_works(path: TemperaturePath, processes: Sequence[ConeProcess], shift_c: float = 0.0) -> FloatArray:
    """Give the natural log of each cone's integral over a course; 0 is its end point.

    Parameters
    ----------
    path : TemperaturePath
    processes : sequence of ConeProcess
        m cones.
    shift_c : float
        Added to every temperature (to carry doubt through).

    Returns
    -------
    (m,) float array
        Minus infinity where the integral is nil.
    """
    turn = np.array([[p.turn_c + ZERO_C_IN_K] for p in processes])
    below = np.array([[p.activation_kj] for p in processes])
    above = np.array([[p.activation_above_kj or p.activation_kj] for p in processes])
    constant = np.array([[p.log_a_per_h] for p in processes])
    constant_above = np.array([[p.log_a_above_per_h] for p in processes])
    kelvin = path.temperature_c + (shift_c + ZERO_C_IN_K)
    hours, change = np.diff(path.time_h), np.diff(kelvin)
    warm = np.maximum(kelvin[:-1], kelvin[1:]) > kelvin.max() - _COUNTED_BELOW_PEAK_C
    sloped = warm & (np.abs(change) >= _FLAT_C)
    flat = warm & ~sloped
    total = np.zeros(len(processes))
    if sloped.any():
        # each end of each piece once: neighbours share theirs
        used = np.zeros(kelvin.size, dtype=bool)
        used[:-1] |= sloped
        used[1:] |= sloped
        integral = np.zeros((len(processes), kelvin.size))
        hot = kelvin[used] > turn
        energy, log_a = np.where(hot, above, below), np.where(hot, constant_above, constant)
        # the two branches meet at the turn, so that the integral runs on without a step
        meet = np.minimum(turn, kelvin.max())
        step = np.exp(constant + log_ramp_integral(below, meet))
        step = step - np.exp(constant_above + log_ramp_integral(above, meet))
        integral[:, used] = np.exp(log_a + log_ramp_integral(energy, kelvin[used])) + hot * step
        gained = np.diff(integral, axis=1)[:, sloped]
        total += (gained * (hours[sloped] / change[sloped])).sum(axis=1)
    if flat.any():
        mean = (kelvin[:-1] + kelvin[1:])[flat] / 2.0
        hot = mean > turn
        energy, log_a = np.where(hot, above, below), np.where(hot, constant_above, constant)
        rate = np.exp(log_a - energy / (GAS_CONSTANT_KJ * mean))
        total += (rate * hours[flat]).sum(axis=1)
    with np.errstate(divide="ignore"):
        logs: FloatArray = np.log(total)
    return logs


_Reached: TypeAlias = tuple[str | None, float | None, str | None]


def _read_off(logs: FloatArray, processes: Sequence[ConeProcess]) -> _Reached:
    """Hottest cone with log work 0 or more, and the fraction to the next, straight in log work."""
    bent = np.flatnonzero(logs >= 0.0)
    if not bent.size:
        return None, None, processes[0].cone
    index = int(bent[-1])
    if index + 1 == len(processes):
        return processes[index].cone, None, None
    past, short = float(logs[index]), -float(logs[index + 1])
    fraction = 0.0 if math.isinf(short) else past / (past + short)
    return processes[index].cone, fraction, processes[index + 1].cone


def _reached(
    path: TemperaturePath, processes: Sequence[ConeProcess], shift_c: float, about: int | None
) -> _Reached:
    """Read off the cone, looking first at the cones about one place of the series (for speed only)."""
    if about is not None:
        low, high = max(0, about - _LOOK_ABOUT), min(len(processes), about + _LOOK_ABOUT + 1)
        part = log_works(path, processes[low:high], shift_c)
        if part[0] >= 0.0 and part[-1] < 0.0:
            return _read_off(part, processes[low:high])
    return _read_off(log_works(path, processes, shift_c), processes)


def end_point_cone(
    path: TemperaturePath, thermocouple_c: float | None = None, series: str = SERIES
) -> HeatWork:
    """Give the cone a course of firing amounts to.

    Parameters
    ----------
    path : TemperaturePath
        `path.path_of_schedule` or `path.path_of_log`.
    thermocouple_c : float, optional
        Doubt of the kiln's thermocouple in °C where it is known better than `thermocouple_doubt_c` says.
    series : str
        Which cones, a key of `cone_table.SERIES_WORDS`.

    Returns
    -------
    HeatWork
        Never lower for a hotter, slower or longer course.
    """
    processes = cone_processes(series)
    cone, fraction, next_cone = _reached(path, processes, 0.0, _place_of_peak(path, series))
    index = next((i for i, process in enumerate(processes) if process.cone == cone), None)
    rate = final_rate_c_per_h(path)
    off_chart = _off_chart(path, rate)
    residual = 0.0 if index is None else processes[index].residual_rms_c
    model = max(LEFT_OUT_RMS_C if off_chart else MODEL_RMS_C, residual)
    probe = thermocouple_doubt_c(path.peak_c) if thermocouple_c is None else thermocouple_c
    doubt_c = math.hypot(model, probe)
    low, high = (_position(*_reached(path, processes, shift, index)) for shift in (-doubt_c, doubt_c))
    near = {cone, next_cone}
    recalled = [p.cone for p in processes if p.cone in near and p.basis != "read"]
    return HeatWork(
        cone=cone,
        fraction=fraction,
        next_cone=next_cone,
        peak_c=path.peak_c,
        final_rate_c_per_h=rate,
        doubt_c=doubt_c,
        doubt_cones=None if low is None or high is None else (high - low) / 2.0,
        kind=path.kind,
        notes=(
            *_notes(path, series, recalled),
            *(() if off_chart is None else (off_chart,)),
            *_ends(cone, next_cone),
        ),
        series=series,
    )


def _place_of_peak(path: TemperaturePath, series: str) -> int:
    """Place in the series of the cone whose hottest published end point lies nearest the peak."""
    ends = [points[-1][1] for points in published_end_points(series).values()]
    return int(np.argmin([abs(end - path.peak_c) for end in ends]))


def final_rate_c_per_h(path: TemperaturePath) -> float | None:
    """Give the mean rate over the last 100 °C before the top is first reached; None in a shorter course.

    The top is the peak of a plan, and 5 °C below the peak of a log (`path.TOP_BAND_C`): a log wanders up to
    its highest reading somewhere along the hold.
    """
    end_c = path.peak_c - TOP_BAND_C[path.kind]
    top = int(np.flatnonzero(path.temperature_c >= end_c)[0])
    start_c = end_c - 100.0
    below = np.flatnonzero(path.temperature_c[: top + 1] <= start_c)
    if top == 0 or not below.size:
        return None
    start_h = _crossed_h(path, int(below[-1]), start_c)
    return 100.0 / (_crossed_h(path, top - 1, end_c) - start_h)


def _crossed_h(path: TemperaturePath, i: int, level_c: float) -> float:
    """Hour at which the piece after point i climbs through a level."""
    low, high = float(path.temperature_c[i]), float(path.temperature_c[i + 1])
    part = (level_c - low) / (high - low)
    return float(path.time_h[i]) + part * float(path.time_h[i + 1] - path.time_h[i])


def _off_chart(path: TemperaturePath, rate: float | None) -> str | None:
    """Say in what way a course lies outside the chart's rates; None when it does not."""
    low, high = CHART_RATES_C_PER_H
    if rate is not None and not low <= rate <= high:
        return f"The last 100 °C at {rate:.0f} °C/h lie outside the chart's {low:.0f} to {high:.0f} °C/h."
    near = minutes_above(path, path.peak_c - _NEAR_PEAK_C)
    if near > _NEAR_PEAK_MOST_MIN + 1e-6:
        return f"{near:.0f} min within {_NEAR_PEAK_C:.0f} °C of the peak: more than the chart's slowest rate."
    return None


def _notes(path: TemperaturePath, series: str, recalled: Sequence[str]) -> tuple[str, ...]:
    others = ", ".join(words for key, words in SERIES_WORDS.items() if key != series)
    notes = [f"{SERIES_WORDS[series].capitalize()} cones; others ({others}) differ by some degrees."]
    if recalled:
        notes.append(f"End points of cone {' and '.join(recalled)} of this series are recalled, not read.")
    if path.kind is PathKind.PLAN:
        notes.append("A plan, not evidence: a witness cone beside the ware outranks it.")
    return tuple(notes)


def _ends(cone: str | None, next_cone: str | None) -> tuple[str, ...]:
    if cone is None:
        return ("Less than the coolest cone of the chart.",)
    if next_cone is None:
        return ("More than the hottest cone of the chart.",)
    return ()
