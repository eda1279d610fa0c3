"""Pieces as a person outlined them: their word stands in place of what would be found."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.errors import OutlineError
from vision.outline import order_corners, polygon_area, polygon_mask
from vision.piece_net import SUBJECTS, PieceMap, look_closer, map_pieces
from vision.reading import Subject
from vision.settings import DrawnSettings, Settings
from vision.surface import ByteImage
from vision.tiles import Piece

__all__ = ["checked_outline", "drawn_pieces"]

Points = NDArray[np.float64]
_DEFAULT = DrawnSettings()


def checked_outline(
    outline: Sequence[Sequence[float]],
    shape: tuple[int, ...],
    number: int,
    settings: DrawnSettings = _DEFAULT,
) -> Points:
    """Take an outline only where it encloses a part of the photo.

    Parameters
    ----------
    outline : three or more corners, x and y in photo pixels, in order round the piece
    shape : (rows, cols, ...) of the photo
    number : which outline this is, from 1, for the message
    settings : limits

    Returns
    -------
    (n, 2) float64

    Raises
    ------
    OutlineError : fewer than three corners, a corner outside the photo, or sides that cross or enclose
        nothing.
    """
    points = np.asarray(outline, dtype=np.float64)
    if points.ndim != 2 or points.shape[1] != 2 or len(points) < 3 or not np.isfinite(points).all():
        raise OutlineError(number, "three or more corners of x and y are wanted")
    rows, cols = shape[:2]
    out = settings.outside_px
    if points.min() < -out or points[:, 0].max() > cols - 1 + out or points[:, 1].max() > rows - 1 + out:
        raise OutlineError(number, f"it leaves the photo, which is {cols} by {rows} pixels")
    if _crosses(points):
        raise OutlineError(number, "its sides cross")
    if polygon_area(points) < settings.least_area_px:
        raise OutlineError(number, "it encloses almost nothing")
    return points


def _crosses(points: Points) -> bool:
    """Tell whether two sides that are no neighbours meet."""
    after = np.roll(points, -1, axis=0)

    def turn(a: Points, b: Points, c: Points) -> float:
        return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))

    n = len(points)
    for i in range(n):
        for j in range(i + 2, n):
            if (j + 1) % n == i:
                continue
            a, b, c, d = points[i], after[i], points[j], after[j]
            if turn(a, b, c) * turn(a, b, d) < 0 and turn(c, d, a) * turn(c, d, b) < 0:
                return True
    return False


def drawn_pieces(
    outlines: Sequence[Sequence[Sequence[float]]],
    pixels: ByteImage,
    subject: Subject | None,
    settings: Settings,
) -> tuple[Piece, ...]:
    """Make pieces of outlines, in the order given.

    Parameters
    ----------
    outlines : as `checked_outline` takes them; four corners are taken for a flat tile's
    pixels : (rows, cols, 3) uint8 sRGB; the piece net is asked what an outline of more corners is of
    subject : what the person says it is; None to guess
    settings : `settings.drawn`, and `settings.tiles` for how sure a guess must be

    Raises
    ------
    OutlineError : see `checked_outline`.
    """
    checked = [
        checked_outline(outline, pixels.shape, number, settings.drawn)
        for number, outline in enumerate(outlines, start=1)
    ]
    seen = map_pieces(pixels, settings.tiles)
    return tuple(_piece(points, pixels, seen, subject, settings) for points in checked)


def _piece(
    points: Points, pixels: ByteImage, seen: PieceMap, subject: Subject | None, settings: Settings
) -> Piece:
    shape = pixels.shape
    low, high = points.min(axis=0), points.max(axis=0)
    slack = settings.drawn.frame_slack_px
    cut = bool((low <= slack).any() or high[0] >= shape[1] - 1 - slack or high[1] >= shape[0] - 1 - slack)
    guessed = False
    inside = polygon_mask(seen.in_map(points), seen.face.shape[:2])
    if subject is None and len(points) != 4:
        chances = seen.subjects[:, inside].mean(axis=1) if inside.any() else seen.subjects.mean(axis=(1, 2))
        subject = SUBJECTS[int(np.argmax(chances))]
        guessed = float(chances.max()) < settings.tiles.subject_sure
    subject = subject or Subject.TILE
    frame = np.array([[low[0], low[1]], [high[0], low[1]], [high[0], high[1]], [low[0], high[1]]])
    if subject is Subject.TILE:
        quad = points if len(points) == 4 else cv2.boxPoints(cv2.minAreaRect(points.astype(np.float32)))
        frame = order_corners(np.asarray(quad, dtype=np.float64))
        points = frame if len(points) == 4 else points
    near = look_closer(pixels, seen, inside, settings.tiles) if inside.any() else seen
    return Piece(subject, points, frame, guessed, cut, seen=near)
