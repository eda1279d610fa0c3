"""Which of the parallel edges along a tile's side is its face's: not its foot's nor its shadow's.

A thick tile seen from aside shows its wall and beside it its shadow: two or three straight edges, close
together. Each is described by a few plain numbers; by these, boosted trees fitted by `sides_fit.py` say how
far from the face's edge it is likely to be, and `vision.settle` picks.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.outline import edge_strength, line_scores, sample_profiles
from vision.piece_net import WALL, PieceMap
from vision.settings import TileSettings
from vision.surface import ByteImage, FloatImage

__all__ = ["BEYOND", "FEATURE_NAMES", "MODEL_FILE", "SideLines", "laid_share", "side_lines"]

Points = NDArray[np.float64]
Floats = NDArray[np.float64]
Places = NDArray[np.intp]

MODEL_FILE = Path(__file__).with_name("sides_model.npz")
FEATURE_NAMES = (
    "edge",
    "edge_log",
    "edge_low",
    "edge_half",
    "edge_to_best",
    "inside_apart",
    "outside_apart",
    "across",
    "darker_outside",
    "outside_near_to_deep",
    "inside_near_to_far",
    "face_inside",
    "face_outside",
    "face_outside_far",
    "wall_inside",
    "wall_outside",
    "wall_outside_far",
    "belief",
    "away",
    "away_squared",
    "shift",
    "has_shift",
    "outer_edge",
    "outer_at",
    "inner_edge",
    "inner_at",
    "at_foot",
    "smeared",
)
"""Of a line: the edge under it (mean, size, weakest fifth, weaker half, against the best line's); how colours
near it and farther off differ on either side and across it; the piece net's face and wall there, and its log
likelihood of a border here; how far outward it lies; how far outward the foot should show; the best lines
farther out and farther in, and where; the edge where the foot should be; what smoothing leaves of its edge.
Lengths are shares of the tile's size, colours logs of CIELAB distances."""

# The model was fitted with these. Shares are of the tile's size, the root of its area.
_STEP, _REACH, _WIDE = 0.004, 0.09, 0.15
_PLACES, _MOST_SLOPE, _MOST_LINES, _SPACE = 64, 14, 14, 3
_NEAR, _FAR = (0.006, 0.02), (0.025, 0.055)
_LEAST_BELIEF = -6.0
BEYOND = 0.015
"""Just beyond a line, share of the tile's size: where it is looked for what lies there."""


@dataclass(frozen=True, slots=True, eq=False)
class SideLines:
    """Straight edges along one side of a tile.

    Attributes
    ----------
    ends : (lines, 2, 2) x, y of each at the side's first and last place looked at, photo pixels
    features : (lines, len(FEATURE_NAMES)) float32
    away_px : (lines, 2) how far outward each end lies from the side looked along
    laid : (lines,) share of what lies just beyond that is a label, the card or the chart
    """

    ends: Points
    features: FloatImage
    away_px: Floats
    laid: Floats


@dataclass(frozen=True, slots=True, eq=False)
class _Lines:
    """Lines over a strip: offset index at first and last place, edge under each, index at every place."""

    first: Places
    last: Places
    score: Floats
    at: Places


def _spaced(first: Places, last: Places, score: Floats) -> Places:
    """Pick the lines with more edge under them than any whose middle is near, the best first."""
    middle = first + last
    best = np.zeros(int(middle.max()) + 1)
    np.maximum.at(best, middle, score)
    near = np.array([best[max(0, m - _SPACE) : m + _SPACE + 1].max() for m in range(len(best))])
    peaks = np.flatnonzero(score >= near[middle] - 1e-9)
    _, once = np.unique(middle[peaks], return_index=True)
    peaks = peaks[once]
    return np.asarray(peaks[np.argsort(-score[peaks])][:_MOST_LINES], np.intp)


def _straight_edges(strength: FloatImage) -> _Lines:
    half, inner = strength.shape[1] // 2, round(_REACH / _STEP)
    first, last, score = line_scores(
        np.ascontiguousarray(strength[:, half - inner : half + inner + 1]), _MOST_SLOPE
    )
    best = _spaced(first, last, score)
    first, last = first[best] + half - inner, last[best] + half - inner
    t = np.linspace(0, 1, strength.shape[0])
    at = np.rint(first[:, None] + (last - first)[:, None] * t[None, :]).astype(np.intp)
    return _Lines(first, last, score[best], at)


def _band(values: FloatImage, at: Places, where: tuple[float, float], sign: int) -> FloatImage:
    """Give the mean of a band beside lines, outward for sign 1, inward for -1: (lines, places, channels)."""
    low, high = (where[0], where[1]) if sign > 0 else (-where[1], -where[0])
    steps = values.shape[1]
    total = np.concatenate([np.zeros_like(values[:, :1]), np.cumsum(values, axis=1)], axis=1)
    begin = np.clip(at + round(low / _STEP), 0, steps - 2)
    end = np.clip(np.maximum(at + round(high / _STEP), begin + 1), 1, steps)
    rows = np.arange(values.shape[0])[None, :]
    return np.asarray((total[rows, end] - total[rows, begin]) / (end - begin)[..., None], np.float32)


def _apart(one: FloatImage, other: FloatImage) -> Floats:
    """Give the log of the median colour distance along lines."""
    return np.asarray(np.log1p(np.median(np.linalg.norm(one - other, axis=-1), axis=1)), np.float64)


def _edge_features(strength: FloatImage, lines: _Lines) -> list[Floats]:
    half, inner = strength.shape[1] // 2, round(_REACH / _STEP)
    rows = np.arange(strength.shape[0])[None, :]
    raw = strength[rows, lines.at]
    reference = max(1.0, float(np.percentile(strength[:, half - inner : half + inner + 1], 92)))
    capped = np.minimum(raw / reference, 1.0)
    cut = strength.shape[0] // 2
    return [
        lines.score,
        np.log1p(raw.mean(axis=1)),
        np.percentile(capped, 20, axis=1),
        np.minimum(capped[:, :cut].mean(axis=1), capped[:, cut:].mean(axis=1)),
        lines.score - lines.score.max(),
    ]


def _smeared(strength: FloatImage, lines: _Lines) -> Floats:
    rows = np.arange(strength.shape[0])[None, :]
    smooth = cv2.blur(strength, (9, 1))[rows, lines.at].mean(axis=1)
    return np.asarray(smooth / np.maximum(strength[rows, lines.at].mean(axis=1), 1e-6), np.float64)


def _colour_features(profiles: FloatImage, at: Places) -> list[Floats]:
    near_in, far_in, near_out, far_out = (
        _band(profiles, at, where, sign) for sign in (-1, 1) for where in (_NEAR, _FAR)
    )
    return [
        _apart(near_in, far_in),
        _apart(near_out, far_out),
        _apart(near_in, near_out),
        np.median(near_out[..., 0] - near_in[..., 0], axis=1) / 20,
        _apart(near_out, far_in),
        _apart(near_in, far_out),
    ]


def _net_features(chance: FloatImage, at: Places, step_px: float) -> list[Floats]:
    """Describe lines by the net's (places, offsets, 2) chances of face and wall; `step_px`: in its pixels."""
    inside, outside, beyond = (
        _band(chance, at, _NEAR, -1),
        _band(chance, at, _NEAR, 1),
        _band(chance, at, _FAR, 1),
    )
    half, inner = chance.shape[1] // 2, round(_REACH / _STEP)
    sure = np.clip(chance[..., 0], 0.03, 0.97)
    yes, no = np.log(sure), np.log(1 - sure)
    belief = (np.cumsum(yes, axis=1) + np.cumsum(no[:, ::-1], axis=1)[:, ::-1] - no) * step_px
    most = belief[:, half - inner : half + inner + 1].max(axis=1, keepdims=True)
    belief = np.maximum(belief - most, _LEAST_BELIEF)
    rows = np.arange(chance.shape[0])[None, :]
    return [
        np.median(inside[..., 0], axis=1),
        np.median(outside[..., 0], axis=1),
        np.median(beyond[..., 0], axis=1),
        inside[..., 1].mean(axis=1),
        outside[..., 1].mean(axis=1),
        beyond[..., 1].mean(axis=1),
        belief[rows, at].mean(axis=1),
    ]


def _neighbour_features(away: Floats, score: Floats, shift: float) -> list[Floats]:
    """Give edge and distance of the best line farther out and farther in, and the edge where the foot is."""
    gap = away[None, :] - away[:, None]
    out = []
    for sign in (1, -1):
        there = np.where((sign * gap > 0.006) & (sign * gap < 0.08), score[None, :], 0.0)
        best = there.argmax(axis=1)
        found = there.max(axis=1)
        out += [found, np.where(found > 0, np.abs(gap[np.arange(len(away)), best]) * 10, 0.0)]
    wanted = np.exp(-(((gap - max(shift, 0.0)) / 0.012) ** 2)) * score[None, :]
    out.append(wanted.max(axis=1) if shift > 0.008 else np.zeros(len(away)))
    return out


def _inside(points: Points, polygon: Points) -> NDArray[np.bool_]:
    """Tell which of (..., 2) points lie in a convex polygon (n, 2)."""
    along = np.roll(polygon, -1, axis=0) - polygon
    off = points[..., None, :] - polygon
    side = along[:, 0] * off[..., 1] - along[:, 1] * off[..., 0]
    return np.asarray((side >= 0).all(axis=-1) | (side <= 0).all(axis=-1), np.bool_)


def laid_share(beyond: Points, laid: Sequence[Points]) -> Floats:
    """Give the share of each row of places (lines, places, 2) that lies on a label, card or chart."""
    on = np.zeros(beyond.shape[:2], np.bool_)
    for polygon in laid:
        on |= _inside(beyond, polygon)
    return np.asarray(on.mean(axis=1), np.float64)


def side_lines(
    pixels: ByteImage,
    a: Floats,
    b: Floats,
    size: float,
    seen: PieceMap,
    shift_px: float | None,
    settings: TileSettings,
    laid: Sequence[Points] = (),
) -> SideLines:
    """List the straight edges along one side.

    Parameters
    ----------
    pixels : (rows, cols, 3) uint8 sRGB
    a, b : (2,) ends of the side, the piece to the right of a -> b, photo pixels
    size : root of the tile's area, photo pixels
    seen : what the piece net makes of the photo
    shift_px : how far outward of the face's edge the foot's shows, negative where it is hidden; None: unknown
    settings : `TileSettings`
    laid : outlines of labels, card and chart, convex, photo pixels
    """
    half = round(_WIDE / _STEP)
    offsets: Floats = np.arange(-half, half + 1) * np.float64(_STEP * size)
    along = b - a
    normal = np.array([along[1], -along[0]]) / np.hypot(*along)
    margin = settings.edge_corner_margin
    points = a + np.linspace(margin, 1 - margin, _PLACES)[:, None] * along
    profiles = sample_profiles(pixels, points, np.repeat(normal[None], _PLACES, axis=0), offsets)
    strength = edge_strength(profiles, 3, 1.0)
    lines = _straight_edges(strength)
    place = seen.in_map(points[:, None] + normal * offsets[None, :, None]).astype(np.float32)
    chance = [
        cv2.remap(field, place[..., 0], place[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        for field in (seen.face, np.ascontiguousarray(seen.chances[WALL]))
    ]
    away = ((lines.first + lines.last) / 2 - half) * _STEP
    shift = 0.0 if shift_px is None else shift_px / size
    net_px = float(offsets[1] - offsets[0]) * seen.scale
    features = [
        *_edge_features(strength, lines),
        *_colour_features(profiles, lines.at),
        *_net_features(np.stack(chance, axis=-1), lines.at, net_px),
        away * 10,
        (away * 10) ** 2,
        np.full(len(away), shift * 20),
        np.full(len(away), float(shift_px is not None)),
        *_neighbour_features(away, lines.score, shift),
        _smeared(strength, lines),
    ]
    away_px: Floats = np.stack([lines.first - half, lines.last - half], axis=1) * np.float64(_STEP * size)
    ends = np.stack([points[0] + normal * away_px[:, :1], points[-1] + normal * away_px[:, 1:]], axis=1)
    beyond = points + (offsets[lines.at] + BEYOND * size)[..., None] * normal
    return SideLines(ends, np.column_stack(features).astype(np.float32), away_px, laid_share(beyond, laid))
