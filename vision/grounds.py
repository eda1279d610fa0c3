"""Whether there is ground to take what was found for pottery, and so to name its faults.

A person's word, the card or a label say that a photo is meant for this; so do four straight, sharp sides.
Without them a close-up or a silhouette can be anything. Then only what no glaze photo shows speaks: no colour
at all, a look unlike that of pottery (`pottery.py`, which also tells what is not read at all), a picture too
small to judge, or many things at once. What lies under the card or chart is a sheet or a board whoever says
what.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.reading import Subject
from vision.settings import GroundSettings
from vision.tiles import Piece

__all__ = ["PhotoGrounds", "doubt_subject", "lies_under"]

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class PhotoGrounds:
    """What the whole photo says.

    Attributes
    ----------
    vouched : a person named the subject, or the card or a label lies in the photo
    grey : the photo has no colour
    pieces : how many pieces were found
    laid : outlines of card and chart, photo pixels
    """

    vouched: bool
    grey: bool
    pieces: int
    laid: tuple[Points, ...]


def lies_under(outline: Points, laid: Sequence[Points], settings: GroundSettings) -> bool:
    """Tell whether a piece is what a card or chart lies on.

    Parameters
    ----------
    outline : (n, 2) of the piece, photo pixels
    laid : (4, 2) outlines of card and chart
    """
    around = np.asarray(outline, np.float32).reshape(-1, 1, 2)
    along = np.linspace(0.0, 1.0, settings.border_points, endpoint=False)[:, None]
    for corners in laid:
        middle = corners.mean(axis=0)
        grown = middle + settings.border_grown * (corners - middle)
        sides = [a + along * (b - a) for a, b in zip(grown, np.roll(grown, -1, axis=0), strict=True)]
        inside = [cv2.pointPolygonTest(around, (float(x), float(y)), False) >= 0 for x, y in np.vstack(sides)]
        if float(np.mean(inside)) >= settings.border_share:
            return True
    return False


def doubt_subject(piece: Piece, photo: PhotoGrounds, too_small: bool, settings: GroundSettings) -> bool:
    """Tell whether it must be doubted that a piece is pottery at all.

    Parameters
    ----------
    piece : as found, with the chance that it is pottery where that was asked
    photo : what the whole photo says
    too_small : the view has too few pixels to judge

    Returns
    -------
    True when its faults must not be named (flag SUBJECT_DOUBTED)
    """
    if lies_under(piece.outline_px, photo.laid, settings):
        return True
    if photo.vouched:
        return False
    straight = piece.subject is Subject.TILE and piece.straight
    scene = piece.subject is Subject.WARE and photo.pieces >= settings.scene_pieces
    unlikely = piece.likely is not None and piece.likely < settings.doubt_below
    if straight:
        return unlikely
    return photo.grey or unlikely or scene or (too_small and piece.guessed)
