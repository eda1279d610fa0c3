"""Do two straightened pictures show one piece under two lights? Quick, so that a pair can be proposed."""

from __future__ import annotations

import cv2
import numpy as np

from vision.settings import TwoLampSettings
from vision.surface import ByteImage
from vision.two_lamps_align import Guesses, lay_over, shared_detail

__all__ = ["likely_pair"]

_LEAST_PX = 64
_BLOCKS = (8, 6)


def likely_pair(first: ByteImage, second: ByteImage, settings: TwoLampSettings) -> bool:
    """Tell whether two views are likely of one piece, lit from two sides.

    Parameters
    ----------
    first, second : (rows, cols, 3) uint8 sRGB, straightened, each from its own photo
    settings : `proposed_share`, `proposed_light`, and those of `lay_over`

    Returns
    -------
    True where detail lies in the same places and the light falls off another way. Plain pieces bear too
    little detail to be told and give False, and so do two shots under the same light.
    """
    if min(*first.shape[:2], *second.shape[:2]) < _LEAST_PX:
        return False
    rows, cols = first.shape[:2]
    there = np.asarray(cv2.resize(second, (cols, rows), interpolation=cv2.INTER_AREA), np.uint8)
    whole = np.ones((rows, cols), np.bool_)
    laid = lay_over(first, there, np.eye(3), whole, Guesses((np.eye(3),), False), settings)
    if laid is None or laid.alike < settings.least_alike:
        return False
    inner = np.s_[rows // 12 : rows - rows // 12, cols // 12 : cols - cols // 12]
    if shared_detail(first[inner], laid.image[inner], _BLOCKS, settings) < settings.proposed_share:
        return False
    return _light_apart(first, laid.image) >= settings.proposed_light


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
