"""Two tiles that lie so near each other that they came out as one part: cut along the gap between them."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.outline import contour_of, fit_quad, polygon_area
from vision.settings import TileSettings
from vision.surface import BoolMask, FloatImage

__all__ = ["cut_joined"]

_PLACES = 48
"""Places looked at along a cut."""


def cut_joined(part: BoolMask, face: FloatImage, settings: TileSettings) -> list[BoolMask]:
    """Cut a part in two from a notch, where the face is unsure along the cut and both halves are four-sided.

    Parameters
    ----------
    part : (rows, cols) bool, one connected part
    face : (rows, cols) float32, chance of a piece's face
    settings : `TileSettings`

    Returns
    -------
    The two halves; the part alone where nothing says that it is two. A tile of L shape has a notch too, but
    its face is sure all along; so is a tile with a dent.
    """
    cut = _best_cut(contour_of(part), face, float(np.sqrt(part.sum())), settings)
    if cut is None:
        return [part]
    along = (cut[1] - cut[0]) / max(float(np.hypot(*(cut[1] - cut[0]))), 1.0)
    drawn = part.astype(np.uint8)
    ends = [tuple(int(v) for v in np.rint(end)) for end in (cut[0] - 2 * along, cut[1] + 2 * along)]
    cv2.line(drawn, ends[0], ends[1], 0, 2)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(drawn, connectivity=4)
    largest = sorted(range(1, count), key=lambda k: -int(stats[k, cv2.CC_STAT_AREA]))[:2]
    halves = [np.asarray(labels == k, dtype=np.bool_) for k in largest]
    for half in halves:
        _, fill, straight = fit_quad(half)
        if fill < settings.quad_fill or straight < settings.quad_straight:
            return [part]
    return halves if len(halves) == 2 else [part]


def _best_cut(
    contour: NDArray[np.float64], face: FloatImage, side: float, settings: TileSettings
) -> NDArray[np.float64] | None:
    """Give the straight cut (2, 2) from a notch of the contour along which the face is least sure."""
    ring = contour.astype(np.int32).reshape(-1, 1, 2)
    hull = cv2.convexHull(ring, returnPoints=False)
    try:
        notches = cv2.convexityDefects(ring, hull)
    except cv2.error:  # a contour that crosses itself
        return None
    best, least = None, settings.joined_mean
    whole = polygon_area(contour)
    for _, _, at, depth in [] if notches is None else notches.reshape(-1, 4):
        if depth / 256 < settings.joined_notch * side:
            continue
        turned = np.roll(contour, -int(at), axis=0)
        to = np.arange(2, len(turned) - 2, 2)
        x, y = turned[:, 0], turned[:, 1]
        swept = np.concatenate([[0.0], np.cumsum(x[:-1] * y[1:] - x[1:] * y[:-1])])
        share = np.abs(swept[to] + x[to] * y[0] - x[0] * y[to]) / 2 / max(whole, 1.0)
        even = np.minimum(share, 1 - share) >= settings.joined_half
        short = np.hypot(*(turned[to] - turned[0]).T) <= settings.joined_longest * side
        to = to[even & short]
        if not len(to):
            continue
        t = np.linspace(0.04, 0.96, _PLACES)[None, :, None]
        line = (turned[0] + t * (turned[to] - turned[0])[:, None]).astype(np.float32)
        seen = cv2.remap(face, line[..., 0], line[..., 1], cv2.INTER_LINEAR)
        mean, most = seen.mean(axis=1), seen.max(axis=1)
        mean = np.where(most < settings.joined_most, mean, 1.0)
        k = int(np.argmin(mean))
        if mean[k] < least:
            best, least = np.stack([turned[0], turned[to[k]]]), float(mean[k])
    return best
