"""How strong detail is in a face, by its size: plain numbers that tell glaze from leaves, cloth or print.

Ratios of linear light to its own median, so that neither exposure nor the glaze's colour counts.
"""

from __future__ import annotations

from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.colour import srgb_to_linear
from vision.settings import GroundSettings
from vision.surface import BoolMask, ByteImage, FloatImage

__all__ = ["look_cues"]

_LUMINANCE = np.array([0.2126, 0.7152, 0.0722], np.float32)
"""IEC 61966-2-1, linear sRGB to luminance."""
_LINEAR = srgb_to_linear(np.arange(256, dtype=np.uint8))
_SIGMAS_PX = (1.0, 2.0, 4.0, 8.0)
"""Sizes of detail, standard deviations of the blur."""
_DARK = 0.004
"""Added to linear light before a ratio: under it lies noise."""


def _smoothed(held: FloatImage, inside: FloatImage, sigma_px: float) -> FloatImage:
    """Blur (rows, cols, channels), zero outside a mask, within that mask only."""
    weight = np.maximum(cv2.GaussianBlur(inside, (0, 0), sigma_px), np.float32(1e-3))
    return np.asarray(cv2.GaussianBlur(held, (0, 0), sigma_px) / weight[..., None], np.float32)


def _levels(values: NDArray[np.float32], middle: float) -> dict[str, float]:
    """Give how far the histogram reaches from its median."""
    levels = map(float, np.percentile(values, (1, 5, 95)))
    return {
        f"ratio_{percent}": float(np.log((level + _DARK) / (middle + _DARK)))
        for percent, level in zip((1, 5, 95), levels, strict=True)
    }


def _bands(levels: tuple[FloatImage, ...], face: BoolMask, middle: float) -> dict[str, float]:
    """Give the strength of detail between neighbouring sizes of luminance."""
    return {
        f"band{number}_ratio": float(np.log(float((finer - coarser)[face].std()) / (middle + 0.01) + 1e-3))
        for number, (finer, coarser) in enumerate(pairwise(levels))
    }


def _slopes(soft: tuple[FloatImage, ...], face: BoolMask, middle: float) -> dict[str, float]:
    """Give how steep the colour changes at several sizes."""
    core = cv2.erode(face.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
    if core.sum() < 100:
        core = face
    out = {}
    for number, smooth in enumerate(soft[:3]):
        across = cv2.Sobel(smooth, cv2.CV_32F, 1, 0, ksize=3, scale=0.125)
        down = cv2.Sobel(smooth, cv2.CV_32F, 0, 1, ksize=3, scale=0.125)
        squares = cv2.split(across * across + down * down)
        energy = (squares[0] + squares[1] + squares[2])[core]
        half, most = (float(np.sqrt(v)) for v in np.percentile(energy, (50, 99)))
        out[f"slope{number}_middle_ratio"] = float(np.log(half + 1e-4) - np.log(middle + _DARK))
        out[f"slope{number}_rise"] = float(np.log((most + 1e-4) / (half + 1e-4)))
    return out


def look_cues(image: ByteImage, within: BoolMask, settings: GroundSettings) -> dict[str, float] | None:
    """Measure the cues of one face.

    Parameters
    ----------
    image : (rows, cols, 3) uint8 sRGB
    within : (rows, cols) bool, the face
    settings : `cue_side_px`, `cue_pixels`

    Returns
    -------
    Cues by name, logarithms; None when too little of it is seen.
    """
    scale = min(1.0, settings.cue_side_px / max(within.shape))
    size = (max(8, round(within.shape[1] * scale)), max(8, round(within.shape[0] * scale)))
    share = cv2.resize(within.astype(np.float32), size, interpolation=cv2.INTER_AREA)
    whole = np.pad((share > 0.6).astype(np.uint8), 1)
    face = np.asarray(cv2.erode(whole, np.ones((7, 7), np.uint8), borderValue=0)[1:-1, 1:-1] > 0, np.bool_)
    if face.sum() < settings.cue_pixels:
        return None
    light = np.asarray(cv2.resize(cv2.LUT(image, _LINEAR), size, interpolation=cv2.INTER_AREA), np.float32)
    inside = face.astype(np.float32)
    held = light * inside[..., None]
    blurred = tuple(_smoothed(held, inside, sigma) for sigma in _SIGMAS_PX)
    luminance = tuple(np.asarray(part @ _LUMINANCE, np.float32) for part in blurred)
    middle = float(np.median(luminance[0][face]))
    cues = _levels(luminance[0][face], middle)
    return cues | _bands(luminance, face, middle) | _slopes(blurred, face, middle)
