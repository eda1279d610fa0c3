"""Published end points of cones, and the fitted rate process of each cone."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

import numpy as np

from catalog.firing.cones import parse_cone
from catalog.firing.rate_process import GAS_CONSTANT_KJ, ZERO_C_IN_K, end_point_c, log_ramp_integral
from catalog.package_data import read_rows

__all__ = [
    "SERIES",
    "SERIES_WORDS",
    "ConeProcess",
    "cone_processes",
    "published_basis",
    "published_end_point_c",
    "published_end_points",
]

SERIES = "self_supporting_regular"
"""The cones meant where nothing else is said: self-supporting, regular (iron-bearing)."""

SERIES_WORDS: Mapping[str, str] = {
    "self_supporting_regular": "self-supporting regular",
    "self_supporting_iron_free": "self-supporting iron-free",
    "large_regular": "large regular",
    "large_iron_free": "large iron-free",
    "small_regular": "small regular",
}
"""The series of the chart, kept apart: one cone's end points differ between them by some degrees."""


@dataclass(frozen=True, slots=True)
class ConeProcess:
    """One cone's fitted rate process (a row of `data/heatwork.csv`).

    Attributes
    ----------
    cone : str
    activation_kj : float
        E in kJ/mol below `turn_c`. It describes the chart, it is no property of any one mineral.
    log_a_per_h : float
        Natural log of the rate constant below `turn_c`, in end points an hour.
    residual_rms_c : float
        Root mean square of model less published end point over this cone's published rates.
    points : int
        Published end points it rests on; with one or two the residual says little of its error.
    basis : str
        "read" where all its published end points were seen in the chart, "recalled" where any was not.
    activation_above_kj : float or None
        E above `turn_c`; None for one E throughout.
    turn_c : float
        Where E changes: the smoothed end point at the chart's middle rate.
    """

    cone: str
    activation_kj: float
    log_a_per_h: float
    residual_rms_c: float
    points: int
    basis: str = "read"
    activation_above_kj: float | None = None
    turn_c: float = math.inf

    @property
    def log_a_above_per_h(self) -> float:
        """Log of the rate constant above `turn_c`, so that the rate runs on without a step."""
        if self.activation_above_kj is None:
            return self.log_a_per_h
        kelvin = self.turn_c + ZERO_C_IN_K
        return self.log_a_per_h - (self.activation_kj - self.activation_above_kj) / (GAS_CONSTANT_KJ * kelvin)

    def end_point_c(self, rate_c_per_h: float) -> float:
        """Give the temperature at which this cone reaches its end point, heated at a constant rate."""
        if self.activation_above_kj is None:
            return end_point_c(self.log_a_per_h, self.activation_kj, rate_c_per_h)
        turn = np.array(self.turn_c + ZERO_C_IN_K)
        before = math.exp(self.log_a_per_h + float(log_ramp_integral(np.array(self.activation_kj), turn)))
        if rate_c_per_h <= before:
            return end_point_c(self.log_a_per_h, self.activation_kj, rate_c_per_h)
        above = np.array(self.activation_above_kj)
        whole = math.exp(self.log_a_above_per_h + float(log_ramp_integral(above, turn)))
        return end_point_c(self.log_a_above_per_h, self.activation_above_kj, rate_c_per_h - before + whole)


@cache
def published_end_points(series: str = SERIES) -> Mapping[str, tuple[tuple[float, float], ...]]:
    """Give (rate in °C/h, end point in °C) of each cone of a series, coolest cone first.

    Source: the manufacturer's chart, `data/cones.csv`; the rate is that over the last 100 °C.
    """
    found: dict[str, list[tuple[float, float]]] = defaultdict(list)
    for row in read_rows("catalog.firing", "cones.csv"):
        if row["series"] == series:
            found[row["cone"]].append((float(row["rate_C_per_h"]), float(row["end_point_C"])))
    return {cone: tuple(sorted(points)) for cone, points in found.items()}


def published_end_point_c(cone: str, rate_c_per_h: float) -> float | None:
    """Give the published end point of a cone, straight-lined in rate between the chart's rates.

    Parameters
    ----------
    cone : str
        Any spelling `parse_cone` takes.
    rate_c_per_h : float
        Heating rate over the last 100 °C.

    Returns
    -------
    float or None
        Degrees Celsius; None outside the chart's rates. The straight line is our rule, not the maker's.
    """
    points = published_end_points()[parse_cone(cone)]
    for (low, cool), (high, hot) in pairwise(points):
        if low <= rate_c_per_h <= high:
            return cool + (hot - cool) * (rate_c_per_h - low) / (high - low)
    return None


def published_basis(cone: str, series: str = SERIES) -> str:
    """Give "read" where all end points of a cone were seen in the chart, else "recalled" (from memory)."""
    rows = read_rows("catalog.firing", "cones.csv")
    kinds = {row["basis"] for row in rows if row["series"] == series and row["cone"] == parse_cone(cone)}
    return "read" if kinds == {"read"} else "recalled"


@cache
def cone_processes(series: str = SERIES) -> tuple[ConeProcess, ...]:
    """Give the fitted process of every cone of a series, coolest first (cached)."""
    return tuple(
        ConeProcess(
            cone=row["cone"],
            activation_kj=float(row["activation_kj_per_mol"]),
            log_a_per_h=float(row["log_a_per_h"]),
            residual_rms_c=float(row["residual_rms_c"]),
            points=int(row["points"]),
            basis=row["basis"],
            activation_above_kj=float(row["activation_above_kj_per_mol"]),
            turn_c=float(row["turn_c"]),
        )
        for row in read_rows("catalog.firing", "heatwork.csv")
        if row["series"] == series
    )
