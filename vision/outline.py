"""Outlines: a quadrilateral or a closed curve, pulled onto the edge that the full photo shows."""

from __future__ import annotations

from functools import cache

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.settings import TileSettings
from vision.surface import BoolMask, ByteImage, FloatImage

__all__ = [
    "contour_of",
    "edge_along",
    "edge_strength",
    "fit_quad",
    "line_scores",
    "meet",
    "order_corners",
    "polygon_area",
    "polygon_mask",
    "refine_quad",
    "sample_profiles",
    "snap_contour",
]

Points = NDArray[np.float64]


def polygon_area(points: Points) -> float:
    """Give the area inside a polygon, square pixels."""
    x, y = points[:, 0], points[:, 1]
    return float(abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2)


def polygon_mask(points: Points, shape: tuple[int, int]) -> BoolMask:
    """Draw a polygon as a mask of `shape` (rows, cols)."""
    mask = np.zeros(shape, np.uint8)
    cv2.fillPoly(mask, [np.rint(points * 16).astype(np.int32)], 1, shift=4)
    return np.asarray(mask > 0, dtype=np.bool_)


def order_corners(corners: Points) -> Points:
    """Turn four corners so that they run clockwise from the top left as seen in the photo."""
    centre = corners.mean(axis=0)
    angle = np.arctan2(corners[:, 1] - centre[1], corners[:, 0] - centre[0])
    ring = corners[np.argsort(angle)]
    best, top = -np.inf, 0
    for k in range(4):
        side = ring[(k + 1) % 4] - ring[k]
        rightness = side[0] / (np.hypot(*side) + 1e-9)
        if rightness > best:
            best, top = float(rightness), k
    return np.asarray(np.roll(ring, -top, axis=0), dtype=np.float64)


def contour_of(mask: BoolMask) -> Points:
    """Give the outer contour of the largest part of a mask, (n, 2) x, y."""
    contours, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    largest = max(contours, key=cv2.contourArea)
    return np.asarray(largest[:, 0, :], dtype=np.float64)


_UNSURE = 0.6
"""A side less of which lies on its line may be a bump's or a bite's: it is then fitted near-parallel to the
one across, whose slope it may differ from by:"""
_CONVERGE = 0.09


def _robust_line(
    t: Points, v: Points, slack: float, slopes: tuple[float, float] | None = None
) -> tuple[float, float, float]:
    """Fit v = c0 + c1 t through as many points as lie within `slack`; also gives their share.

    With `slopes`, c1 lies between these two.
    """
    n = len(t)
    ends = np.linspace(0, n - 1, min(n, 24)).astype(np.intp)
    i, j = np.meshgrid(ends, ends)
    apart = (j - i) > 0.3 * n
    i, j = i[apart], j[apart]
    slope = (v[j] - v[i]) / (t[j] - t[i])
    if slopes is not None:
        slope = np.clip(slope, *slopes)
    start = v[i] - slope * t[i]
    close = np.abs(start[:, None] + slope[:, None] * t[None, :] - v[None, :]) <= slack
    best = int(np.argmax(close.sum(axis=1)))
    use = close[best]
    basis = np.stack([np.ones_like(t), t], axis=1)
    c = np.linalg.lstsq(basis[use], v[use], rcond=None)[0]
    if slopes is not None and not slopes[0] <= c[1] <= slopes[1]:
        c = np.array([start[best], slope[best]])
    share = float((np.abs(basis @ c - v) <= slack).mean())
    return float(c[0]), float(c[1]), share


