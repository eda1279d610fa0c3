"""How sharp a view is: the standard deviation of its blur, from its own sharpest edges."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.settings import TileSettings
from vision.surface import ByteImage, FloatImage

__all__ = ["measure_blur"]


def measure_blur(image: ByteImage, settings: TileSettings) -> float | None:
    """Estimate the blur of a view as the standard deviation of a Gaussian, pixels.

    The picture is blurred again by a known amount; how much an edge's slope falls tells how blurred it
    was (Zhuo and Sim 2011, "Defocus map estimation from a single image"). The median of the stronger
    half of the edges counts.

    Parameters
    ----------
    image : (rows, cols, 3) uint8 sRGB

    Returns
    -------
    Standard deviation in pixels, or None when no edge stands above the noise.
    """
    grey = cv2.cvtColor(image, cv2.COLOR_RGB2GRAY).astype(np.float32)
    best: float | None = None
    for level in range(settings.blur_levels):
        found = _blur_at(grey, settings)
        if found is None:
            break
        # averaging two pixels into one blurs by itself: a box of 2 is 0.5 coarse pixels of spread
        own = settings.blur_of_halving_px if level else 0.0
        spread = np.sqrt(max(found**2 - own**2, 0.0)) * 2**level
        best = float(np.clip(spread, settings.blur_floor_px, settings.blur_most_px))
        if found < settings.blur_look_coarser_px or min(grey.shape) < 64:
            break
        half = (grey.shape[1] // 2, grey.shape[0] // 2)
        grey = cv2.resize(grey, half, interpolation=cv2.INTER_AREA)
    return best


def _blur_at(grey: FloatImage, settings: TileSettings) -> float | None:
    """Estimate the blur at one resolution, pixels of it."""
    first = settings.blur_presmooth_px
    again = settings.blur_known_px
    smooth = cv2.GaussianBlur(grey, (0, 0), first)
    before = _slope(smooth)
    noise = float(np.median(before[::3, ::3])) * 1.5
    ridge = before >= cv2.dilate(before, np.ones((3, 3), np.uint8)) - np.float32(1e-3)
    strong = ridge & (before > max(settings.blur_least_slope, settings.blur_over_noise * noise))
    if np.count_nonzero(strong) < settings.blur_least_edges:
        return None
    steep = before[strong]
    top = steep >= np.percentile(steep, settings.blur_strong_percent)
    rows, cols = (place[top] for place in np.nonzero(strong))
    after = _slope_at(cv2.GaussianBlur(smooth, (0, 0), again), rows, cols)
    ratio = steep[top] / np.maximum(after, 1e-3)
    sharpest = float(np.percentile(ratio, settings.blur_sharp_percent))
    if sharpest <= 1.001:
        return settings.blur_most_px
    total = again / np.sqrt(sharpest**2 - 1)
    return float(np.sqrt(max(total**2 - first**2, 0.0)))


def _slope_at(values: FloatImage, rows: NDArray[np.intp], cols: NDArray[np.intp]) -> FloatImage:
    """Give what `_slope` does at some places only."""
    held = cv2.copyMakeBorder(values, 1, 1, 1, 1, cv2.BORDER_REFLECT_101)
    near = [[held[rows + down, cols + right] for right in range(3)] for down in range(3)]
    across = 3 * (near[0][2] - near[0][0] + near[2][2] - near[2][0]) + 10 * (near[1][2] - near[1][0])
    along = 3 * (near[2][0] - near[0][0] + near[2][2] - near[0][2]) + 10 * (near[2][1] - near[0][1])
    return np.asarray(np.hypot(across, along), np.float32)


def _slope(values: FloatImage) -> FloatImage:
    return np.asarray(
        cv2.magnitude(cv2.Scharr(values, cv2.CV_32F, 1, 0), cv2.Scharr(values, cv2.CV_32F, 0, 1)), np.float32
    )
