"""A side that runs along the soft edge of a cast shadow is pulled in to the sharp edge of the tile."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.outline import meet
from vision.settings import TileSettings
from vision.surface import FloatImage

__all__ = ["leave_shadow"]

Points = NDArray[np.float64]


def _sample(field: FloatImage, points: NDArray[np.float64]) -> FloatImage:
    return np.asarray(
        cv2.remap(
            field,
            points[..., 0].astype(np.float32),
            points[..., 1].astype(np.float32),
            cv2.INTER_LINEAR,
            borderMode=cv2.BORDER_REPLICATE,
        ),
        np.float32,
    )


def leave_shadow(
    quad: Points, edges: FloatImage, lab: FloatImage, unshaded: FloatImage, settings: TileSettings
) -> Points:
    """Pull soft sides of a quadrilateral inwards to a sharp edge, if what lies between is in shadow.

    Parameters
    ----------
    quad : (4, 2) corners clockwise, finding pixels
    edges : (rows, cols) float32 from `vision.seeds.edge_map`
    lab : (rows, cols, 3) float32 CIELAB of the shrunken photo
    unshaded : (rows, cols) float32, under 1 where a shadow on the table would look the same

    Returns
    -------
    (4, 2) corners; a side stays where it is when it is sharp, or when no sharp edge lies inside it.
    """
    lightness = np.ascontiguousarray(lab[..., 0])
    lines = []
    for k in range(4):
        a, b = quad[k], quad[(k + 1) % 4]
        c, d = quad[(k + 2) % 4], quad[(k + 3) % 4]
        depth = 0.5 * float(np.hypot(*(d - a)) + np.hypot(*(c - b)))
        along = b - a
        length = float(np.hypot(*along))
        if length < 8 or depth < 8:
            return quad
        inward = np.array([-along[1], along[0]]) / length
        steps = np.arange(-2.0, settings.shadow_reach * depth)
        t = np.linspace(0.08, 0.92, 48)
        places = a + t[:, None, None] * along + steps[None, :, None] * inward
        strength = np.minimum(_sample(edges, places) / settings.sharp_edge, 1.0)
        first, last, score = _outermost(strength, settings)
        here = float(strength[:, :5].max(axis=1).mean())
        if first is None or last is None or here >= settings.sharp_side or score < here * 1.3:
            lines.append(np.stack([a, b]))
            continue
        between = np.arange(3, max(4, int(min(first, last)) - 2))
        outside = _sample(
            lightness, a + t[:, None, None] * along + np.array([-6.0, -4.0])[None, :, None] * inward
        )
        band = _sample(lightness, places[:, between])
        shaded = float(np.median(_sample(unshaded, places[:, between]))) < 1.0
        if not shaded and here > settings.soft_side:
            lines.append(np.stack([a, b]))
            continue
        if float(np.median(band)) > float(np.median(outside)) - settings.shadow_darker:
            lines.append(np.stack([a, b]))
            continue
        ends = np.array([steps[int(first)], steps[int(last)]])
        slope = (ends[1] - ends[0]) / (t[-1] - t[0])
        at_a, at_b = ends[0] - slope * t[0], ends[0] + slope * (1 - t[0])
        lines.append(np.stack([a + inward * at_a, b + inward * at_b]))
    return np.array([meet(lines[k - 1], lines[k]) for k in range(4)])


def _outermost(strength: FloatImage, settings: TileSettings) -> tuple[int | None, int | None, float]:
    """Find the outermost line across the samples that is sharp nearly all along; its ends and its score."""
    count, steps = strength.shape
    slant = max(2, round(0.06 * count))
    begin = np.repeat(np.arange(steps), 2 * slant + 1)
    end = begin + np.tile(np.arange(-slant, slant + 1), steps)
    good = (end >= 0) & (end < steps)
    begin, end = begin[good], end[good]
    t = np.linspace(0, 1, count)
    at = np.rint(begin[:, None] + (end - begin)[:, None] * t[None, :]).astype(np.intp)
    score = strength[np.arange(count)[None, :], at].mean(axis=1)
    fine = np.flatnonzero(score >= settings.sharp_side)
    if fine.size == 0:
        return None, None, 0.0
    middle = (begin[fine] + end[fine]) / 2
    near = fine[middle <= middle.min() + 3]
    best = int(near[np.argmax(score[near])])
    return int(begin[best]), int(end[best]), float(score[best])
