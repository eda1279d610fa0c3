"""A tile part of which looks like the table: its sides run on beyond what was found, to a further end."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.settings import TileSettings
from vision.surface import FloatImage

__all__ = ["extend_quad"]

Points = NDArray[np.float64]


def _strength(edges: FloatImage, points: Points, settings: TileSettings) -> FloatImage:
    found = cv2.remap(
        edges,
        points[..., 0].astype(np.float32),
        points[..., 1].astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_CONSTANT,
    )
    return np.asarray(np.minimum(found / np.float32(settings.faint_edge), 1.0), np.float32)


def _unbroken(values: FloatImage, window: int) -> FloatImage:
    """Give, for each length, the weakest stretch of `window` on the way: gaps between tiles break sides."""
    if len(values) < window:
        return np.zeros(len(values), np.float32)
    sums = np.concatenate([[0.0], np.cumsum(values)])
    means = (sums[window:] - sums[:-window]) / window
    weakest = np.minimum.accumulate(means)
    return np.concatenate([np.full(window - 1, weakest[0]), weakest]).astype(np.float32)


def _beyond(
    quad: Points, side: int, edges: FloatImage, settings: TileSettings
) -> tuple[Points, Points, float] | None:
    """Look beyond one side for an end that its neighbours run on to; gives its corners and strength."""
    a, b = quad[side], quad[(side + 1) % 4]
    c, d = quad[(side + 2) % 4], quad[(side + 3) % 4]
    left, right = a - d, b - c
    depth = 0.5 * float(np.hypot(*left) + np.hypot(*right))
    if min(float(np.hypot(*left)), float(np.hypot(*right)), float(np.hypot(*(b - a)))) < 8:
        return None
    left, right = left / np.hypot(*left), right / np.hypot(*right)
    reach = np.arange(2.0, max(4.0, min(settings.extend_reach * depth, 0.6 * max(edges.shape))))
    sides = []
    for start, way in ((a, left), (b, right)):
        at = start + reach[:, None] * way
        normal = np.array([-way[1], way[0]])
        beside = np.stack([_strength(edges, at + s * normal, settings) for s in (-1.0, 0.0, 1.0)])
        sides.append(_unbroken(beside.max(axis=0).ravel(), settings.extend_window))
    both = np.minimum(sides[0], sides[1])
    t = np.linspace(0.06, 0.94, 40)
    slant = np.arange(-3.0, 4.0)
    from_a = a + reach[:, None] * left
    to_b = b + (reach[:, None, None] + slant[None, :, None]) * right
    places = from_a[:, None, None] + t[None, None, :, None] * (to_b[:, :, None] - from_a[:, None, None])
    across = _strength(edges, places.reshape(-1, len(t), 2), settings).mean(axis=1).reshape(len(reach), -1)
    best = across.max(axis=1)
    fine = (
        (best >= settings.extend_end)
        & (both >= settings.extend_sides)
        & (reach >= max(settings.extend_least, 0.06 * depth))
    )
    if not fine.any():
        return None
    k = int(np.argmax(np.where(fine, best + both, -1.0)))
    s = slant[int(np.argmax(across[k]))]
    return from_a[k], b + (reach[k] + s) * right, float(min(best[k], both[k]))


def extend_quad(
    quad: Points, edges: FloatImage, lab: FloatImage, unshaded: FloatImage, settings: TileSettings
) -> Points:
    """Let a quadrilateral grow to a further end where its own sides run on to one.

    Parameters
    ----------
    quad : (4, 2) corners clockwise, finding pixels
    edges : (rows, cols) float32 from `vision.seeds.edge_map`
    lab : (rows, cols, 3) float32 CIELAB of the shrunken photo
    unshaded : (rows, cols) float32, under 1 where a shadow on the table would look the same

    Returns
    -------
    (4, 2) corners; the same ones when no side has an end beyond it, or only a shadow's.
    """
    busy = float(np.percentile(edges[unshaded < 1.0], 85)) if (unshaded < 1.0).any() else 0.0
    edges = edges * np.float32(min(1.0, settings.faint_edge / max(settings.extend_over_table * busy, 1e-3)))
    best: tuple[float, int, Points, Points] | None = None
    for side in range(4):
        found = _beyond(quad, side, edges, settings)
        if found is None:
            continue
        first, last, strength = found
        added = np.array([first, last, quad[(side + 1) % 4], quad[side]])
        mask = np.zeros(edges.shape, np.uint8)
        cv2.fillPoly(mask, [np.rint(added).astype(np.int32)], 1)
        inside = cv2.erode(mask, np.ones((3, 3), np.uint8)) > 0
        if not inside.any():
            continue
        wide = cv2.dilate(mask, np.ones((13, 13), np.uint8)) > 0
        around = wide & (cv2.dilate(mask, np.ones((7, 7), np.uint8)) == 0)
        cv2.fillPoly(mask, [np.rint(quad).astype(np.int32)], 1)
        around &= mask == 0
        if not around.any():
            continue
        off = np.median(lab[inside], axis=0) - np.median(lab[around], axis=0)
        if float(np.linalg.norm(off)) < settings.extend_contrast:
            continue
        darker = -float(off[0])
        if darker > settings.shadow_darker and float(np.median(unshaded[inside])) < 1.0:
            continue
        if best is None or strength > best[0]:
            best = (strength, side, first, last)
    if best is None:
        return quad
    _, side, first, last = best
    grown = quad.copy()
    grown[side], grown[(side + 1) % 4] = first, last
    return grown
