"""Do two photos show the same pieces, unmoved, under two lights? Quick, so that a pair can be proposed."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.settings import TwoLampSettings
from vision.surface import ByteImage
from vision.two_lamps_align import guess_places, lay_over, shared_detail

__all__ = ["likely_pair"]

Box = tuple[float, float, float, float]

_PHOTO_PX = 1600
_LEAST_PX = 64
_VIEW_PX = 360
_BLOCKS = (8, 6)
_MOST_PIECES = 4


def likely_pair(first: ByteImage, second: ByteImage, boxes: Sequence[Box], settings: TwoLampSettings) -> bool:
    """Tell whether two photos are likely of the same pieces, lit from two sides.

    Parameters
    ----------
    first, second : (rows, cols, 3) uint8 sRGB
    boxes : left, top, right, bottom of the pieces in pixels of the first; four at most are looked at
    settings : `proposed_share`, `proposed_light`, and those of `lay_over`

    Returns
    -------
    True where on half of the pieces or more detail lies in the same places and the light falls off another
    way. Plain pieces bear too little detail to be told and give False, and so do two shots under one light.
    """
    scale = min(1.0, _PHOTO_PX / max(first.shape[:2]))
    first, second = (_shrunk(photo, scale) for photo in (first, second))
    scaled = [(left * scale, top * scale, right * scale, low * scale) for left, top, right, low in boxes]
    large = [box for box in scaled if min(box[2] - box[0], box[3] - box[1]) >= _LEAST_PX][:_MOST_PIECES]
    if not large:
        return False
    guesses = guess_places(first, second, None, None, settings)
    alike = 0
    for box in large:
        to_photo, size = _inside(box)
        here = np.asarray(cv2.warpPerspective(first, to_photo, size, flags=_BACK), np.uint8)
        whole = np.ones(here.shape[:2], np.bool_)
        laid = lay_over(first, second, to_photo, whole, guesses, settings)
        alike += (
            laid is not None
            and laid.alike >= settings.least_alike
            and shared_detail(here, laid.image, _BLOCKS, settings) >= settings.proposed_share
            and _light_apart(here, laid.image) >= settings.proposed_light
        )
    return 2 * alike >= len(large)


def _shrunk(photo: ByteImage, scale: float) -> ByteImage:
    if scale == 1.0:
        return photo
    return np.asarray(cv2.resize(photo, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA), np.uint8)


_BACK = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP


def _inside(box: Box) -> tuple[NDArray[np.float64], tuple[int, int]]:
    """Give the way from a view of a box's inner part to the photo, and the view's width and height."""
    left, top, right, bottom = box
    inset_x, inset_y = (right - left) / 12, (bottom - top) / 12
    wide, high = right - left - 2 * inset_x, bottom - top - 2 * inset_y
    scale = min(1.0, _VIEW_PX / max(wide, high))
    size = (round(wide * scale), round(high * scale))
    to_photo = np.array(
        [[wide / size[0], 0, left + inset_x], [0, high / size[1], top + inset_y], [0, 0, 1.0]]
    )
    return to_photo, size


def _light_apart(first: ByteImage, second: ByteImage) -> float:
    """Give the spread of the natural log of how much one picture outshines the other, broadly seen."""
    broad = [
        np.log(
            cv2.resize(cv2.cvtColor(image, cv2.COLOR_RGB2GRAY), (8, 8), interpolation=cv2.INTER_AREA) + 8.0
        )
        for image in (first, second)
    ]
    inner = (broad[0] - broad[1])[1:-1, 1:-1]
    return float(np.subtract(*np.percentile(inner, (90, 10))))
