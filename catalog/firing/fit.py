"""Fit each cone's rate process to the published end points: ``python -m catalog.firing.fit [OUT.csv]``.

Each cone is fitted by itself, two values to its two or three published end points, by least squares in
degrees. Without a file name it prints the residuals; with one it writes the table that ships as
`data/heatwork.csv`.
"""

from __future__ import annotations

import csv
import sys
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from catalog.firing.cone_table import ConeProcess, published_end_points
from catalog.firing.rate_process import (
    GAS_CONSTANT_KJ,
    ZERO_C_IN_K,
    end_point_c,
    log_ramp_integral,
)

__all__ = ["fit_all", "fit_cone", "main", "residuals_c"]

_FIELDS = ("cone", "activation_kj_per_mol", "log_a_per_h", "residual_rms_c", "points", "source")
_SOURCE = "fitted by catalog.firing.fit to the self-supporting regular end points of cones.csv"


def fit_cone(points: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Fit one cone.

    Parameters
    ----------
    points : sequence of (rate_c_per_h, end_point_c)
        At least two.

    Returns
    -------
    activation_kj, log_a_per_h : float
    """
    from scipy.optimize import least_squares

    rates = [rate for rate, _ in points]
    published = np.array([end for _, end in points])
    middle_k = float(published.mean()) + ZERO_C_IN_K
    middle_rate = float(np.exp(np.mean(np.log(rates))))
    slope = float(np.polyfit(np.log(rates), published, 1)[0])
    first_guess_kj = GAS_CONSTANT_KJ * middle_k**2 / max(slope, 1.0)

    def log_a(activation_kj: float, at_k: float) -> float:
        """Rate constant that puts the end point at `at_k` for the middle rate."""
        energy, end = np.array(activation_kj), np.array(at_k)
        return float(np.log(middle_rate) - log_ramp_integral(energy, end))

    def misses(values: np.ndarray[tuple[int], np.dtype[np.float64]]) -> list[float]:
        activation_kj, at_k = float(np.exp(values[0])), float(values[1])
        constant = log_a(activation_kj, at_k)
        return [end_point_c(constant, activation_kj, rate) - end for rate, end in points]

    fitted = least_squares(misses, np.array([np.log(first_guess_kj), middle_k]), x_scale=[0.05, 5.0])
    activation_kj, at_k = float(np.exp(fitted.x[0])), float(fitted.x[1])
    return activation_kj, log_a(activation_kj, at_k)


def residuals_c(process: ConeProcess, points: Sequence[tuple[float, float]]) -> tuple[float, ...]:
    """Give model less published end point at each published rate, in °C."""
    return tuple(end_point_c(process.log_a_per_h, process.activation_kj, rate) - end for rate, end in points)


def fit_all() -> tuple[ConeProcess, ...]:
    """Fit every cone of the self-supporting regular series."""
    processes = []
    for cone, points in published_end_points().items():
        activation_kj, constant = fit_cone(points)
        bare = ConeProcess(cone, round(activation_kj, 4), round(constant, 6), 0.0, len(points))
        missed = np.array(residuals_c(bare, points))
        rms = round(float(np.sqrt(np.mean(missed**2))), 3)
        processes.append(ConeProcess(cone, bare.activation_kj, bare.log_a_per_h, rms, len(points)))
    return tuple(processes)


def main(arguments: Sequence[str]) -> int:
    """Fit, report, and write the table where a file name is given."""
    processes = fit_all()
    all_missed = [
        (miss, process.cone, rate)
        for process in processes
        for miss, (rate, _) in zip(
            residuals_c(process, published_end_points()[process.cone]),
            published_end_points()[process.cone],
            strict=True,
        )
    ]
    rms = float(np.sqrt(np.mean([miss**2 for miss, _, _ in all_missed])))
    worst = max(all_missed, key=lambda item: abs(item[0]))
    sys.stdout.write(
        f"{len(all_missed)} end points of {len(processes)} cones: RMS {rms:.2f} °C, "
        f"worst {worst[0]:+.2f} °C (cone {worst[1]} at {worst[2]:.0f} °C/h)\n"
    )
    if arguments:
        with Path(arguments[0]).open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file, lineterminator="\n")
            writer.writerow(_FIELDS)
            for process in processes:
                writer.writerow(
                    [
                        process.cone,
                        f"{process.activation_kj:.4f}",
                        f"{process.log_a_per_h:.6f}",
                        f"{process.residual_rms_c:.3f}",
                        process.points,
                        _SOURCE,
                    ]
                )
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
