"""Round tiles: the ellipse that most of an outline lies on, so that shadows and glints do not dent it."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.outline import polygon_area
from vision.settings import TileSettings

__all__ = ["fit_oval"]

Points = NDArray[np.float64]


def fit_oval(outline: Points, settings: TileSettings) -> Points | None:
    """Fit an ellipse to a closed curve, robustly; a circle seen from aside is one.

    Parameters
    ----------
    outline : (n, 2) closed curve, photo pixels
    settings : `TileSettings`

    Returns
    -------
    (n, 2) points on the ellipse; None where too little of the curve lies on one
    """
    use = np.ones(len(outline), np.bool_)
    slack = 4 * settings.oval_slack
    for _ in range(settings.oval_rounds):
        if use.sum() < 12:
            return None
        (x, y), (wide, high), turn = cv2.fitEllipse(outline[use].astype(np.float32))
        t = np.radians(turn)
        axes = np.array([[np.cos(t), np.sin(t)], [-np.sin(t), np.cos(t)]])
        local = (outline - (x, y)) @ axes.T / (np.array([wide, high]) / 2 + 1e-9)
        off = np.abs(np.hypot(*local.T) - 1) * (wide + high) / 4
        slack = max(settings.oval_slack, 0.75 * slack)
        use = off <= slack * (wide + high) / 2
    if float(use.mean()) < settings.oval_share:
        return None
    around = np.linspace(0, 2 * np.pi, len(outline), endpoint=False)
    ring = np.stack([wide / 2 * np.cos(around), high / 2 * np.sin(around)], axis=1) @ axes + (x, y)
    alike = abs(polygon_area(ring) / max(polygon_area(outline), 1.0) - 1) <= settings.oval_area
    return np.asarray(ring, np.float64) if alike else None
