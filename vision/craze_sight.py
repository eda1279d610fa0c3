"""Whether a photo could show a net of crazing at all: a usual hairline against the grain of this glaze."""

from __future__ import annotations

import cv2
import numpy as np

from vision.settings import CrazingSettings
from vision.surface import BoolMask, FloatImage, Surface

__all__ = ["hairline_visibility"]

_THIN = 5
"""Medians are taken of every fifth pixel: of a hundred thousand they are as good, in a fifth of the time."""


def hairline_visibility(
    surface: Surface, lab: FloatImage, domain: BoolMask, factor: float, settings: CrazingSettings
) -> float | None:
    """Say how far a usual craze line would stand out of the grain, as a ratio; None without scale.

    Parameters
    ----------
    surface : the surface, for its scale and blur
    lab : (rows, cols, 3) float32, at working resolution (`line_domain`)
    domain : (rows, cols) bool, where lines are looked for
    factor : working pixels per surface pixel
    settings : the thresholds named `usual_` and `fine_`

    Notes
    -----
    A line of width w under a Gaussian blur of standard deviation s keeps w / (sqrt(2 pi) s) of its depth. The
    depth is a share of the glaze's own lightness: a dark line hardly shows on a dark glaze. The grain is the
    median deviation of detail as fine as a line, which a net itself hardly raises.
    """
    if surface.mm_per_px is None or not domain.any():
        return None
    light = np.ascontiguousarray(lab[..., 0])
    fine = cv2.GaussianBlur(light, (0, 0), settings.fine_px)
    fine -= cv2.GaussianBlur(light, (0, 0), 3 * settings.fine_px)
    grain = 1.4826 * float(np.median(np.abs(fine[domain][::_THIN])))
    spread_px = float(np.hypot(surface.blur_px * factor, settings.pixel_blur_px))
    spread_mm = spread_px * surface.mm_per_px / factor
    kept = min(1.0, settings.usual_width_mm / (np.sqrt(2 * np.pi) * spread_mm))
    depth = settings.usual_depth_share * float(np.median(light[domain][::_THIN]))
    return float(kept * depth / max(grain, settings.least_grain))
