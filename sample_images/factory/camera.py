"""The pinhole camera of a render: pose, focal length, and where a point of the world lands in the photo.

World: millimetres, table at z = 0, x to the right, y away from the photographer, z up.
Photo pixels: the centre of the top left pixel is (0, 0), x right, y down (OpenCV's convention).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["Camera"]


@dataclass(frozen=True, slots=True, eq=False)
class Camera:
    """A camera.

    Attributes
    ----------
    position : (3,) mm
    target : (3,) mm, the point in the middle of the photo
    roll_deg : turn about the line of sight
    fov_deg : field of view across the photo's width
    width_px, height_px : size of the photo
    """

    position: NDArray[np.float64]
    target: NDArray[np.float64]
    roll_deg: float
    fov_deg: float
    width_px: int
    height_px: int

    @property
    def focal_px(self) -> float:
        """Focal length in pixels."""
        return float(self.width_px / 2 / np.tan(np.radians(self.fov_deg) / 2))

    @property
    def centre_mm_per_px(self) -> float:
        """Millimetres per pixel across the line of sight at the target."""
        return float(np.linalg.norm(self.position - self.target) / self.focal_px)

    def mirrored_gaze(self) -> NDArray[np.float64]:
        """Give the unit direction in which the line of sight leaves a level mirror."""
        gaze = (self.target - self.position) * np.array([1.0, 1.0, -1.0])
        return np.asarray(gaze / np.linalg.norm(gaze))

    def axes(self) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
        """Give the unit vectors to the right, up and forward, in the world."""
        forward = self.target - self.position
        forward = forward / np.linalg.norm(forward)
        # Looking down, the photo's top is the far side of the bench; looking across, it is up.
        above = np.array([0.0, 1.0, 0.0]) if forward[2] < -0.82 else np.array([0.0, 0.0, 1.0])
        right = np.cross(forward, above)
        right = right / np.linalg.norm(right)
        up = np.cross(right, forward)
        turn = np.radians(self.roll_deg)
        return (
            np.cos(turn) * right + np.sin(turn) * up,
            np.cos(turn) * up - np.sin(turn) * right,
            forward,
        )

    def project(self, points: ArrayLike) -> NDArray[np.float64]:
        """Project (..., 3) world points to (..., 2) photo pixels."""
        right, up, forward = self.axes()
        away = np.asarray(points, dtype=np.float64) - self.position
        depth = away @ forward
        x = self.width_px / 2 + self.focal_px * (away @ right) / depth
        y = self.height_px / 2 - self.focal_px * (away @ up) / depth
        return np.stack([x - 0.5, y - 0.5], axis=-1)

    def rays(self) -> NDArray[np.float32]:
        """Give the unit direction through each pixel's centre: (rows, cols, 3) float32."""
        right, up, forward = self.axes()
        x = ((np.arange(self.width_px) + 0.5 - self.width_px / 2) / self.focal_px).astype(np.float32)
        y = ((np.arange(self.height_px) + 0.5 - self.height_px / 2) / self.focal_px).astype(np.float32)
        length = np.sqrt(1 + x[None, :] ** 2 + y[:, None] ** 2)[..., None]
        axes = [axis.astype(np.float32) for axis in (forward, right, up)]
        return np.asarray((axes[0] + x[None, :, None] * axes[1] - y[:, None, None] * axes[2]) / length)
