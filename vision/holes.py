"""The hole a tile hangs by: pierced in the clay, so no fault of the glaze."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np

from vision.reading import Mark, Subject
from vision.settings import TileSettings
from vision.surface import BoolMask, Surface

__all__ = ["drop_hanging_hole", "part_hanging_hole"]


def drop_hanging_hole(surface: Surface, marks: Sequence[Mark], settings: TileSettings) -> tuple[Mark, ...]:
    """Leave out what is seen of a tile's hanging hole.

    Parameters
    ----------
    surface : the straightened tile; ware and patches have no hanging hole
    marks : as found
    settings : where a hole may stand and how large and dark it is

    Returns
    -------
    The marks without those in or on the rim of the hole.

    Notes
    -----
    A hole stands on the middle line near an end, is wide for the tile and darker than the glaze around it.
    A single blister of that size, darkness and place would be left out with it.
    """
    return part_hanging_hole(surface, marks, settings)[0]


def part_hanging_hole(
    surface: Surface, marks: Sequence[Mark], settings: TileSettings
) -> tuple[tuple[Mark, ...], BoolMask]:
    """Part the marks from the hanging hole, as `drop_hanging_hole`, and give where the hole is.

    Returns
    -------
    The marks without those of the hole, and (rows, cols) bool, True in the hole
    """
    mask = np.zeros(surface.piece.shape, np.uint8)
    if surface.subject is not Subject.TILE:
        return tuple(marks), mask.astype(np.bool_)
    width = float(min(surface.piece.shape))
    holes = [m for m in marks if _is_hole(surface, m, width, settings)]
    for hole in holes:
        centre = (round(hole.x_px * 16), round(hole.y_px * 16))
        cv2.circle(mask, centre, round(hole.diameter_px * 8), 1, -1, shift=4)
    reach = settings.hole_reach
    kept = tuple(
        m
        for m in marks
        if not any(np.hypot(m.x_px - h.x_px, m.y_px - h.y_px) <= reach * h.diameter_px for h in holes)
    )
    return kept, np.asarray((mask > 0) & surface.piece, np.bool_)


def _is_hole(surface: Surface, mark: Mark, width: float, settings: TileSettings) -> bool:
    rows, cols = surface.piece.shape
    along, length, across = (mark.y_px, rows, mark.x_px) if rows >= cols else (mark.x_px, cols, mark.y_px)
    if min(along, length - along) > settings.hole_end_share * length:
        return False
    if abs(across - width / 2) > settings.hole_off_middle * width:
        return False
    if not settings.hole_least_width <= mark.diameter_px / width <= settings.hole_most_width:
        return False
    y, x = np.ogrid[:rows, :cols]
    away = np.hypot(x - mark.x_px, y - mark.y_px) / mark.diameter_px
    lightness = surface.lab[:, :, 0]
    core = lightness[away < settings.hole_core]
    ring = lightness[(away > settings.hole_ring[0]) & (away < settings.hole_ring[1]) & surface.piece]
    if core.size == 0 or ring.size == 0:
        return False
    return bool(float(np.median(core)) < settings.hole_darkness * float(np.median(ring)))
