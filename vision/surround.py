"""The table around things as a light meter: how much more light falls on a piece than on the card."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.colour import srgb_to_linear
from vision.reduced import shrink_picture
from vision.settings import BalanceSettings
from vision.surface import BoolMask, ByteImage

__all__ = ["Surround", "measure_surround", "surround_gain"]

Points = NDArray[np.float64]
_LUMINANCE = np.array([0.2126, 0.7152, 0.0722], np.float32)
"""IEC 61966-2-1, linear sRGB to luminance."""


@dataclass(frozen=True, slots=True)
class Surround:
    """The table next to one thing.

    Attributes
    ----------
    light : median luminance of the band of table around it, linear as in the photo
    spread : interquartile range of the logarithm of that luminance: grain, print, shadows
    """

    light: float
    spread: float


def _filled(shape: tuple[int, int], polygon: Points, scale: float) -> NDArray[np.uint8]:
    mask = np.zeros(shape, np.uint8)
    corners = np.rint(((np.asarray(polygon) + 0.5) * scale - 0.5) * 16).astype(np.int32)
    cv2.fillPoly(mask, [corners.reshape(-1, 1, 2)], 1, shift=4)
    return mask


def _grown(mask: NDArray[np.uint8], width_px: int) -> NDArray[np.uint8]:
    return np.asarray(cv2.dilate(mask, np.ones((width_px, width_px), np.uint8)), np.uint8)


def measure_surround(
    pixels: ByteImage, things: list[Points], taken: list[Points], settings: BalanceSettings
) -> list[Surround | None]:
    """Measure the table around things.

    Parameters
    ----------
    pixels : (rows, cols, 3) uint8 sRGB, the photo
    things : (n, 2) outlines in photo pixels
    taken : outlines of all that is not table: pieces, card, chart, labels

    Returns
    -------
    One `Surround` for each thing, or None where hardly any table shows around it.
    """
    scale = min(1.0, settings.surround_side_px / max(pixels.shape[:2]))
    shape = (max(1, round(pixels.shape[0] * scale)), max(1, round(pixels.shape[1] * scale)))
    small = shrink_picture(pixels, shape[::-1])
    busy = np.zeros(shape, np.uint8)
    for polygon in (*things, *taken):
        busy |= _filled(shape, polygon, scale)
    table: BoolMask = np.asarray(_grown(busy, 2 * settings.surround_gap_px + 1) == 0, np.bool_)
    found: list[Surround | None] = []
    for polygon in things:
        near = _grown(_filled(shape, polygon, scale), 2 * settings.surround_band_px + 1) > 0
        codes = small[near & table]
        if len(codes) < settings.surround_least_px:
            found.append(None)
            continue
        light = srgb_to_linear(codes) @ _LUMINANCE
        logs = np.log(light + np.float32(settings.surround_floor))
        low, high = (float(v) for v in np.percentile(logs, (25, 75)))
        found.append(Surround(float(np.median(light)), high - low))
    return found


def surround_gain(
    piece: Surround | None, reference: Surround | None, settings: BalanceSettings
) -> tuple[float, float]:
    """Compare the light on a piece with that on the card or chart.

    Returns
    -------
    The logarithm of the factor that brings the piece into the reference's light, and the weight it
    deserves, 0 (the table tells nothing) to 1

    Notes
    -----
    The table is taken to be of one brightness on either side. Its own spread says how far that may be
    trusted: grain and print that vary within a band vary between two bands as well.
    """
    if piece is None or reference is None:
        return 0.0, 0.0
    floor = settings.surround_floor
    gain = float(np.log((reference.light + floor) / (piece.light + floor)))
    limit = settings.surround_limit
    spread = max(piece.spread, reference.spread) / settings.surround_spread
    return float(np.clip(gain, -limit, limit)), settings.surround_share / (1.0 + spread**2)
