"""What reflections look like on a face: cues of gloss that glaze pattern shares as little as can be.

Mirrored light is added to the glaze's own, whatever that is; it is nearly white, lies in few bright places
and its edges stay as sharp as the surface is smooth. Pattern in the glaze runs between two pigments' colours,
both ways from the middle. So: how much light is added and how far out of the ordinary it is (percentiles over
the median), which way the histogram leans at several sizes of detail, how steep edges are at several sizes,
and along which colour they run.

Sources: highlight contrast and sharpness (Ferwerda, Pellacini & Greenberg 2001), skew of luminance and of its
bands (Motoyoshi, Nishida, Sharan & Adelson 2007), coverage (Marlow, Kim & Anderson 2012), two colours of
reflection (Shafer 1985).
"""

from __future__ import annotations

from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.colour import srgb_to_linear
from vision.settings import GlossSettings
from vision.surface import BoolMask, FloatImage, Surface

__all__ = ["gloss_cues"]

_LUMINANCE = np.array([0.2126, 0.7152, 0.0722], np.float32)
"""IEC 61966-2-1, linear sRGB to luminance."""
_NEUTRAL = np.full(3, 1 / np.sqrt(3), np.float32)
_LINEAR = srgb_to_linear(np.arange(256, dtype=np.uint8))
_SIGMAS_PX = (1.0, 2.0, 4.0, 8.0)
"""Sizes of detail, standard deviations of the blur."""
_DARK = 0.004
"""Added to linear light before a ratio: under it lies noise."""


def _smoothed(held: FloatImage, inside: FloatImage, sigma_px: float) -> FloatImage:
    """Blur (rows, cols, channels), zero outside a mask, within that mask only."""
    weight = np.maximum(cv2.GaussianBlur(inside, (0, 0), sigma_px), np.float32(1e-3))
    return np.asarray(cv2.GaussianBlur(held, (0, 0), sigma_px) / weight[..., None], np.float32)


def _third_moment(values: NDArray[np.float32], low: float, high: float) -> float:
    spread = float(values.std())
    if spread < 1e-6:
        return 0.0
    centred = values - values.mean()
    return float(np.clip((centred * centred * centred).mean() / spread**3, low, high))


def _levels(values: NDArray[np.float32], middle: float) -> dict[str, float]:
    """Give how far the histogram reaches from its median, as ratios and as light added."""
    out = {}
    percents = (1, 5, 25, 75, 95, 99, 99.8)
    for percent, level in zip(percents, map(float, np.percentile(values, percents)), strict=True):
        out[f"ratio_{percent}"] = float(np.log((level + _DARK) / (middle + _DARK)))
        if percent >= 95:
            out[f"added_{percent}"] = float(np.log(max(level - middle, 0.0) + 0.003))
    out["skew"] = _third_moment(values, -3.0, 8.0)
    out["log_skew"] = _third_moment(np.log(values + np.float32(0.01)), -3.0, 5.0)
    out["full"] = float(np.log(float((values > 0.9).mean()) + 1e-3))
    return out


def _bands(levels: tuple[FloatImage, ...], face: BoolMask, middle: float) -> dict[str, float]:
    """Give strength and lean of detail between neighbouring sizes of luminance."""
    out = {}
    for number, (finer, coarser) in enumerate(pairwise(levels)):
        band = (finer - coarser)[face]
        spread = float(band.std())
        out[f"band{number}_ratio"] = float(np.log(spread / (middle + 0.01) + 1e-3))
        out[f"band{number}_light"] = float(np.log(spread + 3e-4))
        out[f"band{number}_skew"] = _third_moment(band, -4.0, 8.0)
        low, high = (float(v) for v in np.percentile(band, (0.3, 99.7)))
        out[f"band{number}_peak"] = float(np.log((max(high, 0.0) + 1e-5) / (max(-low, 0.0) + 1e-4)))
    return out