def _four_lines(upright: BoolMask, slack: float) -> tuple[list[Points], list[float]]:
    """Fit the four sides of a region that stands upright, top first, clockwise; also gives their shares."""
    borders, fits = [], []
    for k in range(4):
        # side k looked at from outside: rows of `face` run from it inwards
        face = np.rot90(upright, k)
        used = np.flatnonzero(face.any(axis=0))
        n = used.size
        used = used[int(0.08 * n) : max(int(0.92 * n), int(0.08 * n) + 2)]
        first = np.argmax(face[:, used], axis=0).astype(np.float64) - 0.5
        borders.append((used.astype(np.float64), first))
        fits.append(_robust_line(*borders[k], slack))
    lines, shares = [], []
    rows, cols = upright.shape
    for k, fit in enumerate(fits):
        across = fits[(k + 2) % 4]
        if fit[2] < min(_UNSURE, across[2]) and abs(fit[1] - across[1]) > _CONVERGE:
            fit = _robust_line(*borders[k], slack, (across[1] - _CONVERGE, across[1] + _CONVERGE))
        far = (cols, rows)[k % 2] - 1.0
        ends = np.array([[0.0, fit[0]], [far, fit[0] + fit[1] * far]])
        if k == 1:
            ends = np.stack([cols - 1 - ends[:, 1], ends[:, 0]], axis=1)
        elif k == 2:
            ends = np.stack([cols - 1 - ends[:, 0], rows - 1 - ends[:, 1]], axis=1)
        elif k == 3:
            ends = np.stack([ends[:, 1], rows - 1 - ends[:, 0]], axis=1)
        lines.append(ends)
        shares.append(fit[2])
    return lines, shares


def fit_quad(mask: BoolMask) -> tuple[Points, float, float]:
    """Fit a quadrilateral to a region by four robust sides, so that bumps and bites hardly move it.

    Parameters
    ----------
    mask : (rows, cols) bool, one connected region

    Returns
    -------
    corners : (4, 2) x, y, clockwise from the top left as seen
    fill : intersection over union of region and quadrilateral, 0..1
    straight : share of each side's length that lies on its line, the least of the four sides, 0..1
    """
    contour = contour_of(mask)
    box = order_corners(cv2.boxPoints(cv2.minAreaRect(contour.astype(np.float32))).astype(np.float64))
    quad = box
    for _ in range(2):
        width, height = np.hypot(*(box[1] - box[0])), np.hypot(*(box[3] - box[0]))
        if min(width, height) < 6:
            return order_corners(quad), 0.0, 0.0
        pad = 4
        size = (int(np.ceil(width)) + 2 * pad, int(np.ceil(height)) + 2 * pad)
        upright = np.array([[pad, pad], [pad + width, pad], [pad + width, pad + height]], np.float32)
        turn = cv2.getAffineTransform(box[:3].astype(np.float32), upright)
        upright_mask = cv2.warpAffine(mask.astype(np.uint8), turn, size, flags=cv2.INTER_NEAREST) > 0
        lines, shares = _four_lines(upright_mask, max(1.0, 0.012 * min(width, height)))
        corners = np.array([meet(lines[k - 1], lines[k]) for k in range(4)])
        quad = cv2.transform(corners.reshape(1, -1, 2), cv2.invertAffineTransform(turn).astype(np.float64))[0]
        box = order_corners(cv2.boxPoints(cv2.minAreaRect(quad.astype(np.float32))).astype(np.float64))
    drawn = polygon_mask(quad, mask.shape)
    union = float((drawn | mask).sum())
    fill = float((drawn & mask).sum()) / union if union else 0.0
    return order_corners(quad), fill, min(shares)


def sample_profiles(
    pixels: ByteImage, points: Points, normals: Points, offsets: NDArray[np.float64]
) -> FloatImage:
    """Sample CIELAB along normals: (points, offsets, 3)."""
    x = points[:, None, 0] + normals[:, None, 0] * offsets[None, :]
    y = points[:, None, 1] + normals[:, None, 1] * offsets[None, :]
    left, top = int(max(0, np.floor(x.min()) - 2)), int(max(0, np.floor(y.min()) - 2))
    right = int(min(pixels.shape[1], np.ceil(x.max()) + 3))
    low = int(min(pixels.shape[0], np.ceil(y.max()) + 3))
    if right - left < 2 or low - top < 2:
        return np.zeros((*x.shape, 3), np.float32)
    strip = cv2.remap(
        pixels[top:low, left:right],
        (x - left).astype(np.float32),
        (y - top).astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return np.asarray(cv2.cvtColor(strip.astype(np.float32) / np.float32(255), cv2.COLOR_RGB2LAB), np.float32)


def edge_strength(profiles: FloatImage, along: int, spread: float) -> FloatImage:
    """Colour change across the normal, averaged along the outline: (points, offsets)."""
    smooth = cv2.blur(profiles, (1, max(1, along)))
    smooth = cv2.GaussianBlur(smooth, (0, 0), sigmaX=spread, sigmaY=0.01)
    step = np.zeros(profiles.shape[:2], np.float32)
    change = smooth[:, 2:] - smooth[:, :-2]
    step[:, 1:-1] = np.sqrt((change**2).sum(axis=2))
    return step


def line_scores(
    strength: FloatImage, most_slope: int
) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.float64]]:
    """Score every line across the offsets of a side by the mean capped edge under it.

    Parameters
    ----------
    strength : (samples, offsets)
    most_slope : most offsets between a line's ends

    Returns
    -------
    first, last : offset index at the first and the last sample, of each line
    score : 0..1
    """
    count, steps = strength.shape
    reference = max(1.0, float(np.percentile(strength, 92)))
    capped = np.minimum(strength / reference, 1.0)
    first, last, under = _lines_over(count, steps, most_slope)
    score = capped.ravel()[under].mean(axis=1)
    return first, last, np.asarray(score, dtype=np.float64)


