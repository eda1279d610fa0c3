"""Fit each cone's rate process to the published end points: ``python -m catalog.firing.fit [OUT.csv]``.

The self-supporting series are smoothed along the ladder first (`ladder_prior`); each cone's three values (an
activation energy below its end point at the middle rate, one above, and the rate there) then put its end
points at the chart's three rates where the smoothed chart has them, as near as two energies that differ by
no more than a factor of 2.5 can. Large and small
cones have one or two published rates, too few for a slope of their own: they take the self-supporting
cone's end points, shifted by the mean difference at the rates they are published for. Without a file name
it prints the residuals; with one it writes the table that ships as `data/heatwork.csv`.
"""

from __future__ import annotations

import csv
import math
import sys
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np

from catalog.firing.cone_table import (
    SERIES,
    SERIES_WORDS,
    ConeProcess,
    published_basis,
    published_end_points,
)
from catalog.firing.cones import LADDER
from catalog.firing.ladder_prior import cells_of, leave_one_out_c, nested_leave_one_out_c, smoothed_c
from catalog.firing.rate_process import GAS_CONSTANT_KJ, ZERO_C_IN_K, FloatArray, log_ramp_integral

__all__ = ["fit_series", "left_out_c", "main", "process_through", "residuals_c", "turning_process"]

_FIELDS = (
    "series",
    "cone",
    "activation_kj_per_mol",
    "log_a_per_h",
    "activation_above_kj_per_mol",
    "turn_c",
    "residual_rms_c",
    "points",
    "basis",
    "source",
)
_SOURCE = "fitted by catalog.firing.fit to cones.csv"

SMOOTHED_FROM: Mapping[str, str] = {
    "self_supporting_regular": "self_supporting_regular",
    "self_supporting_iron_free": "self_supporting_iron_free",
    "large_regular": "self_supporting_regular",
    "large_iron_free": "self_supporting_iron_free",
    "small_regular": "self_supporting_regular",
}
"""The series whose slopes each series takes."""

_END_RATES_C_PER_H = (15.0, 150.0)
_RATES_C_PER_H = (15.0, 60.0, 150.0)

MOST_RATIO = 2.5
"""How far a cone's two energies may differ: a steeper turn would be the chart's rounding (our choice)."""


def process_through(slow_c: float, fast_c: float) -> tuple[float, float]:
    """Give the Arrhenius process that ends at two temperatures at 15 and 150 °C/h.

    Parameters
    ----------
    slow_c, fast_c : float
        End points at 15 and at 150 °C/h; the second the hotter.

    Returns
    -------
    activation_kj, log_a_per_h : float
    """
    ends = np.array([slow_c, fast_c]) + ZERO_C_IN_K
    logs = np.log(np.array(_END_RATES_C_PER_H))
    wanted = float(logs[1] - logs[0])

    def span(energy_kj: float) -> float:
        first, last = log_ramp_integral(np.array(energy_kj), ends)
        return float(last - first)

    energy = wanted * GAS_CONSTANT_KJ / float(1.0 / ends[0] - 1.0 / ends[1])
    for _ in range(30):
        # nearly proportional to the energy, so dividing by the ratio converges fast
        ratio = span(energy) / wanted
        energy /= ratio
        if abs(ratio - 1.0) < 1e-12:
            break
    return energy, float(logs[1] - log_ramp_integral(np.array(energy), ends)[1])


def turning_process(cone: str, ends_c: Sequence[float]) -> ConeProcess:
    """Give the process with one energy below and one above the middle end point, nearest to three end points.

    Parameters
    ----------
    cone : str
    ends_c : sequence of three floats
        End points at 15, 60 and 150 °C/h; each hotter than the one before.

    Returns
    -------
    ConeProcess
        Without residual and points.
    """
    from scipy.optimize import least_squares

    slow, turn, fast = ends_c
    plain_kj, _ = process_through(slow, fast)
    kelvin = turn + ZERO_C_IN_K

    def made(values: FloatArray) -> ConeProcess:
        below = plain_kj * math.exp(values[0])
        rate_at_turn = math.log(_RATES_C_PER_H[1] / _WIDTH_C) + values[2]
        log_a = rate_at_turn + below / (GAS_CONSTANT_KJ * kelvin)
        return ConeProcess(cone, below, log_a, 0.0, 0, "read", below * math.exp(values[1]), turn)

    def missed(values: FloatArray) -> FloatArray:
        process = made(values)
        return np.array(
            [process.end_point_c(rate) - end for rate, end in zip(_RATES_C_PER_H, ends_c, strict=True)]
        )

    most = math.log(MOST_RATIO)
    found = least_squares(missed, [0.0, 0.0, 0.0], bounds=([-2.0, -most, -6.0], [2.0, most, 6.0]), xtol=1e-12)
    return made(found.x)


_WIDTH_C = 30.0
"""A cone does its work over about so many degrees: only where the search for its rate starts."""


