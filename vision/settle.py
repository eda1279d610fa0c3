"""Move a four-sided outline onto the edges of a tile's face, side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from vision.marks.forest import Forest, fitted_arrays, forest_from_arrays
from vision.outline import meet, polygon_area
from vision.piece_net import PieceMap
from vision.settings import TileSettings
from vision.sides import BEYOND, FEATURE_NAMES, MODEL_FILE, laid_share, side_lines
from vision.surface import ByteImage

__all__ = ["Settled", "foot_shift", "moved_out", "settle_sides"]

Points = NDArray[np.float64]
Floats = NDArray[np.float64]

_LEAST_SIDE_PX = 8.0
"""A shorter side is none."""


@dataclass(frozen=True, slots=True, eq=False)
class Settled:
    """A tile's four sides on edges of the photo.

    Attributes
    ----------
    corners : (4, 2) where they meet, clockwise, photo pixels
    miss : (4,) how far off each side is expected to be, root of the share of the tile's size
    beyond_px : (4,) how far beyond its edge each side is expected to end, photo pixels; negative inside
    """

    corners: Points
    miss: Floats
    beyond_px: Floats


@cache
def _models(path: Path = MODEL_FILE) -> tuple[Forest, Forest]:
    """Load the trees for miss and for how far beyond; no pickle is read.

    Raises
    ------
    ValueError : the file was fitted on other features.
    """
    arrays = fitted_arrays(path, FEATURE_NAMES)
    return forest_from_arrays(arrays, "miss"), forest_from_arrays(arrays, "beyond")


def foot_shift(foot: Floats | None, a: Floats, b: Floats) -> float | None:
    """Give how far outward of a side the foot below it shows, photo pixels.

    Parameters
    ----------
    foot : (3, 3) homography from where a point of a face shows to where the table under it would, or None
    a, b : (2,) ends of the side, the piece to the right of a -> b
    """
    if foot is None:
        return None
    along = b - a
    normal = np.array([along[1], -along[0]]) / np.hypot(*along)
    middle = (a + b) / 2
    below = foot @ np.array([middle[0], middle[1], 1.0])
    return float((below[:2] / below[2] - middle) @ normal)


def settle_sides(
    pixels: ByteImage,
    corners: Points,
    seen: PieceMap,
    foot: Floats | None,
    settings: TileSettings,
    laid: Sequence[Points] = (),
) -> Settled:
    """Move each side of a quadrilateral onto the edge its face most likely ends at, then meet them again.

    Parameters
    ----------
    pixels : (rows, cols, 3) uint8 sRGB
    corners : (4, 2) clockwise, photo pixels
    seen : `PieceMap` with the piece in it
    foot : see `foot_shift`
    settings : `TileSettings`
    laid : outlines of labels, card and chart, convex, photo pixels: their edges are no tile's
    """
    photo = _Photo(pixels, seen, foot, settings, tuple(laid))
    settled = _settle_once(photo, corners)
    size = float(np.sqrt(polygon_area(corners)))
    if float(np.abs(settled.corners - corners).max()) > settings.settle_again * size:
        again = _settle_once(photo, settled.corners)
        settled = again if again.miss.mean() < settled.miss.mean() else settled
    return _looked_farther(photo, settled)


@dataclass(frozen=True, slots=True, eq=False)
class _Photo:
    """What sides are looked for in; see `settle_sides`."""

    pixels: ByteImage
    seen: PieceMap
    foot: Floats | None
    settings: TileSettings
    laid: tuple[Points, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Side:
    """The line taken for one side: (2, 2) ends, the miss expected, and how far beyond it the face ends."""

    ends: Points
    miss: float
    beyond: float


def _off_label(
    a: Floats, b: Floats, size: float, laid: Sequence[Points], settings: TileSettings
) -> tuple[Floats, Floats]:
    """Move a side that runs along a label's edge inward, so that the tile's own edge is within reach."""
    along = b - a
    normal = np.array([along[1], -along[0]]) / np.hypot(*along)
    places = a + np.linspace(0.1, 0.9, 17)[:, None] * along + BEYOND * size * normal
    if float(laid_share(places[None], laid)[0]) <= settings.laid_share:
        return a, b
    inward = settings.laid_inward * size * normal
    return a - inward, b - inward


def _likeliest(photo: _Photo, a: Floats, b: Floats, size: float) -> _Side:
    """Give the line that most likely is the face's edge along a -> b."""
    settings = photo.settings
    miss_of, beyond_of = _models()
    a, b = _off_label(a, b, size, photo.laid, settings)
    shift = foot_shift(photo.foot, a, b)
    found = side_lines(photo.pixels, a, b, size, photo.seen, shift, settings, photo.laid)
    miss = miss_of.sums(found.features)[:, 0] + settings.laid_miss * (found.laid > settings.laid_share)
    best = int(np.argmin(miss))
    beyond = float(beyond_of.sums(found.features[best : best + 1])[0, 0])
    return _Side(found.ends[best], float(miss[best]), float(np.clip(beyond, *settings.beyond_between)))