@cache
def _lines_over(
    count: int, steps: int, most_slope: int
) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.intp]]:
    """Give every line's first and last offset, and (lines, count) places under it in a raveled strip."""
    first = np.repeat(np.arange(steps), 2 * most_slope + 1)
    last = first + np.tile(np.arange(-most_slope, most_slope + 1), steps)
    good = (last >= 0) & (last < steps)
    first, last = first[good], last[good]
    t = np.linspace(0, 1, count)
    at = np.rint(first[:, None] + (last - first)[:, None] * t[None, :]).astype(np.intp)
    return first, last, at + np.arange(count)[None, :] * steps


def _best_line(strength: FloatImage, most_slope: int, pull: float) -> tuple[float, float, float]:
    """Find the line offset0 -> offset1 along a side with the most edge under it.

    Returns
    -------
    Offsets (in steps from the middle) at the first and last sample, and the mean capped strength.
    """
    count, steps = strength.shape
    reference = max(1.0, float(np.percentile(strength, 92)))
    capped = np.minimum(strength / reference, 1.0)
    middle = (steps - 1) / 2
    first, last, score = line_scores(strength, most_slope)
    t = np.linspace(0, 1, count)
    away = (np.abs(first - middle) + np.abs(last - middle)) / (2 * max(middle, 1))
    k = int(np.argmax(score - pull * away))
    at = np.rint(first[k] + (last[k] - first[k]) * t).astype(np.intp)
    # settle between steps: weighted mean of strength near the line, fitted by least squares
    near = np.clip(at[:, None] + np.arange(-2, 3)[None, :], 0, steps - 1)
    weight = capped[np.arange(count)[:, None], near] ** 2
    total = weight.sum(axis=1)
    where = (weight * near).sum(axis=1) / np.maximum(total, 1e-6)
    w = np.sqrt(total)
    basis = np.stack([1 - t, t], axis=1)
    ends, *_ = np.linalg.lstsq(basis * w[:, None], where * w, rcond=None)
    if np.abs(ends - np.array([first[k], last[k]])).max() > 2.5:
        ends = np.array([first[k], last[k]], dtype=np.float64)
    return float(ends[0] - middle), float(ends[1] - middle), float(score[k] * reference)


def meet(a: Points, b: Points) -> Points:
    """Intersect two lines given by two points each."""
    (x1, y1), (x2, y2), (x3, y3), (x4, y4) = a[0], a[1], b[0], b[1]
    d = (x1 - x2) * (y3 - y4) - (y1 - y2) * (x3 - x4)
    if abs(d) < 1e-9:
        return np.asarray((a[1] + b[0]) / 2, dtype=np.float64)
    p, q = x1 * y2 - y1 * x2, x3 * y4 - y3 * x4
    return np.array([(p * (x3 - x4) - (x1 - x2) * q) / d, (p * (y3 - y4) - (y1 - y2) * q) / d])


