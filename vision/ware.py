"""Ware: the part of a round pot that faces the camera."""

from __future__ import annotations

import cv2
import numpy as np

from vision.settings import TileSettings
from vision.surface import BoolMask

__all__ = ["facing_part"]


def facing_part(silhouette: BoolMask, settings: TileSettings) -> BoolMask:
    """Leave out the rim of a silhouette, where a round pot's surface turns away from the camera."""
    padded = np.pad(silhouette.astype(np.uint8), 1)
    depth = cv2.distanceTransform(padded, cv2.DIST_L2, 3)[1:-1, 1:-1]
    return np.asarray(depth > settings.rim_fraction * float(depth.max()), dtype=np.bool_)
