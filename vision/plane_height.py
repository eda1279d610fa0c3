"""A tile's face lies above the card's plane: the plane through it, by the camera's pose over the card."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vision.reading import PlaneHeight
from vision.settings import TileSettings

__all__ = ["RaisedPlane", "raise_plane"]

Matrix = NDArray[np.float64]

_FILM_DIAGONAL_MM = 43.27
"""Diagonal of a 36 by 24 mm frame, against which EXIF tells the 35 mm equivalent (CIPA DCG-001)."""


@dataclass(frozen=True, slots=True, eq=False)
class RaisedPlane:
    """The plane of tiles' faces: `to_mm` is photo pixels -> its millimetres; `height`: what it rests on."""

    to_mm: Matrix
    height: PlaneHeight


def raise_plane(
    homography: Matrix,
    shape: tuple[int, ...],
    thickness_mm: float | None,
    focal_35mm: float | None,
    settings: TileSettings,
) -> RaisedPlane:
    """Give the plane through the faces of tiles as thick as this, parallel to the card's.

    Parameters
    ----------
    homography : (3, 3) card millimetres -> photo pixels
    shape : (rows, cols, ...) of the photo
    thickness_mm : of the tiles; None for `settings.assumed_thickness_mm`
    focal_35mm : the lens's 35 mm equivalent focal length by EXIF; None for a usual phone's
    settings : what is assumed, and the doubts

    Notes
    -----
    Pinhole camera, square pixels, axis through the frame's middle: with the focal length known, the first two
    columns of K^-1 H are the card's axes and the third its origin, up to one scale (Zhang 2000). The plane of
    the face has its origin moved along the card's normal. `size_doubt` is the share by which lengths may
    still be wrong: the doubt of the thickness over the camera's height, and of that height itself. A cropped
    photo keeps its EXIF but not its middle; then the camera's height is wrong by as much as was cut off.
    """
    rows, cols = shape[:2]
    focal_px = settings.focal_share * max(rows, cols)
    if focal_35mm is not None:
        focal_px = focal_35mm / _FILM_DIAGONAL_MM * float(np.hypot(rows, cols))
    camera = np.array([[focal_px, 0, (cols - 1) / 2], [0, focal_px, (rows - 1) / 2], [0, 0, 1.0]])
    axes = np.linalg.solve(camera, homography)
    axes = axes * 2 / (np.linalg.norm(axes[:, 0]) + np.linalg.norm(axes[:, 1]))
    if axes[2, 2] < 0:
        axes = -axes
    away = np.cross(axes[:, 0], axes[:, 1])
    away = away / np.linalg.norm(away)
    camera_mm = float(away @ axes[:, 2])
    given = thickness_mm is not None
    thickness = settings.assumed_thickness_mm if thickness_mm is None else thickness_mm
    lift = min(thickness, settings.most_nearer * camera_mm)
    raised = axes.copy()
    raised[:, 2] -= lift * away
    doubt_mm = settings.thickness_doubt_mm[0 if given else 1]
    focal_doubt = settings.focal_doubt[0 if focal_35mm is not None else 1]
    doubt = float(np.hypot(doubt_mm / camera_mm, thickness / camera_mm * focal_doubt))
    return RaisedPlane(
        to_mm=np.asarray(np.linalg.inv(camera @ raised), np.float64),
        height=PlaneHeight(thickness, given, camera_mm, focal_35mm is not None, doubt),
    )
