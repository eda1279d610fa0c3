"""How long a course stays at or above a temperature."""

from __future__ import annotations

import numpy as np

from catalog.firing.path import TemperaturePath

__all__ = ["minutes_above"]


def minutes_above(path: TemperaturePath, limit_c: float) -> float:
    """Give the minutes a course spends at or above a temperature, straight between its points.

    Parameters
    ----------
    path : TemperaturePath
    limit_c : float
        Degrees Celsius.
    """
    first, last = path.temperature_c[:-1] - limit_c, path.temperature_c[1:] - limit_c
    hours = np.diff(path.time_h)
    span = np.abs(last - first)
    top = np.maximum(np.maximum(first, last), 0.0)
    bottom = np.maximum(np.minimum(first, last), 0.0)
    share = np.where(span > 0.0, (top - bottom) / np.where(span > 0.0, span, 1.0), (first >= 0.0) * 1.0)
    return float(60.0 * (share * hours).sum())
