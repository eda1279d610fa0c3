"""Settle a piece's four sides where the photo's edges and the piece net agree best."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.outline import edge_strength, line_scores, meet, sample_profiles
from vision.piece_net import PieceMap
from vision.settings import TileSettings
from vision.surface import ByteImage, FloatImage

__all__ = ["settle_quad"]

Points = NDArray[np.float64]


def _belief(
    face: FloatImage, seen: PieceMap, points: Points, normals: Points, offsets: NDArray[np.float64]
) -> FloatImage:
    """Give how well a border at each offset fits the face chance: (points, offsets), log likelihood.

    Face is to be inside (lower offsets), none outside.
    """
    at = seen.in_map(points[:, None] + normals[:, None] * offsets[:, None]).astype(np.float32)
    chance = cv2.remap(face, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    chance = np.clip(chance, 0.03, 0.97)
    inside, outside = np.log(chance), np.log(1 - chance)
    step = float(offsets[1] - offsets[0]) * seen.scale
    before = np.cumsum(inside, axis=1)
    after = np.cumsum(outside[:, ::-1], axis=1)[:, ::-1]
    return np.asarray((before + after - outside) * step, dtype=np.float32)


def settle_quad(pixels: ByteImage, corners: Points, seen: PieceMap, settings: TileSettings) -> Points:
    """Move each side of a quadrilateral to the best line within reach, then meet the sides again.

    Parameters
    ----------
    pixels : (rows, cols, 3) uint8 sRGB
    corners : (4, 2) clockwise, photo pixels
    seen : `PieceMap` with the piece in it
    settings : `TileSettings`

    Returns
    -------
    (4, 2) corners
    """
    reach = settings.settle_steps / seen.scale
    face = seen.face
    half = settings.settle_samples
    offsets = np.linspace(-reach, reach, 2 * half + 1)
    lines = []
    for k in range(4):
        a, b = corners[k], corners[(k + 1) % 4]
        along = b - a
        length = float(np.hypot(*along))
        if length < 8:
            return corners
        normal = np.array([along[1], -along[0]]) / length
        margin = settings.edge_corner_margin
        points = a + np.linspace(margin, 1 - margin, settings.edge_samples)[:, None] * along
        normals = np.repeat(normal[None, :], len(points), axis=0)
        strength = edge_strength(sample_profiles(pixels, points, normals, offsets), 5, 1.2)
        first, last, edge = line_scores(strength, max(2, half // 4))
        belief = _belief(face, seen, points, normals, offsets)
        belief = belief - belief.max(axis=1, keepdims=True)
        at = np.rint(
            first[:, None] + (last - first)[:, None] * np.linspace(0, 1, len(points))[None, :]
        ).astype(np.intp)
        fits = np.maximum(belief[np.arange(len(points))[None, :], at], -settings.settle_most).mean(axis=1)
        best = int(np.argmax(edge + settings.settle_belief * fits))
        lines.append(
            np.stack([points[0] + normal * offsets[first[best]], points[-1] + normal * offsets[last[best]]])
        )
    moved = np.array([meet(lines[k - 1], lines[k]) for k in range(4)])
    return corners if np.abs(moved - corners).max() > 3 * reach else moved