def _settle_once(photo: _Photo, corners: Points) -> Settled:
    nowhere = Settled(corners, np.ones(4), np.zeros(4))
    edges = np.roll(corners, -1, axis=0) - corners
    if float(np.hypot(*edges.T).min()) < _LEAST_SIDE_PX:
        return nowhere
    size = float(np.sqrt(polygon_area(corners)))
    sides = [_likeliest(photo, a, a + edge, size) for a, edge in zip(corners, edges, strict=True)]
    moved = np.array([meet(sides[k - 1].ends, sides[k].ends) for k in range(4)])
    if np.abs(moved - corners).max() > photo.settings.settle_most * size:
        return nowhere
    beyond = size * np.array([side.beyond for side in sides])
    return Settled(moved, np.array([side.miss for side in sides]), beyond)


def _looked_farther(photo: _Photo, settled: Settled) -> Settled:
    """Look again, farther in and farther out, for sides none of whose edges seemed likely.

    The piece net may leave out a part of a tile that looks like the table, or take a part of the table along.
    """
    settings = photo.settings
    for k in np.flatnonzero(settled.miss > settings.farther_miss):
        corners = settled.corners
        size = float(np.sqrt(polygon_area(corners)))
        before, after = corners[[k - 1, k]], corners[[(k + 1) % 4, (k + 2) % 4]]
        across = before[0] - after[1]
        across = across / max(float(np.hypot(*across)), 1.0)
        outward = np.array([across[1], -across[0]])
        middle = (before[1] + after[0]) / 2
        for step in settings.farther_steps:
            at = middle + step * size * outward
            line = np.stack([at, at + across])
            a, b = meet(before, line), meet(line, after)
            if float(np.hypot(*(b - a))) < _LEAST_SIDE_PX:
                continue
            side = _likeliest(photo, a, b, size)
            if side.miss < settled.miss[k] - settings.farther_gain:
                moved, miss, beyond = corners.copy(), settled.miss.copy(), settled.beyond_px.copy()
                moved[k], moved[(k + 1) % 4] = meet(before, side.ends), meet(side.ends, after)
                miss[k], beyond[k] = side.miss, side.beyond * size
                settled = Settled(moved, miss, beyond)
    return settled


def moved_out(corners: Points, beyond_px: Floats) -> Points:
    """Move each side of a quadrilateral outward and meet the sides again.

    Parameters
    ----------
    corners : (4, 2) clockwise
    beyond_px : (4,) how far, pixels; negative inward

    Notes
    -----
    The edges of a fired tile are round: its face as it was cut ends a little beyond the line where its colour
    changes most, and where its wall shows, between the lines of face and wall.
    """
    lines = []
    for a, b, far in zip(corners, np.roll(corners, -1, axis=0), beyond_px, strict=True):
        along = b - a
        lines.append(np.stack([a, b]) + far * np.array([along[1], -along[0]]) / np.hypot(*along))
    return np.array([meet(lines[k - 1], lines[k]) for k in range(4)])
