"""How a glaze's colour changes from the top of its face to the bottom, as the photo shows it."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.colour import delta_e_00
from vision.face import Face
from vision.reading import Gradient, Lab
from vision.settings import FaceSettings

__all__ = ["difference_sd", "measure_gradient", "middle_slope"]


def middle_slope(x: NDArray[np.float64], y: NDArray[np.float64]) -> float:
    """Give the median of the slopes between all pairs of points (Theil 1950, Sen 1968).

    Parameters
    ----------
    x, y : (n,) of two or more points, no two x equal
    """
    first, second = np.triu_indices(len(x), 1)
    return float(np.median((y[second] - y[first]) / (x[second] - x[first])))


def difference_sd(lab: NDArray[np.float64], other: NDArray[np.float64], sd: NDArray[np.float64]) -> float:
    """Give the standard deviation of a CIEDE2000 difference whose CIELAB difference has `sd` in each axis.

    Notes
    -----
    By the slope of the difference along each axis at the colours given; at equal colours by one sd's step.
    """
    step = np.diag(np.maximum(sd, 1e-3))
    here = float(delta_e_00(lab, other))
    moved = delta_e_00(lab[None, :], other[None, :] + step)
    back = delta_e_00(lab[None, :], other[None, :] - step)
    change = np.maximum(np.abs(moved - here), np.abs(back - here))
    return float(np.sqrt((change**2).sum()))


def _grid(face: Face, settings: FaceSettings) -> tuple[NDArray[np.float64], NDArray[np.bool_], int] | None:
    """Give mean colours on a coarse grid (steps, strips, 3), where enough glaze is clear, and its rows."""
    use = face.clear & (face.from_edge > settings.edge_field_mm[0] * face.px_per_mm)
    rows, cols = np.nonzero(use.any(axis=1))[0], np.nonzero(use.any(axis=0))[0]
    if len(rows) < settings.gradient_least_steps or len(cols) < settings.gradient_strips:
        return None
    box = (slice(int(rows[0]), int(rows[-1]) + 1), slice(int(cols[0]), int(cols[-1]) + 1))
    weight = use[box].astype(np.float32)
    size = (settings.gradient_strips, settings.gradient_steps)
    share = cv2.resize(weight, size, interpolation=cv2.INTER_AREA)
    mean = cv2.resize(face.lab[box] * weight[..., None], size, interpolation=cv2.INTER_AREA)
    return np.asarray(mean / np.maximum(share, 1e-6)[..., None], np.float64), share > 0.35, len(weight)


def measure_gradient(face: Face, settings: FaceSettings) -> Gradient | None:
    """Measure the change of colour over the glazed height.

    Parameters
    ----------
    face : the reduced piece
    settings : steps and doubts

    Returns
    -------
    Gradient, or None where there is too little clear glaze

    Notes
    -----
    The slope is the mean, over strips side by side, of each strip's median slope; its doubt joins the strips'
    scatter with that of the light, which may fall off over the tile just as a colour does.
    """
    found = _grid(face, settings)
    if found is None:
        return None
    grid, known, height = found
    place = (np.arange(settings.gradient_steps) + 0.5) / settings.gradient_steps
    slopes = [
        [middle_slope(place[known[:, k]], grid[known[:, k], k, axis]) for axis in range(3)]
        for k in range(settings.gradient_strips)
        if int(known[:, k].sum()) >= settings.gradient_least_steps and float(np.ptp(place[known[:, k]])) > 0.5
    ]
    if len(slopes) < 2:
        return None
    change = np.mean(slopes, axis=0)
    scatter = np.std(slopes, axis=0, ddof=1) / np.sqrt(len(slopes))
    sd = np.hypot(scatter, settings.gradient_light_doubt)
    middle = np.median(grid[known], axis=0)
    top, bottom = middle - change / 2, middle + change / 2
    return Gradient(
        top=Lab(*(float(v) for v in top)),
        bottom=Lab(*(float(v) for v in bottom)),
        change=(float(change[0]), float(change[1]), float(change[2])),
        change_sd=(float(sd[0]), float(sd[1]), float(sd[2])),
        height_cm=None if face.mm_per_px is None else height * face.mm_per_px / 10.0,
        delta_e_00=float(delta_e_00(top, bottom)),
        delta_e_00_sd=difference_sd(top, bottom, sd),
    )
