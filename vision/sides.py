"""Find tiles by their four sides: lines that are edges all along, closing on each other.

A part of the photo that is unlike the table gives the direction of the sides; which lines they are is
decided by the edges alone. The glaze line, a shadow's edge and the gap between two tiles all give lines,
but only a tile's own four run unbroken from corner to corner and nothing larger does.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.outline import order_corners
from vision.settings import TileSettings
from vision.surface import FloatImage

__all__ = ["Evidence", "choose_quads", "weakest_stretch"]

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """What the shrunken photo says, each (rows, cols) float32.

    Attributes
    ----------
    edges : from `vision.seeds.edge_map`
    unlike : distance from the table's colours over the limit, above 1 is no table
    unshaded : the same with a shadow on the table counted as table
    """

    edges: FloatImage
    unlike: FloatImage
    unshaded: FloatImage


@dataclass(frozen=True, slots=True, eq=False)
class _Frame:
    """The photo brought upright to a part's own sides: strengths of edges 0..1, and their cumulative sums."""

    strength: FloatImage
    table: FloatImage
    to_photo: Points
    left: int
    top: int
    width: int
    height: int


def _frame(quad: Points, evidence: Evidence, settings: TileSettings) -> _Frame | None:
    width = round(float(np.hypot(*(quad[1] - quad[0])) + np.hypot(*(quad[2] - quad[3]))) / 2)
    height = round(float(np.hypot(*(quad[3] - quad[0])) + np.hypot(*(quad[2] - quad[1]))) / 2)
    if min(width, height) < 10:
        return None
    margin = round(settings.side_reach * max(width, height))
    target = np.array([[0, 0], [width, 0], [width, height], [0, height]], dtype=np.float64) + margin
    to_frame = cv2.getPerspectiveTransform(quad.astype(np.float32), target.astype(np.float32))
    size = (width + 2 * margin, height + 2 * margin)
    table = evidence.unshaded < 1.0
    busy = float(np.percentile(evidence.edges[table], 85)) if table.any() else 0.0
    full = max(settings.side_edge, settings.extend_over_table * busy)
    strength = np.minimum(evidence.edges / np.float32(full), 1.0)
    strength = cv2.warpPerspective(strength, to_frame, size, flags=cv2.INTER_LINEAR)
    like = cv2.warpPerspective(
        (evidence.unlike < settings.side_table).astype(np.float32),
        to_frame,
        size,
        flags=cv2.INTER_LINEAR,
        borderValue=1.0,
    )
    back = np.linalg.inv(np.asarray(to_frame, dtype=np.float64))
    return _Frame(
        strength,
        like,
        back,
        margin,
        margin,
        width,
        height,
    )


def _candidates(strength: FloatImage, first: int, last: int, settings: TileSettings) -> list[int]:
    """Give the rows of `strength` that are edges along most of first..last, the strongest ones."""
    inset = round(0.1 * (last - first))
    mean = strength[:, first + inset : max(first + inset + 4, last - inset)].mean(axis=1)
    wide = cv2.dilate(mean.reshape(-1, 1), np.ones((5, 1), np.uint8)).ravel()
    peaks = np.flatnonzero((mean >= wide - 1e-6) & (mean >= settings.side_candidate))
    merged: list[int] = []
    for row in peaks[np.argsort(-mean[peaks], kind="stable")]:
        if all(abs(int(row) - m) > 3 for m in merged):
            merged.append(int(row))
    return sorted(merged[: settings.side_most_candidates])


def _support(line: FloatImage, window: int) -> tuple[float, float]:
    """Give the mean strength of a side without its corners, and that of its weakest stretch."""
    inset = max(1, round(0.08 * len(line)))
    inner = line[inset:-inset]
    if len(inner) <= window:
        return float(inner.mean()) if len(inner) else 0.0, float(inner.mean()) if len(inner) else 0.0
    sums = np.concatenate([[0.0], np.cumsum(inner)])
    return float(inner.mean()), float(((sums[window:] - sums[:-window]) / window).min())


