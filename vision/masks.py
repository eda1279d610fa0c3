"""Part a straightened piece into glazed, bare clay and glint."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from vision.settings import TileSettings
from vision.surface import BoolMask, FloatImage, bounding_box

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
    high = middle[0] + max(settings.glint_rise, settings.glint_rise_spreads * spread)
    high = max(high, settings.glint_least_lightness)
    grow = 2 * max(1, round(settings.glint_grow_fraction * max(piece.shape))) + 1
    found = np.zeros(piece.shape, dtype=np.bool_)
    bright = (lab[..., 0] > min(high, settings.glint_white_lightness)) & piece
    if not bright.any():
        return found
    box = bounding_box(bright, margin_px=grow)
    lightness, a, b = cv2.split(lab[box])
    chroma = cv2.magnitude(a, b)
    covered = (lightness > high) & (chroma < 0.7 * chroma_of + 6.0)
    white = (lightness > settings.glint_white_lightness) & (chroma < settings.glint_white_chroma)
    glint = ((covered | white) & piece[box]).view(np.uint8)
    glint = cv2.morphologyEx(glint, cv2.MORPH_OPEN, np.ones((2, 2), np.uint8))
    found[box] = (cv2.dilate(glint, np.ones((grow, grow), np.uint8)) > 0) & piece[box]
    return found


def part_surface(
    lab: FloatImage,
    piece: BoolMask,
    bare_chance: FloatImage | None,
    slack_px: float,
    settings: TileSettings,
) -> Parts:
    """Part a piece into glaze and bare clay.

    Parameters
    ----------
    lab : (rows, cols, 3) float32 CIELAB of the straightened view
    piece : (rows, cols) bool
    bare_chance : (rows, cols) float32, chance 0..1 of clay rather than glaze; None: all is glaze
    slack_px : how far, in pixels of the view, the chance may put the glaze line wrong

    Returns
    -------
    `Parts`, at the view's resolution
    """
    none = np.zeros(piece.shape, dtype=np.bool_)
    if bare_chance is None or not piece.any():
        return Parts(piece.copy(), none, find_glint(lab, piece, settings))
    least_px = settings.bare_crumb * float(piece.sum())
    bare = _without_islands(_without_crumbs((bare_chance > 0.5) & piece, least_px), piece, least_px)
    white = (lab[..., 0] > settings.glint_white_lightness) & piece
    bare = _weighed(lab, piece, bare_chance, bare, white, settings)
    bare = _without_islands(_without_crumbs(bare, least_px), piece, least_px)
    bare = _sharpen(lab, piece, bare, white, slack_px)
    glazed = piece & ~bare
    return Parts(glazed, bare, find_glint(lab, glazed, settings))


def _without_crumbs(mask: BoolMask, least_px: float) -> BoolMask:
    """Leave out connected parts of a mask smaller than `least_px` pixels."""
    box = bounding_box(mask)
    _, labels, stats, _ = cv2.connectedComponentsWithStats(mask[box].view(np.uint8), connectivity=4)
    keep = stats[:, cv2.CC_STAT_AREA] >= least_px
    keep[0] = False
    kept = np.zeros_like(mask)
    kept[box] = keep[labels]
    return kept


def _without_islands(bare: BoolMask, piece: BoolMask, least_px: float) -> BoolMask:
    """Take parts of a piece that bare clay cuts off, smaller than `least_px` pixels, for clay too."""
    box = bounding_box(bare, margin_px=1)  # what reaches beyond it is joined to the glaze out there
    glaze = piece[box] & ~bare[box]
    _, labels, stats, _ = cv2.connectedComponentsWithStats(glaze.view(np.uint8), connectivity=4)
    keep = stats[:, cv2.CC_STAT_AREA] >= least_px
    (top, low), (left, right) = ((part.start, part.stop) for part in box)
    sides = (labels[0], top), (labels[-1], bare.shape[0] - low), (labels[:, 0], left)
    for side, beyond in (*sides, (labels[:, -1], bare.shape[1] - right)):
        if beyond > 0:
            keep[side] = True
    keep[0] = False
    filled = bare.copy()
    filled[box] = piece[box] & ~keep[labels]
    return filled


def _weighed(
    lab: FloatImage,
    piece: BoolMask,
    chance: FloatImage,
    bare: BoolMask,
    glint: BoolMask,
    settings: TileSettings,
) -> BoolMask:
    """Decide places the net is unsure of by colour: by what the places it is sure of look like.

    Colours are told by the nearest of a few medians of clay and of glaze, in a small picture.
    """
    step = 1 + max(piece.shape) // settings.weighed_side_px
    thin = (slice(step // 2, None, step), slice(step // 2, None, step))
    small = np.stack([cv2.medianBlur(np.ascontiguousarray(lab[..., i][thin]), 5) for i in range(3)], axis=-1)
    near, inside = np.clip(chance[thin], 1e-3, 1 - 1e-3), piece[thin] & ~glint[thin]
    sure = settings.weighed_sure
    looks = []
    for known in (inside & (near > sure) & bare[thin], inside & (near < 1 - sure) & ~bare[thin]):
        if known.sum() < settings.weighed_least_px:
            return bare
        looks.append(_colours(small[known]))
    # glaze that the net took for clay, as under a reflection, is no look of clay where the clay has another
    unlike = np.linalg.norm(looks[0][:, None] - looks[1][None], axis=-1).min(axis=1) > settings.weighed_alike
    looks[0] = looks[0][unlike] if unlike.any() else looks[0]
    apart = []
    for middles in looks:
        off = small[:, :, None] - middles[None, None]
        apart.append(np.sqrt((off**2).sum(axis=-1)).min(axis=-1))
    most = settings.weighed_most
    colour = np.clip((apart[1] - apart[0]) / settings.weighed_delta_e, -most, most)
    net = settings.weighed_net
    odds = np.clip(np.log(near / (1 - near)), -net, net) + colour
    odds = cv2.GaussianBlur(odds.astype(np.float32), (0, 0), 1.0)
    whole = cv2.resize(odds, (piece.shape[1], piece.shape[0]), interpolation=cv2.INTER_LINEAR)
    return np.asarray((whole > 0) & piece, dtype=np.bool_)


def _colours(seen: FloatImage) -> FloatImage:
    """Give a few colours (k, 3) that stand for many (n, 3)."""
    seen = np.ascontiguousarray(seen[:: 1 + len(seen) // 1500], np.float32)
    cv2.setRNGSeed(7)
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 10, 0.3)
    _, labels, middles = cv2.kmeans(seen, min(4, len(seen)), None, stop, 1, cv2.KMEANS_PP_CENTERS)
    common = np.bincount(labels.ravel(), minlength=len(middles)) >= 0.06 * len(seen)
    return np.asarray(middles[common], np.float32)


def _sharpen(lab: FloatImage, piece: BoolMask, bare: BoolMask, glint: BoolMask, slack_px: float) -> BoolMask:
    """Redraw the glaze line at full resolution: near it, each pixel goes to the colour it is nearer to."""
    if not bare.any() or bare.all():
        return bare
    width = 2 * max(2, round(slack_px)) + 1
    kernel = np.ones((width, width), np.uint8)
    box = bounding_box(bare, margin_px=width + 3)
    bare8 = bare[box].view(np.uint8)
    unsure = np.zeros(bare.shape, np.bool_)
    unsure[box] = (cv2.dilate(bare8, kernel) > 0) & ~(cv2.erode(bare8, kernel) > 0)
    unsure[box] &= piece[box] & ~glint[box]
    step = 1 + int(np.sqrt(piece.size / 40000))
    thin = (slice(None, None, step), slice(None, None, step))
    clear = ~unsure[thin]
    clay_at, glaze_at = bare[thin] & clear, piece[thin] & ~bare[thin] & clear & ~glint[thin]
    if clay_at.sum() < 10 or glaze_at.sum() < 10:
        return bare
    clay, glaze = np.median(lab[thin][clay_at], axis=0), np.median(lab[thin][glaze_at], axis=0)
    line = lab[box][unsure[box]]
    nearer = ((line - clay) ** 2).sum(axis=1) < ((line - glaze) ** 2).sum(axis=1)
    out = bare.copy()
    out[unsure] = nearer
    out[box] = (cv2.medianBlur(out[box].view(np.uint8), 5) > 0) & piece[box]
    return out
