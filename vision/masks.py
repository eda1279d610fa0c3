"""Part a straightened piece into glazed, bare clay and glint."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.reading import Subject
from vision.settings import TileSettings
from vision.surface import BoolMask, FloatImage

__all__ = ["Parts", "find_glint", "part_surface"]


@dataclass(frozen=True, slots=True, eq=False)
class Parts:
    """Masks of one view, each (rows, cols) bool: glazed (glint included), bare clay, glint."""

    glazed: BoolMask
    bare: BoolMask
    glint: BoolMask


def find_glint(lab: FloatImage, piece: BoolMask, settings: TileSettings) -> BoolMask:
    """Find where the reflection of a lamp or window covers the colour.

    Parameters
    ----------
    lab : (rows, cols, 3) float32 CIELAB
    piece : (rows, cols) bool

    Returns
    -------
    (rows, cols) bool: near-white, or much lighter than the piece and with less colour than it.
    """
    if not piece.any():
        return np.zeros(piece.shape, dtype=np.bool_)
    small = piece[::4, ::4]
    if not small.any():
        return np.zeros(piece.shape, dtype=np.bool_)
    seen = lab[::4, ::4][small]
    middle = np.median(seen, axis=0)
    spread = 1.4826 * float(np.median(np.abs(seen[:, 0] - middle[0])))
    chroma_of = float(np.hypot(middle[1], middle[2]))
    lightness = lab[..., 0]
    chroma = cv2.magnitude(np.ascontiguousarray(lab[..., 1]), np.ascontiguousarray(lab[..., 2]))
    high = middle[0] + max(settings.glint_rise, settings.glint_rise_spreads * spread)
    covered = (lightness > max(high, settings.glint_least_lightness)) & (chroma < 0.7 * chroma_of + 6.0)
    white = (lightness > settings.glint_white_lightness) & (chroma < settings.glint_white_chroma)
    glint = ((covered | white) & piece).astype(np.uint8)
    glint = cv2.morphologyEx(glint, cv2.MORPH_OPEN, np.ones((2, 2), np.uint8))
    grow = 2 * max(1, round(settings.glint_grow_fraction * max(piece.shape))) + 1
    return np.asarray((cv2.dilate(glint, np.ones((grow, grow), np.uint8)) > 0) & piece, dtype=np.bool_)


def part_surface(lab: FloatImage, piece: BoolMask, subject: Subject, settings: TileSettings) -> Parts:
    """Part a piece into glaze and bare clay; a piece of one kind is left whole.

    Parameters
    ----------
    lab : (rows, cols, 3) float32 CIELAB of the straightened view
    piece : (rows, cols) bool
    subject : a patch is glaze all over; ware may be bare at its foot; a tile at any end

    Returns
    -------
    `Parts`, at the view's resolution
    """
    none = np.zeros(piece.shape, dtype=np.bool_)
    if subject is Subject.PATCH or not piece.any():
        return Parts(piece.copy(), none, find_glint(lab, piece, settings))
    white = (lab[..., 0] > settings.glint_white_lightness) & piece
    scale = min(1.0, settings.mask_long_side_px / max(piece.shape))
    size = (max(8, round(piece.shape[1] * scale)), max(8, round(piece.shape[0] * scale)))
    small = cv2.medianBlur(cv2.resize(lab, size, interpolation=cv2.INTER_AREA), 5)
    inside = cv2.resize(piece.astype(np.uint8), size, interpolation=cv2.INTER_AREA) > 0
    bright = cv2.resize(white.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST) > 0
    strip = _bare_end(small, inside, bright, subject, settings)
    if strip is None:
        return Parts(piece.copy(), none, find_glint(lab, piece, settings))
    bare_small = _spread_bare(small, inside, bright, strip, settings)
    soft = cv2.resize(bare_small.astype(np.float32), piece.shape[::-1], interpolation=cv2.INTER_LINEAR)
    bare = (soft > 0.5) & piece
    bare = _sharpen(lab, piece, bare, white, settings)
    glazed = piece & ~bare
    return Parts(glazed, bare, find_glint(lab, glazed, settings))


def _bare_end(
    lab: FloatImage, inside: BoolMask, glint: BoolMask, subject: Subject, settings: TileSettings
) -> BoolMask | None:
    """Look for a strip of bare clay at an end of the piece; None when no end looks like one."""
    ware = subject is Subject.WARE
    best, found = settings.bare_least_score_of_ware if ware else settings.bare_least_score, None
    most = settings.bare_most_of_ware if subject is Subject.WARE else settings.bare_most
    masked = np.where((inside & ~glint)[..., None], lab, np.float32(np.nan))
    for axis, turns in ((1, (0, 2)), (0, (1, 3))):
        counts = (inside & ~glint).sum(axis=axis)
        used = np.flatnonzero(counts > 0.25 * max(1, counts.max()))
        if used.size < 12:
            continue
        first, last = int(used[0]), int(used[-1]) + 1
        lines = masked[first:last] if axis == 1 else masked[:, first:last].transpose(1, 0, 2)
        lines = np.where((counts[first:last] > 0)[:, None, None], lines, np.float32(0.0))
        profile = np.nanmedian(lines, axis=1).astype(np.float32)
        profile = cv2.blur(profile.reshape(-1, 1, 3), (1, 3)).reshape(-1, 3)
        for turn in turns:
            # turn 0: from the top, 1: from the right, 2: from the bottom, 3: from the left
            if subject is Subject.WARE and turn != 2:
                continue
            score, split = _split_score(profile if turn in (0, 3) else profile[::-1], most, settings)
            if score > best:
                strip = np.zeros(inside.shape, dtype=np.bool_)
                if turn == 0:
                    strip[: first + split] = True
                elif turn == 2:
                    strip[last - split :] = True
                elif turn == 3:
                    strip[:, : first + split] = True
                else:
                    strip[:, last - split :] = True
                best, found = score, strip & inside
    return found


def _split_score(profile: FloatImage, widest: float, settings: TileSettings) -> tuple[float, int]:
    """Score the best split of a profile (n, 3) into a bare end (first rows) and glaze; and where."""
    n = len(profile)
    least, most = max(3, round(settings.bare_least * n)), round(widest * n)
    if most <= least:
        return 0.0, 0
    sums = np.concatenate([np.zeros((1, 3)), np.cumsum(profile, axis=0, dtype=np.float64)])
    squares = np.concatenate([np.zeros((1, 3)), np.cumsum(profile.astype(np.float64) ** 2, axis=0)])
    split = np.arange(least, most)
    end = np.maximum(2, split - 1)
    beside = np.minimum(split + 1 + max(3, n // 12), n)
    a = sums[end] / end[:, None]
    within = np.sqrt(np.maximum(squares[end] / end[:, None] - a**2, 0)).sum(axis=1)
    rest = (sums[n] - sums[split + 1]) / (n - split - 1)[:, None]
    near = (sums[beside] - sums[split + 1]) / (beside - split - 1)[:, None]
    gap = np.minimum(np.linalg.norm(a - rest, axis=1), 1.5 * np.linalg.norm(a - near, axis=1))
    clay = np.array([_clay_like(colour) for colour in a])
    score = gap / (settings.bare_spread_floor + 2.0 * within) * clay
    # a sliver at the very edge is always even: of splits about as good the wider one is the strip
    k = int(np.argmax(score * split.astype(np.float64) ** settings.bare_width_power))
    return float(score[k]), int(split[k])


def _clay_like(strip: NDArray[np.float32]) -> float:
    """Weigh 0..1 how far a colour could be fired clay: white to buff to brown, never blue or green."""
    chroma = float(np.hypot(strip[1], strip[2]))
    hue = float(np.degrees(np.arctan2(strip[2], strip[1])))
    neutral = float(np.exp(-((chroma / 7.0) ** 2)))
    warm = float(np.exp(-(((hue - 68.0) / 28.0) ** 2))) * float(
        np.exp(-((max(0.0, chroma - 28.0) / 10.0) ** 2))
    )
    return max(warm, 0.8 * neutral if strip[0] > 45 else 0.5 * neutral)


def _spread_bare(
    lab: FloatImage, inside: BoolMask, glint: BoolMask, strip: BoolMask, settings: TileSettings
) -> BoolMask:
    """Give each pixel to bare clay or glaze by its colour, with the strip and the rest as teachers."""
    core = cv2.erode(strip.astype(np.uint8), np.ones((3, 3), np.uint8)) > 0
    rest = inside & ~strip & ~glint
    if core.sum() < 10 or rest.sum() < 10:
        return strip
    clay = np.median(lab[core], axis=0)
    glaze = np.median(lab[rest], axis=0)
    spread = np.maximum(
        1.4826 * np.median(np.abs(lab[core] - clay), axis=0), np.array(settings.bare_colour_floor, np.float32)
    )
    wide = np.maximum(1.4826 * np.median(np.abs(lab[rest] - glaze), axis=0), spread)
    to_clay = (((lab - clay) / spread) ** 2).sum(axis=2)
    to_glaze = (((lab - glaze) / wide) ** 2).sum(axis=2)
    like = (
        (to_clay + 3 * np.log(spread).sum() < to_glaze + 3 * np.log(wide).sum())
        & (to_clay < settings.bare_farthest)
        & inside
        & ~glint
    )
    like8 = cv2.morphologyEx(like.astype(np.uint8), cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    like8 = cv2.morphologyEx(like8, cv2.MORPH_CLOSE, np.ones((3, 3), np.uint8))
    return np.asarray(like8 > 0, dtype=np.bool_)


def _sharpen(
    lab: FloatImage, piece: BoolMask, bare: BoolMask, glint: BoolMask, settings: TileSettings
) -> BoolMask:
    """Redraw the glaze line at full resolution: near it, each pixel goes to the colour it is nearer to."""
    if not bare.any() or bare.all():
        return bare
    width = 2 * max(2, round(max(piece.shape) / settings.mask_long_side_px)) + 1
    kernel = np.ones((width, width), np.uint8)
    bare8 = bare.astype(np.uint8)
    unsure = (cv2.dilate(bare8, kernel) > 0) & ~(cv2.erode(bare8, kernel) > 0) & piece & ~glint
    step = 1 + int(np.sqrt(piece.size / 40000))
    thin = (slice(None, None, step), slice(None, None, step))
    clay_at, glaze_at = (bare & ~unsure)[thin], (piece & ~bare & ~unsure & ~glint)[thin]
    if clay_at.sum() < 10 or glaze_at.sum() < 10:
        return bare
    clay, glaze = np.median(lab[thin][clay_at], axis=0), np.median(lab[thin][glaze_at], axis=0)
    line = lab[unsure]
    nearer = ((line - clay) ** 2).sum(axis=1) < ((line - glaze) ** 2).sum(axis=1)
    out = bare.copy()
    out[unsure] = nearer
    return np.asarray(cv2.medianBlur(out.astype(np.uint8), 5) > 0, dtype=np.bool_) & piece
