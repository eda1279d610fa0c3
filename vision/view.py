"""Straighten a piece: cut it out of the photo, upright, at a known scale, with its mask."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.outline import polygon_mask
from vision.reading import Subject
from vision.settings import TileSettings
from vision.surface import BoolMask, ByteImage
from vision.tiles import Piece
from vision.ware import facing_part

__all__ = ["StraightView", "straighten"]

Matrix = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class StraightView:
    """A piece cut out and straightened, colours as in the photo.

    Attributes
    ----------
    image : (rows, cols, 3) uint8 sRGB
    piece : (rows, cols) bool, True on the piece (on ware: the part facing the camera)
    to_photo : (3, 3) homography from view pixels to photo pixels
    mm_per_px : scale of the view, None without one
    width_mm, height_mm : size of a tile, None without scale
    shrink : view pixels per photo pixel, at most about 1
    scale_approximate : True when the scale is the card's plane's but the surface is not in it
    """

    image: ByteImage
    piece: BoolMask
    to_photo: Matrix
    mm_per_px: float | None
    width_mm: float | None
    height_mm: float | None
    shrink: float
    scale_approximate: bool


def _sides(corners: Matrix) -> tuple[float, float]:
    edges = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    return float((edges[0] + edges[2]) / 2), float((edges[1] + edges[3]) / 2)


def _limit(width: float, height: float, settings: TileSettings) -> float:
    by_side = settings.view_long_side_px / max(width, height)
    by_area = float(np.sqrt(settings.view_megapixels * 1e6 / (width * height)))
    return min(1.0, by_side, by_area)


def straighten(
    pixels: ByteImage, piece: Piece, px_to_mm: Matrix | None, settings: TileSettings
) -> StraightView:
    """Cut a piece out of the photo.

    Parameters
    ----------
    pixels : (rows, cols, 3) uint8 sRGB
    piece : what and where
    px_to_mm : (3, 3) homography, photo pixels to millimetres, of the plane a tile's face lies in (see
        `vision.plane_height`) or of the card's; None without a card
    settings : `TileSettings`

    Returns
    -------
    The view. A tile is brought to a rectangle; ware and patches are cut out as they are.
    """
    corners = np.asarray(piece.frame_px, dtype=np.float64)
    width, height = _sides(corners)
    width_mm = height_mm = mm_per_px = None
    if px_to_mm is not None:
        on_plane = cv2.perspectiveTransform(corners.reshape(1, -1, 2), px_to_mm)[0]
        wide, high = _sides(on_plane)
        if piece.subject is Subject.TILE:
            width_mm, height_mm = wide, high
            area_px = width * height
            width = float(np.sqrt(area_px * wide / high))
            height = float(np.sqrt(area_px * high / wide))
        mm_per_px = float(np.sqrt(wide * high / (width * height)))
    shrink = _limit(width, height, settings)
    cols, rows = max(8, round(width * shrink)), max(8, round(height * shrink))
    if mm_per_px is not None:
        mm_per_px *= float(np.sqrt(width * height / (cols * rows)))
    target = np.array([[-0.5, -0.5], [cols - 0.5, -0.5], [cols - 0.5, rows - 0.5], [-0.5, rows - 0.5]])
    to_view = cv2.getPerspectiveTransform(corners.astype(np.float32), target.astype(np.float32))
    left = int(np.clip(np.floor(corners[:, 0].min()) - 2, 0, pixels.shape[1] - 2))
    top = int(np.clip(np.floor(corners[:, 1].min()) - 2, 0, pixels.shape[0] - 2))
    right = int(np.clip(np.ceil(corners[:, 0].max()) + 3, left + 2, pixels.shape[1]))
    low = int(np.clip(np.ceil(corners[:, 1].max()) + 3, top + 2, pixels.shape[0]))
    crop = pixels[top:low, left:right]
    shift = np.array([[1.0, 0, left], [0, 1.0, top], [0, 0, 1.0]])
    warp = to_view.astype(np.float64) @ shift
    if shrink < 0.7:
        # warpPerspective alone would skip pixels; shrink by area first
        size = (max(2, round(crop.shape[1] * shrink)), max(2, round(crop.shape[0] * shrink)))
        fx, fy = size[0] / crop.shape[1], size[1] / crop.shape[0]
        crop = cv2.resize(crop, size, interpolation=cv2.INTER_AREA)
        warp = warp @ np.array([[1 / fx, 0, 0.5 / fx - 0.5], [0, 1 / fy, 0.5 / fy - 0.5], [0, 0, 1.0]])
    image = cv2.warpPerspective(
        crop, warp, (cols, rows), flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    outline = cv2.perspectiveTransform(
        np.asarray(piece.outline_px).reshape(1, -1, 2), to_view.astype(np.float64)
    )[0]
    mask = polygon_mask(outline, (rows, cols))
    if piece.subject is Subject.WARE:
        mask = facing_part(mask, settings)
    return StraightView(
        image=image,
        piece=mask,
        to_photo=np.linalg.inv(to_view.astype(np.float64)),
        mm_per_px=mm_per_px,
        width_mm=width_mm,
        height_mm=height_mm,
        shrink=shrink,
        scale_approximate=mm_per_px is not None and piece.subject is Subject.WARE,
    )
