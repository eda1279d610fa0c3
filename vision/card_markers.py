"""Marker corners to a fraction of a pixel: the edges of the black square, measured and crossed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.settings import CardSettings

__all__ = ["SeenMarker", "refine_marker"]


@dataclass(frozen=True, slots=True, eq=False)
class SeenMarker:
    """One marker: its id and its (4, 2) corners in photo pixels, clockwise from its own top left."""

    marker_id: int
    corners_px: NDArray[np.float64]

    @property
    def side_px(self) -> float:
        """Mean length of its sides, pixels."""
        return float(np.linalg.norm(self.corners_px - np.roll(self.corners_px, -1, axis=0), axis=1).mean())


def refine_marker(
    grey: NDArray[Any], rough: NDArray[np.float64], rough_px: float, settings: CardSettings
) -> NDArray[np.float64]:
    """Measure a marker's corners at full resolution.

    Along each side, profiles across the edge are read in linear light; the edge is where the profile
    crosses half way between ink and paper. A line is fitted to each side and neighbours are crossed, so
    blur, which rounds corners but not sides, does not move the result.

    Parameters
    ----------
    grey : (rows, cols) uint8, full resolution
    rough : (4, 2) corners from the reduced picture, full-resolution pixels
    rough_px : size of one pixel of the reduced picture, full-resolution pixels
    settings : edge_samples and edge_reach

    Returns
    -------
    (4, 2) float64; the rough corners where an edge cannot be measured.
    """
    nxt = np.roll(rough, -1, axis=0)
    side = np.linalg.norm(nxt - rough, axis=1)
    reach = max(2.5, 1.5 * rough_px + 1.0, settings.edge_reach * float(side.mean()))
    reach = min(reach, float(side.min()) / 6.5)
    if reach < 1.5:
        return rough
    along = np.linspace(0.08, 0.92, settings.edge_samples)
    across = np.arange(-reach, reach + 1e-6, max(0.5, reach / 24.0))
    direction = (nxt - rough) / side[:, None]
    outward = np.stack([direction[:, 1], -direction[:, 0]], axis=1)
    base = rough[:, None, :] + along[None, :, None] * (nxt - rough)[:, None, :]
    points = base[:, :, None, :] + across[None, None, :, None] * outward[:, None, None, :]
    profile = _read(grey, points)
    offset, sure = _half_way(profile, across)
    lines = []
    for i in range(4):
        if int(sure[i].sum()) < settings.edge_samples // 3:
            return rough
        on_edge = base[i][sure[i]] + offset[i][sure[i]][:, None] * outward[i]
        vx, vy, x0, y0 = cv2.fitLine(on_edge.astype(np.float32), cv2.DIST_HUBER, 0, 0.01, 0.01).ravel()
        lines.append((float(vx), float(vy), float(x0), float(y0)))
    refined = np.array([_cross(lines[i - 1], lines[i]) for i in range(4)])
    moved = np.linalg.norm(refined - rough, axis=1)
    if not bool(np.isfinite(refined).all()) or float(moved.max()) > 2.0 * reach:
        return rough
    return refined


def _read(grey: NDArray[Any], points: NDArray[np.float64]) -> NDArray[np.float32]:
    """Read brightness at (x, y) points, bilinear, in about linear light (a square will do for the curve)."""
    low = np.floor(points.reshape(-1, 2).min(axis=0)).astype(int) - 2
    high = np.ceil(points.reshape(-1, 2).max(axis=0)).astype(int) + 3
    x0, y0 = max(0, int(low[0])), max(0, int(low[1]))
    part = grey[y0 : max(y0 + 1, int(high[1])), x0 : max(x0 + 1, int(high[0]))]
    if part.size == 0:
        return np.zeros(points.shape[:-1], dtype=np.float32)
    flat = (points.reshape(points.shape[0], -1, 2) - (x0, y0)).astype(np.float32)
    linear = (part.astype(np.float32) / np.float32(255)) ** 2
    values = cv2.remap(linear, flat[..., 0], flat[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(values.reshape(points.shape[:-1]), dtype=np.float32)


def _half_way(
    profile: NDArray[np.float32], across: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Find where each profile (last axis, ink to paper) first crosses half way; False where it does not."""
    third = max(1, profile.shape[-1] // 4)
    ink = np.median(profile[..., :third], axis=-1)
    paper = np.median(profile[..., -third:], axis=-1)
    level = (ink + paper) / 2
    above = profile > level[..., None]
    above[..., 0] = False
    at = np.argmax(above, axis=-1)
    sure = above.any(axis=-1) & (paper > 1.3 * ink + 1e-4)
    at = np.maximum(at, 1)
    before = np.take_along_axis(profile, (at - 1)[..., None], axis=-1)[..., 0]
    after = np.take_along_axis(profile, at[..., None], axis=-1)[..., 0]
    part = np.clip((level - before) / np.maximum(after - before, 1e-6), 0.0, 1.0)
    step = across[1] - across[0]
    return across[0] + step * (at - 1 + part), np.asarray(sure, dtype=np.bool_)


def _cross(
    one: tuple[float, float, float, float], two: tuple[float, float, float, float]
) -> tuple[float, float]:
    """Cross two lines given as direction and point; infinite where they are parallel."""
    vx, vy, x, y = one
    ux, uy, p, q = two
    cross = vx * uy - vy * ux
    if abs(cross) < 1e-6:
        return (float("inf"), float("inf"))
    t = ((p - x) * uy - (q - y) * ux) / cross
    return (x + t * vx, y + t * vy)
