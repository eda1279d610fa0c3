"""What a cone's neighbours on the ladder say of it: a Gaussian process over the published end points.

A cone's chart has two or three cells, read to a degree or so and made on different batches: two values
fitted to them alone follow every slip. Here the end point of cone i heated at r °C/h is taken as

    T(i, r) = level(i) + slope(i) * x + bend(i) * u²,   x = u + 0.015 u²,   u = ln(r / 60)

(the bend of x is that of an Arrhenius process with a slope of 1.5 % of its absolute temperature, as cones
have; `bend` is what a cone bends beyond it). Level and slope each are a part that runs smoothly along the
ladder (squared exponential), and a part of the cone's own; the bend runs smoothly only, since neighbours on
the chart bend alike. Every cell has an independent error. The posterior mean is linear in the published
values, and leaving one cell out has a closed form (Rasmussen & Williams, Gaussian Processes for Machine
Learning, 2006, eq. 5.12). The strengths were chosen by leaving cells out in other cones than the ones they
were then judged on (`nested_leave_one_out_c`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from catalog.firing.rate_process import FloatArray

__all__ = [
    "STRENGTHS",
    "Cells",
    "Strengths",
    "cells_of",
    "leave_one_out_c",
    "nested_leave_one_out_c",
    "smoothed_c",
]

_MIDDLE_RATE_C_PER_H = 60.0
_BEND = 0.015
_NO_OPINION_C = 1000.0
"""Prior spread of the ladder's overall level: wide enough to say nothing."""
_NO_OPINION_C_PER_STEP = 30.0
"""The same of its mean climb from cone to cone."""
_SLOPE_SPREAD_C = 20.0
"""The same of the mean slope, in °C for each factor e of heating rate."""
_LEVEL_SPREAD_C = 30.0
_LEVEL_REACH_STEPS = 4.0
_FOLDS = 7


@dataclass(frozen=True, slots=True)
class Strengths:
    """How much each part of the prior may move.

    Attributes
    ----------
    own_level_c : float
        Spread of a cone's own level about the smooth ladder.
    slope_c : float
        Spread of the smooth part of the slope, °C for each factor e of rate.
    slope_reach_steps : float
        Steps of the ladder over which slopes resemble each other.
    own_slope_c : float
        Spread of a cone's own slope about the smooth part.
    cell_c : float
        Error of one published cell.
    bend_c : float
        Spread of the bend, °C for the square of a factor e of rate.
    bend_reach_steps : float
        Steps of the ladder over which bends resemble each other.
    """

    own_level_c: float
    slope_c: float
    slope_reach_steps: float
    own_slope_c: float
    cell_c: float
    bend_c: float
    bend_reach_steps: float


STRENGTHS = Strengths(
    own_level_c=6.0,
    slope_c=8.0,
    slope_reach_steps=3.0,
    own_slope_c=2.0,
    cell_c=1.5,
    bend_c=2.0,
    bend_reach_steps=2.0,
)
"""What ships. The choice is not sharp: neighbouring candidates leave one out within a tenth of a degree."""