def choose_quads(
    quad: Points, area_px: float, evidence: Evidence, settings: TileSettings
) -> list[tuple[Points, float]]:
    """Find the tiles whose sides run as those of a rough quadrilateral do.

    Parameters
    ----------
    quad : (4, 2) corners clockwise of the part that is unlike the table, finding pixels
    area_px : pixels of that part
    evidence : what the photo says

    Returns
    -------
    Corners (4, 2) and mean strength of the sides (0..1) of each tile; empty when no four lines close.
    """
    frame = _frame(quad, evidence, settings)
    if frame is None:
        return []
    rows = _candidates(frame.strength, frame.left, frame.left + frame.width, settings)
    cols = _candidates(np.ascontiguousarray(frame.strength.T), frame.top, frame.top + frame.height, settings)
    window = settings.extend_window
    found: list[tuple[float, float, tuple[int, int, int, int]]] = []
    inside = np.cumsum(np.cumsum(frame.table, axis=0), axis=1)
    across: dict[tuple[int, int, int], tuple[float, float]] = {}

    def side(vertical: bool, at: int, begin: int, end: int) -> tuple[float, float]:
        key = (at + (100000 if vertical else 0), begin, end)
        if key not in across:
            line = frame.strength[begin:end, at] if vertical else frame.strength[at, begin:end]
            across[key] = _support(line, window)
        return across[key]

    least, most = settings.side_area[0] * area_px, settings.side_area[1] * area_px
    for (t, b), (w, e) in product(
        [(t, b) for t in rows for b in rows if b - t >= 10],
        [(w, e) for w in cols for e in cols if e - w >= 10],
    ):
        area = float((b - t) * (e - w))
        if not least <= area <= most or max(b - t, e - w) > settings.side_longest * min(b - t, e - w):
            continue
        four = [side(False, t, w, e), side(False, b, w, e), side(True, w, t, b), side(True, e, t, b)]
        mean, weakest = min(f[0] for f in four), min(f[1] for f in four)
        if mean < settings.side_mean or weakest < settings.side_weakest:
            continue
        like = (inside[b - 1, e - 1] - inside[t, e - 1] - inside[b - 1, w] + inside[t, w]) / area
        if like > settings.side_most_table:
            continue
        found.append((area * mean**settings.side_power, float(np.mean([f[0] for f in four])), (t, b, w, e)))
    found.sort(key=lambda f: -f[0])
    chosen: list[tuple[Points, float]] = []
    taken: list[tuple[int, int, int, int]] = []
    for _, strength, (t, b, w, e) in found:
        if any(min(b, b2) - max(t, t2) > 3 and min(e, e2) - max(w, w2) > 3 for t2, b2, w2, e2 in taken):
            continue
        taken.append((t, b, w, e))
        corners = np.array([[[w, t], [e, t], [e, b], [w, b]]], dtype=np.float64)
        chosen.append((order_corners(cv2.perspectiveTransform(corners, frame.to_photo)[0]), strength))
    return chosen


def weakest_stretch(quad: Points, evidence: Evidence, settings: TileSettings) -> float:
    """Give the strength (0..1) of the weakest stretch of a quadrilateral's sides."""
    frame = _frame(quad, evidence, settings)
    if frame is None:
        return 0.0
    left, top = frame.left, frame.top
    right, low = left + frame.width, top + frame.height
    sides = []
    for lines in (
        [frame.strength[top + s, left:right] for s in (-1, 0, 1)],
        [frame.strength[low + s, left:right] for s in (-1, 0, 1)],
        [frame.strength[top:low, left + s] for s in (-1, 0, 1)],
        [frame.strength[top:low, right + s] for s in (-1, 0, 1)],
    ):
        sides.append(_support(np.max(np.stack(lines), axis=0), settings.extend_window)[1])
    return min(sides)
