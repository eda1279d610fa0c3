"""How round a four-sided tile's corners are: one radius for all, read where the sides' edge goes on."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.settings import TileSettings
from vision.surface import ByteImage, FloatImage

__all__ = ["corner_radius", "rounded"]

Points = NDArray[np.float64]

_ANGLES = np.radians(np.linspace(15, 75, 9))
_CORNERS = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])


def _to_photo(corners: Points) -> tuple[Points, float, float]:
    """Give the homography from an upright rectangle to a quadrilateral, and its size, pixels."""
    edges = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    wide, high = float(edges[0] + edges[2]) / 2, float(edges[1] + edges[3]) / 2
    there = cv2.getPerspectiveTransform(
        (_CORNERS * (wide, high)).astype(np.float32), corners.astype(np.float32)
    )
    return np.asarray(there, np.float64), wide, high


def _arcs(radii: NDArray[np.float64], angles: NDArray[np.float64], wide: float, high: float) -> Points:
    """Give points on quarter circles in the corners: (4, angles, radii, 2), clockwise with the corners."""
    x = radii[None, :] * (1 - np.cos(angles))[:, None]
    y = radii[None, :] * (1 - np.sin(angles))[:, None]
    near = np.stack([x, y], axis=-1)
    size = np.array([wide, high])
    return np.stack([np.where(corner > 0, size - near, near) for corner in _CORNERS])


def _lab_at(pixels: ByteImage, there: Points, points: Points) -> FloatImage:
    place = cv2.perspectiveTransform(points.reshape(1, -1, 2), there)[0].astype(np.float32)
    low = np.maximum(np.floor(place.min(axis=0)).astype(int) - 2, 0)
    crop = pixels[low[1] : int(place[:, 1].max()) + 3, low[0] : int(place[:, 0].max()) + 3]
    if min(crop.shape[:2]) < 2:
        return np.zeros((*points.shape[:-1], 3), np.float32)
    flat = (place - low).reshape(-1, points.shape[-2], 2).astype(np.float32)
    seen = cv2.remap(crop, flat[..., 0], flat[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    lab = cv2.cvtColor(seen.astype(np.float32) / np.float32(255), cv2.COLOR_RGB2LAB)
    return np.asarray(lab.reshape(*points.shape[:-1], 3), np.float32)


def corner_radius(pixels: ByteImage, corners: Points, settings: TileSettings) -> float:
    """Measure the corners' radius, photo pixels; 0 where they are sharp or it cannot be told.

    Parameters
    ----------
    pixels : (rows, cols, 3) uint8 sRGB
    corners : (4, 2) where the straight sides meet, clockwise from the top left
    settings : `TileSettings`

    Notes
    -----
    Along each of some directions into a corner the colour is compared a little before and a little behind
    every place where a rounded corner of some radius would end. The radius with the most change along its
    whole arc, in most corners, is taken if that change is like the change across the sides.
    """
    there, wide, high = _to_photo(corners)
    short = min(wide, high)
    radii = np.linspace(0, settings.corner_most, settings.corner_steps) * short
    across = settings.corner_across * float(np.sqrt(wide * high))
    lab = _lab_at(pixels, there, _arcs(radii, _ANGLES, wide, high))
    # how far the arc moves for a step in radius, at each angle
    move = np.hypot(1 - np.cos(_ANGLES), 1 - np.sin(_ANGLES)) * (radii[1] - radii[0])
    change = np.zeros(lab.shape[:-1], np.float32)
    for k, far in enumerate(move):
        half = max(1, round(across / far))
        if len(radii) > 2 * half:
            apart = lab[:, k, 2 * half :] - lab[:, k, : -2 * half]
            change[:, k, half:-half] = np.linalg.norm(apart, axis=-1)
    t = np.linspace(0.2, 0.8, 13)
    gaps = np.array([-across, across])
    top = np.stack(np.broadcast_arrays(t[:, None] * wide, gaps), axis=-1)
    left = np.stack(np.broadcast_arrays(gaps, t[:, None] * high), axis=-1)
    sides = np.stack([top, left, top + np.array([0, high]), left + np.array([wide, 0])])
    step = _lab_at(pixels, there, sides)
    usual = float(np.median(np.linalg.norm(step[:, :, 1] - step[:, :, 0], axis=-1)))
    under = np.minimum(change / max(usual, 1.0), 1.0).mean(axis=1)
    score = np.sort(under, axis=0)[1:].mean(axis=0)  # a label or a hole may spoil one corner
    best = int(np.argmax(score))
    least = settings.corner_least * short
    return float(radii[best]) if score[best] >= settings.corner_change and radii[best] >= least else 0.0


def rounded(corners: Points, radius_px: float) -> Points:
    """Give the outline of a four-sided tile with round corners: (n, 2), clockwise; its corners where sharp.

    Parameters
    ----------
    corners : (4, 2) where the straight sides meet, clockwise
    radius_px : photo pixels
    """
    if radius_px <= 0:
        return corners
    there, wide, high = _to_photo(corners)
    angles = np.radians(np.linspace(0, 90, 13))
    arcs = _arcs(np.array([radius_px]), angles, wide, high)[:, :, 0]
    arcs[1::2] = arcs[1::2, ::-1]
    return np.asarray(cv2.perspectiveTransform(arcs.reshape(1, -1, 2), there)[0], np.float64)