CANDIDATES = tuple(
    Strengths(6.0, slope, 3.0, own_slope, cell, bend, reach)
    for slope, own_slope, cell, bend, reach in product(
        (5.0, 8.0), (1.0, 2.0), (1.2, 1.5, 1.8), (1.0, 2.0, 3.0), (1.5, 2.0, 3.0)
    )
)
"""What `nested_leave_one_out_c` chooses from."""


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """Published cells of a series: place on the ladder, rate (°C/h), end point (°C); (n,) each."""

    order: FloatArray
    rate_c_per_h: FloatArray
    end_point_c: FloatArray

    def __getitem__(self, kept: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> Cells:
        return Cells(self.order[kept], self.rate_c_per_h[kept], self.end_point_c[kept])


def cells_of(published: Mapping[str, Sequence[tuple[float, float]]], ladder: Sequence[str]) -> Cells:
    """Give the cells of `cone_table.published_end_points` as arrays."""
    rows = [
        (float(ladder.index(cone)), rate, end) for cone, points in published.items() for rate, end in points
    ]
    order, rate, end = np.array(rows, dtype=np.float64).T
    return Cells(order, rate, end)


def _log_rate(rate_c_per_h: FloatArray) -> FloatArray:
    u: FloatArray = np.log(rate_c_per_h / _MIDDLE_RATE_C_PER_H)
    return u


def _stretch(rate_c_per_h: FloatArray) -> FloatArray:
    u = _log_rate(rate_c_per_h)
    return u + _BEND * u * u


def _covariance(a: Cells, b: Cells, strengths: Strengths) -> FloatArray:
    apart = np.subtract.outer(a.order, b.order)
    same = (apart == 0.0) * 1.0
    middle = 18.5
    level = (
        _NO_OPINION_C**2
        + _NO_OPINION_C_PER_STEP**2 * np.multiply.outer(a.order - middle, b.order - middle)
        + _LEVEL_SPREAD_C**2 * np.exp(-0.5 * (apart / _LEVEL_REACH_STEPS) ** 2)
        + strengths.own_level_c**2 * same
    )
    slope = (
        _SLOPE_SPREAD_C**2
        + strengths.slope_c**2 * np.exp(-0.5 * (apart / strengths.slope_reach_steps) ** 2)
        + strengths.own_slope_c**2 * same
    )
    bend = strengths.bend_c**2 * np.exp(-0.5 * (apart / strengths.bend_reach_steps) ** 2)
    together: FloatArray = (
        level
        + slope * np.multiply.outer(_stretch(a.rate_c_per_h), _stretch(b.rate_c_per_h))
        + bend * np.multiply.outer(_log_rate(a.rate_c_per_h) ** 2, _log_rate(b.rate_c_per_h) ** 2)
    )
    return together


def _precision(cells: Cells, strengths: Strengths) -> FloatArray:
    noise = strengths.cell_c**2 * np.eye(cells.order.size)
    inverse = np.linalg.inv(_covariance(cells, cells, strengths) + noise)
    return inverse.astype(np.float64)


_OFFSET_C = 1000.0
"""Subtracted before smoothing, to keep figures small; the prior has no opinion on it."""


def smoothed_c(
    cells: Cells, order: FloatArray, rate_c_per_h: FloatArray, strengths: Strengths = STRENGTHS
) -> FloatArray:
    """Give the end points the whole ladder speaks for.

    Parameters
    ----------
    cells : Cells
        Published, n of them.
    order, rate_c_per_h : (m,) float array
        Where wanted.
    strengths : Strengths

    Returns
    -------
    (m,) float array
        Degrees Celsius.
    """
    wanted = Cells(order, rate_c_per_h, np.zeros_like(order))
    weights = _precision(cells, strengths) @ (cells.end_point_c - _OFFSET_C)
    result: FloatArray = _covariance(wanted, cells, strengths) @ weights + _OFFSET_C
    return result


def leave_one_out_c(cells: Cells, strengths: Strengths = STRENGTHS) -> FloatArray:
    """Give, for each cell, prediction from all other cells less published value, in °C; (n,)."""
    precision = _precision(cells, strengths)
    missed: FloatArray = -(precision @ (cells.end_point_c - _OFFSET_C)) / np.diag(precision)
    return missed


def _in_sample_rms_c(cells: Cells, strengths: Strengths) -> float:
    kept = strengths.cell_c**2 * (_precision(cells, strengths) @ (cells.end_point_c - _OFFSET_C))
    return float(np.sqrt(np.mean(kept**2)))


def nested_leave_one_out_c(cells: Cells, most_in_sample_c: float = 1.5) -> FloatArray:
    """Give `leave_one_out_c` with strengths that never saw the cone they are judged on.

    The cones are dealt into seven groups. For each, the strengths among `CANDIDATES` that predict left-out
    cells of the other groups best (and give those back within `most_in_sample_c` RMS) predict this group's.

    Returns
    -------
    (n,) float array
        Prediction less published value, °C.
    """
    missed = np.zeros(cells.order.size)
    for fold in range(_FOLDS):
        judged = cells.order % _FOLDS == fold
        others = cells[~judged]

        def loss(strengths: Strengths, others: Cells = others) -> float:
            if _in_sample_rms_c(others, strengths) > most_in_sample_c:
                return np.inf
            return float(np.mean(leave_one_out_c(others, strengths) ** 2))

        chosen = min(CANDIDATES, key=loss)
        missed[judged] = leave_one_out_c(cells, chosen)[judged]
    return missed
