"""A tile seen from the side shows its wall: the outline steps up from its foot to the edge of the face."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from vision.outline import edge_strength, line_scores, meet, sample_profiles
from vision.pose import Pose
from vision.settings import TileSettings
from vision.surface import ByteImage

__all__ = ["step_up_walls"]

Points = NDArray[np.float64]


def step_up_walls(pixels: ByteImage, corners: Points, pose: Pose, settings: TileSettings) -> Points:
    """Move the sides that face the point below the camera from the wall's foot to the edge of the face.

    Parameters
    ----------
    pixels : (rows, cols, 3) uint8 sRGB
    corners : (4, 2) clockwise
    pose : of the camera

    Returns
    -------
    (4, 2) corners. A side is moved only where a second edge lies about as far inside it as a wall is high.
    """
    lines = []
    for k in range(4):
        a, b = corners[k], corners[(k + 1) % 4]
        along = b - a
        length = float(np.hypot(*along))
        lines.append(np.stack([a, b]))
        if length < 8:
            continue
        normal = np.array([along[1], -along[0]]) / length
        wall = float((pose.nadir_px - (a + b) / 2) @ normal) * pose.rise
        if wall < settings.wall_least_px:
            continue
        t = np.linspace(settings.edge_corner_margin, 1 - settings.edge_corner_margin, settings.edge_samples)
        points = a + t[:, None] * along
        steps = 2 * round(settings.wall_reach * 8) + 1
        offsets = np.linspace(-settings.wall_reach, settings.wall_reach, steps) * wall
        normals = np.repeat(normal[None, :], len(points), axis=0)
        strength = edge_strength(sample_profiles(pixels, points, normals, offsets), 5, 1.0)
        first, last, score = line_scores(strength, 3)
        place = (offsets[first] + offsets[last]) / (2 * wall)
        low, high = settings.wall_window
        here = float(score[np.abs(place) <= low * 0.7].max())
        inner = np.flatnonzero((place <= -low) & (place >= -high))
        if inner.size == 0 or here <= 0:
            continue
        best = inner[int(np.argmax(score[inner]))]
        if float(score[best]) >= settings.wall_edge * here:
            o0, o1 = offsets[first[best]], offsets[last[best]]
            lines[-1] = np.stack([points[0] + normal * o0, points[-1] + normal * o1])
    return np.array([meet(lines[k - 1], lines[k]) for k in range(4)])