def residuals_c(process: ConeProcess, points: Sequence[tuple[float, float]]) -> tuple[float, ...]:
    """Give model less published end point at each published rate, in °C."""
    return tuple(process.end_point_c(rate) - end for rate, end in points)


@cache
def _smoothed(series: str) -> Mapping[tuple[str, float], float]:
    """Smoothed end points of all cones of the ladder at the chart's rates, by (cone, rate)."""
    where = [(cone, rate) for cone in LADDER for rate in (15.0, 60.0, 150.0, 300.0)]
    order = np.array([float(LADDER.index(cone)) for cone, _ in where])
    rates = np.array([rate for _, rate in where])
    ends = smoothed_c(cells_of(published_end_points(series), LADDER), order, rates)
    return dict(zip(where, ends.tolist(), strict=True))


def fit_series(series: str = SERIES) -> tuple[ConeProcess, ...]:
    """Fit every cone of a series, coolest first."""
    smoothed = _smoothed(SMOOTHED_FROM[series])
    processes = []
    for cone, points in published_end_points(series).items():
        shift = 0.0
        if SMOOTHED_FROM[series] != series:
            shift = float(np.mean([end - smoothed[cone, rate] for rate, end in points]))
        found = turning_process(cone, [smoothed[cone, rate] + shift for rate in _RATES_C_PER_H])
        bare = replace(
            found,
            activation_kj=round(found.activation_kj, 4),
            log_a_per_h=round(found.log_a_per_h, 6),
            activation_above_kj=round(found.activation_above_kj or found.activation_kj, 4),
            turn_c=round(found.turn_c, 4),
        )
        missed = np.array(residuals_c(bare, points))
        rms = round(float(np.sqrt(np.mean(missed**2))), 3)
        basis = published_basis(cone, series)
        processes.append(replace(bare, residual_rms_c=rms, points=len(points), basis=basis))
    return tuple(processes)


def left_out_c(series: str = SERIES, *, nested: bool = False) -> dict[tuple[str, float], float]:
    """Give prediction less published end point of each cell of the cones with three rates, left out in turn.

    Parameters
    ----------
    series : str
    nested : bool
        Choose the strengths of the prior anew without the cone's group (`nested_leave_one_out_c`).

    Returns
    -------
    dict of (cone, rate in °C/h) to float
        Degrees Celsius.
    """
    published = published_end_points(series)
    cells = cells_of(published, LADDER)
    missed = nested_leave_one_out_c(cells) if nested else leave_one_out_c(cells)
    return {
        (LADDER[int(order)], float(rate)): float(miss)
        for order, rate, miss in zip(cells.order, cells.rate_c_per_h, missed, strict=True)
        if len(published[LADDER[int(order)]]) == len(_END_RATES_C_PER_H) + 1
    }


def _rms(values: Sequence[float]) -> float:
    return float(np.sqrt(np.mean(np.square(values))))


def _told(series: str, processes: Sequence[ConeProcess]) -> str:
    published = published_end_points(series)
    missed = [
        (miss, process.cone, rate)
        for process in processes
        for miss, (rate, _) in zip(
            residuals_c(process, published[process.cone]), published[process.cone], strict=True
        )
    ]
    worst = max(missed, key=lambda item: abs(item[0]))
    text = (
        f"{SERIES_WORDS[series]}: {len(missed)} end points of {len(processes)} cones: "
        f"RMS {_rms([miss for miss, _, _ in missed]):.2f} °C, worst {worst[0]:+.2f} °C "
        f"(cone {worst[1]} at {worst[2]:.0f} °C/h)\n"
    )
    if series == SERIES:
        for nested in (False, True):
            left = left_out_c(series, nested=nested)
            by_rate = ", ".join(
                f"{rate:.0f} °C/h {_rms([m for (_, r), m in left.items() if r == rate]):.2f}"
                for rate in (15.0, 60.0, 150.0)
            )
            how = "strengths chosen without the cone" if nested else "shipped strengths"
            text += f"  one cell left out, {how}: RMS {_rms(list(left.values())):.2f} °C ({by_rate})\n"
    return text


def main(arguments: Sequence[str]) -> int:
    """Fit, report, and write the table where a file name is given."""
    fitted = {series: fit_series(series) for series in SERIES_WORDS}
    for series, processes in fitted.items():
        sys.stdout.write(_told(series, processes))
    if arguments:
        with Path(arguments[0]).open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file, lineterminator="\n")
            writer.writerow(_FIELDS)
            for series, processes in fitted.items():
                for process in processes:
                    writer.writerow(
                        [
                            series,
                            process.cone,
                            f"{process.activation_kj:.4f}",
                            f"{process.log_a_per_h:.6f}",
                            f"{process.activation_above_kj:.4f}",
                            f"{process.turn_c:.4f}",
                            f"{process.residual_rms_c:.3f}",
                            process.points,
                            process.basis,
                            _SOURCE,
                        ]
                    )
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
