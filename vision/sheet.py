"""A sheet of paper under a card, a chart or a label is no piece, nor is a part of it."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.outline import polygon_mask
from vision.reduced import shrink_picture
from vision.settings import TileSettings
from vision.surface import BoolMask, ByteImage

__all__ = ["carries_laid", "is_sheet"]

Points = NDArray[np.float64]

_SIDE_PX = 400
"""Long side of the picture in which colours are compared: paper has no detail to lose."""
_WEIGHTS = np.array([0.4, 1.0, 1.0], np.float32)
"""L* counts less than a* and b*: light falls off over a sheet, its tint stays."""


def carries_laid(outline_px: Points, laid: Sequence[Points], settings: TileSettings) -> bool:
    """Tell whether a card, chart or label lies on what an outline encloses: then it is what they lie on.

    Parameters
    ----------
    outline_px : (n, 2) photo pixels
    laid : (n, 2) each, convex outlines of card, chart and labels
    settings : `TileSettings`
    """
    for polygon in laid:
        middle = polygon.mean(axis=0)
        grid = [middle + share * (polygon - middle) for share in (0.0, 0.35, 0.7)]
        places = np.vstack([np.atleast_2d(ring) for ring in grid]).astype(np.float32)
        outline = outline_px.astype(np.float32)
        on = [cv2.pointPolygonTest(outline, (float(x), float(y)), False) > 0 for x, y in places]
        if float(np.mean(on)) > settings.sheet_carries:
            return True
    return False


def is_sheet(
    pixels: ByteImage, outline_px: Points, support: float, laid: Sequence[Points], settings: TileSettings
) -> bool:
    """Tell whether a part without sides of its own is a part of the paper that card or chart lie on.

    Parameters
    ----------
    pixels : (rows, cols, 3) uint8 sRGB
    outline_px : (n, 2) of the part, photo pixels
    support : mean chance, 0..1, that it is a piece's face
    laid : (n, 2) each, outlines of card, chart and labels
    settings : `TileSettings`

    Returns
    -------
    True where it is light, hardly coloured and unsure, and the ground around what is laid has its colour
    """
    if support >= settings.sheet_support or not laid:
        return False
    scale = min(1.0, _SIDE_PX / max(pixels.shape[:2]))
    shape = (max(1, round(pixels.shape[0] * scale)), max(1, round(pixels.shape[1] * scale)))
    small = shrink_picture(pixels, shape[::-1])
    lab = cv2.cvtColor(small.astype(np.float32) / np.float32(255), cv2.COLOR_RGB2LAB)
    part = polygon_mask(outline_px * scale, shape)
    around = _around([polygon * scale for polygon in laid], shape, settings) & ~part
    if not part.any() or not around.any():
        return False
    own = np.median(lab[part], axis=0)
    light = own[0] > settings.sheet_lightness and float(np.hypot(*own[1:])) < settings.sheet_chroma
    apart = np.linalg.norm((lab[around] - own) * _WEIGHTS, axis=1)
    return bool(light and float((apart < settings.sheet_alike).mean()) > settings.sheet_share)


def _around(laid: Sequence[Points], shape: tuple[int, int], settings: TileSettings) -> BoolMask:
    """Mark a band round polygons, (rows, cols)."""
    on = np.zeros(shape, np.uint8)
    for polygon in laid:
        on |= polygon_mask(polygon, shape).astype(np.uint8)
    width = 2 * max(1, round(settings.sheet_band * max(shape))) + 1
    return np.asarray((cv2.dilate(on, np.ones((width, width), np.uint8)) > 0) & (on == 0), np.bool_)