def refine_quad(
    pixels: ByteImage, corners: Points, reach_px: float, settings: TileSettings
) -> tuple[Points, NDArray[np.float64]]:
    """Move each side of a quadrilateral onto the straight edge within reach, then meet the sides again.

    Parameters
    ----------
    pixels : (rows, cols, 3) uint8 sRGB
    corners : (4, 2) clockwise
    reach_px : how far to look on either side, photo pixels

    Returns
    -------
    corners : (4, 2)
    support : (4,) mean colour change across each side, CIELAB units a step
    """
    lines, support = [], []
    half = settings.edge_steps
    offsets = np.linspace(-reach_px, reach_px, 2 * half + 1)
    for k in range(4):
        a, b = corners[k], corners[(k + 1) % 4]
        along = b - a
        length = float(np.hypot(*along))
        if length < 4:
            return corners, np.zeros(4)
        normal = np.array([along[1], -along[0]]) / length
        ends = (settings.edge_corner_margin, 1 - settings.edge_corner_margin)
        t = np.linspace(ends[0], ends[1], settings.edge_samples)
        points = a + t[:, None] * along
        normals = np.repeat(normal[None, :], len(points), axis=0)
        strength = edge_strength(sample_profiles(pixels, points, normals, offsets), 5, 1.2)
        inside = (points[:, 0] >= 0) & (points[:, 0] < pixels.shape[1])
        inside &= (points[:, 1] >= 0) & (points[:, 1] < pixels.shape[0])
        if inside.mean() < 0.5:
            lines.append(np.stack([a, b]))
            support.append(0.0)
            continue
        o0, o1, s = _best_line(strength, half // 2, settings.edge_pull)
        step = reach_px / half
        lines.append(np.stack([points[0] + normal * o0 * step, points[-1] + normal * o1 * step]))
        support.append(s)
    moved = np.array([meet(lines[k - 1], lines[k]) for k in range(4)])
    if np.abs(moved - corners).max() > 4 * reach_px + 2:
        return corners, np.array(support)
    return moved, np.array(support)


def _normals(points: Points) -> Points:
    tangent = np.roll(points, -2, axis=0) - np.roll(points, 2, axis=0)
    tangent /= np.maximum(np.hypot(tangent[:, 0], tangent[:, 1]), 1e-9)[:, None]
    return np.stack([tangent[:, 1], -tangent[:, 0]], axis=1)


def edge_along(pixels: ByteImage, outline: Points, reach_px: float) -> FloatImage:
    """Give the strongest colour change across a closed curve within reach, at each of its points."""
    offsets = np.linspace(-reach_px, reach_px, 25)
    strength = edge_strength(sample_profiles(pixels, outline, _normals(outline), offsets), 3, 1.0)
    return np.asarray(strength.max(axis=1), dtype=np.float32)


def snap_contour(pixels: ByteImage, contour: Points, reach_px: float, settings: TileSettings) -> Points:
    """Pull a closed curve onto the strongest smooth edge within reach (dynamic programming along it).

    Parameters
    ----------
    pixels : (rows, cols, 3) uint8 sRGB
    contour : (n, 2) closed curve, photo pixels
    reach_px : how far to look on either side

    Returns
    -------
    (settings.outline_points, 2) closed curve
    """
    closed = np.vstack([contour, contour[:1]])
    run = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    count = settings.outline_points
    at = np.linspace(0, run[-1], count, endpoint=False)
    points = np.stack([np.interp(at, run, closed[:, 0]), np.interp(at, run, closed[:, 1])], axis=1)
    wide = np.vstack([points[-4:], points, points[:4]])
    points = np.stack([cv2.blur(wide[:, i : i + 1], (1, 3)).ravel()[4:-4] for i in (0, 1)], axis=1)
    normals = _normals(points)
    half = settings.edge_steps
    offsets = np.linspace(-reach_px, reach_px, 2 * half + 1)
    strength = edge_strength(sample_profiles(pixels, points, normals, offsets), 3, 1.2)
    reference = max(1.0, float(np.percentile(strength, 90)))
    gain = np.minimum(strength / reference, 1.0) - settings.edge_pull * np.abs(offsets)[None, :] / reach_px
    steps = gain.shape[1]
    total = gain[0].copy()
    back = np.zeros((count, steps), np.intp)
    for i in range(1, count):
        options = np.stack([np.roll(total, s) - settings.snap_stiffness * abs(s) for s in (-2, -1, 0, 1, 2)])
        options[0, -2:] = options[1, -1:] = -np.inf
        options[4, :2] = options[3, :1] = -np.inf
        choice = np.argmax(options, axis=0)
        back[i] = np.arange(steps) - (choice - 2)
        total = options[choice, np.arange(steps)] + gain[i]
    path = np.zeros(count, np.intp)
    path[-1] = int(np.argmax(total))
    for i in range(count - 1, 0, -1):
        path[i - 1] = back[i, path[i]]
    return np.asarray(points + normals * offsets[path][:, None], dtype=np.float64)
