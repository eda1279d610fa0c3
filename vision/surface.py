"""A straightened piece of surface: what colour, gloss, marks, crazing and crawling are measured on."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.reading import Subject

__all__ = ["BoolMask", "ByteImage", "FloatImage", "Surface", "bounding_box"]

ByteImage = NDArray[np.uint8]
FloatImage = NDArray[np.float32]
BoolMask = NDArray[np.bool_]


def bounding_box(mask: BoolMask, margin_px: int = 0) -> tuple[slice, slice]:
    """Give the rows and columns that hold a mask and a margin round it; one pixel where it is empty."""
    x, y, wide, high = cv2.boundingRect(mask.view(np.uint8))
    left, top = max(0, x - margin_px), max(0, y - margin_px)
    return slice(top, max(1, y + high + margin_px)), slice(left, max(1, x + wide + margin_px))


@dataclass(frozen=True, slots=True, eq=False)
class Surface:
    """One tile, the facing part of a piece of ware, or a patch, at working resolution.

    Attributes
    ----------
    image : (rows, cols, 3) uint8, sRGB, R G B order, colour-corrected where the photo allows it
    lab : (rows, cols, 3) float32, CIELAB D65 of `image`
    piece : (rows, cols) bool, True on the piece itself (tile or ware), False on table and holes
    glazed : (rows, cols) bool, True on glaze, glints included, bare clay excluded
    bare : (rows, cols) bool, True on bare clay of the piece, crawled patches included
    glint : (rows, cols) bool, True where a reflection of a lamp or window covers the colour
    mm_per_px : scale of these arrays, None when the photo carries none
    subject : what the surface is of
    blur_px : estimated standard deviation of the blur, pixels of these arrays
    frame_share : long side of the piece over that of the photo, None where it is not known
    """

    image: ByteImage
    lab: FloatImage
    piece: BoolMask
    glazed: BoolMask
    bare: BoolMask
    glint: BoolMask
    mm_per_px: float | None
    subject: Subject
    blur_px: float
    frame_share: float | None = None
