"""Where the camera hangs over the table, and how much nearer to it a tile's face is than the table."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vision.card import FoundCard
from vision.settings import TileSettings

__all__ = ["Pose", "pose_of"]


@dataclass(frozen=True, slots=True, eq=False)
class Pose:
    """The camera over the table.

    Attributes
    ----------
    nadir_px : (2,) the point of the photo straight below the camera, in photo pixels; may lie outside
    rise : thickness of a tile over the camera's height: its face looks this share larger than its foot
    """

    nadir_px: NDArray[np.float64]
    rise: float


def pose_of(card: FoundCard | None, shape: tuple[int, ...], settings: TileSettings) -> Pose:
    """Estimate the pose from the card, or take a photo from straight above without one.

    Parameters
    ----------
    card : the reference card, if found
    shape : (rows, cols, ...) of the photo

    Returns
    -------
    The pose. The focal length and the tile's thickness are assumed (`settings.focal_share`,
    `settings.assumed_thickness_mm`).
    """
    rows, cols = shape[:2]
    centre = np.array([(cols - 1) / 2, (rows - 1) / 2])
    if card is None:
        return Pose(centre, settings.usual_rise)
    focal = settings.focal_share * max(rows, cols)
    # the point below the camera is the pole of the plane's vanishing line (Hartley & Zisserman, 8.6)
    shift = np.array([[1, 0, -centre[0]], [0, 1, -centre[1]], [0, 0, 1.0]])
    line = np.linalg.inv(shift @ card.homography).T @ np.array([0.0, 0.0, 1.0])
    if abs(line[2]) < 1e-12:
        return Pose(centre, settings.usual_rise)
    away = focal**2 * line[:2] / line[2]
    most = 1.5 * focal
    if np.hypot(*away) > most:
        away = away / np.hypot(*away) * most
    height_mm = focal * card.local_mm_per_px(*centre)
    rise = min(settings.assumed_thickness_mm / max(height_mm, 1.0), settings.most_nearer)
    return Pose(centre + away, rise)
