"""How much of a piece that the photo's frame cuts lies in the photo."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.outline import polygon_area
from vision.settings import TileSettings

__all__ = ["edge_in_view", "mostly_out"]

Points = NDArray[np.float64]


def mostly_out(outline: Points, shape: tuple[int, ...], settings: TileSettings) -> bool:
    """Tell whether less than half of a piece that the frame cuts lies in the photo, whatever its size.

    Parameters
    ----------
    outline : (n, 2) x, y in photo pixels; may lie partly outside the photo
    shape : (rows, cols, ...) of the photo
    settings : `cut_slack`, `cut_slant_deg`

    Notes
    -----
    Tiles and pots look the same from either side of their middle: each stretch of edge has its like across,
    that runs the other way, so half of an edge turns by 180 degrees and less of it by less. A tile that lies
    square to the frame turns by 180 where one side of the frame cuts it and by 90 in the frame's corner,
    however much is out of view: it is told neither way, nor is what three sides cut.
    """
    turning, sides = edge_in_view(outline, shape, settings)
    return 1 <= sides <= 2 and turning < 270.0 - 90.0 * sides - settings.cut_slant_deg


def edge_in_view(outline: Points, shape: tuple[int, ...], settings: TileSettings) -> tuple[float, int]:
    """Give by how much a piece's edge turns from where it enters the photo to where it leaves it.

    Takes what `mostly_out` takes; gives degrees, and how many sides of the frame cut the piece.
    """
    size = np.array([shape[1], shape[0]], np.float64) - 1
    hull = cv2.convexHull(np.clip(outline, 0, size).astype(np.float32))
    slack = settings.cut_slack * float(np.sqrt(polygon_area(hull[:, 0].astype(np.float64))))
    corners = cv2.approxPolyDP(hull, slack, closed=True)[:, 0].astype(np.float64)
    near = np.hstack([corners <= slack, corners >= size - slack])
    along = near & np.roll(near, -1, axis=0)
    on_frame = along.any(axis=1)
    if len(corners) < 3 or not on_frame.any() or on_frame.all():
        return 360.0, int(along.any(axis=0).sum())
    first = int(np.argmax(on_frame & ~np.roll(on_frame, -1))) + 1
    free = np.roll(np.roll(corners, -1, axis=0) - corners, -first, axis=0)[: int((~on_frame).sum())]
    headings = np.arctan2(free[:, 1], free[:, 0])
    turns = np.abs((np.diff(headings) + np.pi) % (2 * np.pi) - np.pi)
    return float(np.degrees(turns.sum())), int(along.any(axis=0).sum())