def _slopes(
    light: FloatImage, soft: tuple[FloatImage, ...], face: BoolMask, middle: float
) -> dict[str, float]:
    """Give how steep the colour changes at several sizes, and along which colour the steepest run."""
    core = cv2.erode(face.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
    if core.sum() < 100:
        core = face
    own = np.median(light[face], axis=0) + np.float32(0.003)
    own = own / np.linalg.norm(own)
    out = {}
    for number, smooth in enumerate(soft[:3]):
        across = cv2.Sobel(smooth, cv2.CV_32F, 1, 0, ksize=3, scale=0.125)
        down = cv2.Sobel(smooth, cv2.CV_32F, 0, 1, ksize=3, scale=0.125)
        squares = cv2.split(across * across + down * down)
        strength = squares[0] + squares[1] + squares[2]
        energy = strength[core]
        levels = np.percentile(energy, (50, 98, 99, 99.8))
        half, _, most, top = (float(np.sqrt(v)) for v in levels)
        out[f"slope{number}_middle"] = float(np.log(half + 1e-4))
        out[f"slope{number}_middle_ratio"] = float(np.log(half + 1e-4) - np.log(middle + _DARK))
        out[f"slope{number}_most"] = float(np.log(most + 1e-4))
        out[f"slope{number}_top"] = float(np.log(top + 1e-4))
        out[f"slope{number}_rise"] = float(np.log((most + 1e-4) / (half + 1e-4)))
        out[f"slope{number}_ratio"] = float(np.log(most / (middle + 0.01) + 1e-4))
        steep = core & (strength >= np.float32(levels[1]))
        total = float(strength[steep].sum()) + 1e-9
        steepest = across[steep], down[steep]
        for name, along in (("white", _NEUTRAL), ("own", own)):
            part = (steepest[0] @ along) ** 2 + (steepest[1] @ along) ** 2
            out[f"slope{number}_{name}"] = float(part.sum()) / total
    return out


def _highlights(
    base: FloatImage, raw: FloatImage, light: FloatImage, face: BoolMask, middle: float, blur_px: float
) -> dict[str, float]:
    """Give size, number, edges and colour of the brightest places."""
    peak = float(np.percentile(base[face], 99.5))
    over = (base > middle + 0.5 * (peak - middle)) & face
    area = float(face.sum())
    _, _, stats, _ = cv2.connectedComponentsWithStats(over.astype(np.uint8))
    sizes = stats[1:, cv2.CC_STAT_AREA] if len(stats) > 1 else np.zeros(1)
    slope = cv2.magnitude(cv2.Sobel(base, cv2.CV_32F, 1, 0), cv2.Sobel(base, cv2.CV_32F, 0, 1)) / 8
    rim = (cv2.dilate(over.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0) & face
    edges = np.percentile(slope[rim], (50, 95)) if rim.sum() > 10 else np.zeros(2)
    rise = max(peak - middle, 1e-3)
    out = {
        "coverage": float(np.log(over.sum() / area + 1e-3)),
        "largest": float(np.log(sizes.max() / area + 1e-4)),
        "number": float(np.log((sizes > 6).sum() + 1)),
        "largest_share": float(sizes.max() / max(1, int(over.sum()))),
        "edge_middle": float(np.log(edges[0] / rise + 1e-3)),
        "edge_most": float(np.log(edges[1] / rise + 1e-3)),
        "blur": float(np.log(blur_px)),
    }
    added: NDArray[np.floating] = np.zeros(3)
    own = np.median(light[face], axis=0)
    if over.sum() > 5:
        bright = np.median(light[over], axis=0)
        added = (bright - own) / (float(np.linalg.norm(bright - own)) + 1e-6)
        out["added_least"] = float(np.log((float(bright.min()) + _DARK) / (float(own.min()) + _DARK)))
    else:
        out["added_least"] = 0.0
    own = np.median(raw[face], axis=0) + np.float32(0.003)
    own = own / np.linalg.norm(own)
    out["added_white"] = float(added @ _NEUTRAL)
    out["added_own"] = float(added @ own)
    return out


def gloss_cues(surface: Surface, settings: GlossSettings) -> dict[str, float] | None:
    """Measure the cues of one face.

    Returns
    -------
    Cues by name, plain numbers, most of them logarithms of linear light; None when too little glaze is seen.
    """
    glazed = surface.glazed
    scale = min(1.0, settings.long_side_px / max(glazed.shape))
    size = (max(8, round(glazed.shape[1] * scale)), max(8, round(glazed.shape[0] * scale)))
    share = cv2.resize(glazed.astype(np.float32), size, interpolation=cv2.INTER_AREA)
    whole = np.pad((share > 0.6).astype(np.uint8), 1)
    face = np.asarray(cv2.erode(whole, np.ones((7, 7), np.uint8), borderValue=0)[1:-1, 1:-1] > 0, np.bool_)
    if face.sum() < settings.least_pixels:
        return None
    light = np.asarray(
        cv2.resize(cv2.LUT(surface.image, _LINEAR), size, interpolation=cv2.INTER_AREA), np.float32
    )
    inside = face.astype(np.float32)
    held = light * inside[..., None]
    blurred = tuple(_smoothed(held, inside, sigma) for sigma in _SIGMAS_PX)
    luminance = tuple(np.asarray(part @ _LUMINANCE, np.float32) for part in blurred)
    base, soft = luminance[0], blurred[0]
    middle = float(np.median(base[face]))
    cues = _levels(base[face], middle)
    cues |= _bands(luminance, face, middle)
    cues |= _slopes(light, blurred, face, middle)
    cues |= _highlights(base, light, soft, face, middle, float(np.hypot(surface.blur_px * scale, 1.0)))
    grey = 1 - (soft.min(axis=2) + _DARK) / (soft.max(axis=2) + _DARK)
    bright = np.log(soft.mean(axis=2)[face] + 0.01)
    even = grey[face].std() < 1e-4 or bright.std() < 1e-4
    cues["paling"] = 0.0 if even else float(np.corrcoef(bright, grey[face])[0, 1])
    return cues
