"""Ware: a round pot's silhouette made whole, and the part of it that faces the camera."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.outline import contour_of, edge_along, polygon_area, snap_contour
from vision.segment import Scene
from vision.settings import TileSettings
from vision.surface import BoolMask, ByteImage

__all__ = ["facing_part", "tidy_ware", "ware_outline"]

Points = NDArray[np.float64]


def tidy_ware(scene: Scene, mask: BoolMask, shadow: BoolMask, settings: TileSettings) -> BoolMask:
    """Make a pot's silhouette whole: highlights and washed-out sides come in, cast shadows go out.

    Parameters
    ----------
    scene : the shrunken photo
    mask : (rows, cols) bool, first guess, holes filled
    shadow : (rows, cols) bool, where a shadow on the table would look the same

    Returns
    -------
    (rows, cols) bool

    Notes
    -----
    Graph cut with colour mixtures (Rother, Kolmogorov & Blake 2004). A smooth part that could be shadow
    starts as background, a textured one as pot.
    """
    ys, xs = np.nonzero(mask)
    rows, cols = mask.shape
    pad = round(0.12 * max(np.ptp(ys), np.ptp(xs)))
    top, low = max(0, ys.min() - pad), min(rows, ys.max() + pad + 1)
    left, right = max(0, xs.min() - pad), min(cols, xs.max() + pad + 1)
    shrink = min(1.0, settings.ware_cut_px / max(low - top, right - left))
    size = (max(8, round((right - left) * shrink)), max(8, round((low - top) * shrink)))

    def small(part: NDArray[np.bool_]) -> NDArray[np.uint8]:
        cropped = part[top:low, left:right].astype(np.uint8)
        return np.asarray(cv2.resize(cropped, size, interpolation=cv2.INTER_NEAREST))

    crop = scene.lab[top:low, left:right] * np.array([2.55, 2.5, 2.5]) + np.array([0, 128, 128])
    colours = cv2.resize(np.clip(crop, 0, 255).astype(np.uint8), size, interpolation=cv2.INTER_AREA)
    inside, dim, hard = small(mask), small(shadow), small(mask & ~shadow)
    values = colours.astype(np.float32)
    spread = cv2.blur(values**2, (7, 7)) - cv2.blur(values, (7, 7)) ** 2
    smooth = np.sqrt(np.maximum(spread.sum(axis=2), 0)) < settings.ware_smooth
    far = max(3, round(0.08 * max(size))) | 1
    core = cv2.erode(hard, np.ones((far, far), np.uint8))
    hull = np.zeros_like(inside)
    contours, _ = cv2.findContours(inside, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    cv2.fillConvexPoly(hull, cv2.convexHull(max(contours, key=cv2.contourArea)), 1)
    labels = np.full(inside.shape, cv2.GC_BGD, np.uint8)
    labels[cv2.dilate(hull, np.ones((5, 5), np.uint8)) > 0] = cv2.GC_PR_BGD
    labels[inside > 0] = cv2.GC_PR_FGD
    labels[(inside > 0) & (dim > 0) & smooth] = cv2.GC_PR_BGD
    labels[core > 0] = cv2.GC_FGD
    if not core.any() or (labels == cv2.GC_BGD).sum() < 20:
        return mask
    cv2.setRNGSeed(7)
    models = np.zeros((1, 65)), np.zeros((1, 65))
    cv2.grabCut(colours, labels, None, *models, settings.ware_cut_rounds, cv2.GC_INIT_WITH_MASK)
    cut = ((labels == cv2.GC_FGD) | (labels == cv2.GC_PR_FGD)).astype(np.uint8)
    cut = cv2.morphologyEx(cut, cv2.MORPH_OPEN, np.ones((5, 5), np.uint8))
    if cut.sum() < 0.3 * inside.sum():
        return mask
    width = 2 * round(settings.ware_bay * float(np.sqrt(cut.sum()))) + 1
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (width, width))
    cut = cv2.morphologyEx(np.pad(cut, width), cv2.MORPH_CLOSE, kernel)[width:-width, width:-width]
    contours, _ = cv2.findContours(cut, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    whole = np.zeros_like(cut)
    cv2.drawContours(whole, [max(contours, key=cv2.contourArea)], -1, 1, -1)
    back = cv2.resize(whole * 255, (right - left, low - top), interpolation=cv2.INTER_LINEAR) > 127
    out = np.zeros_like(mask)
    out[top:low, left:right] = back
    return out


def ware_outline(pixels: ByteImage, silhouette: BoolMask, scale: float, settings: TileSettings) -> Points:
    """Pull a silhouette onto its edge, and cut off bulges whose edge is soft: a shadow's, not a pot's.

    Parameters
    ----------
    pixels : (rows, cols, 3) uint8 sRGB
    silhouette : (rows, cols) bool at finding resolution
    scale : finding pixels per photo pixel

    Returns
    -------
    (n, 2) closed outline in photo pixels
    """
    step = 1.0 / scale
    outline = snap_contour(pixels, (contour_of(silhouette) + 0.5) * step - 0.5, 2.5 * step, settings)
    strength = edge_along(pixels, outline, 3.0 * step)
    soft = (strength < settings.ware_soft_edge * float(np.median(strength))).astype(np.uint8)
    wide = np.concatenate([soft[-6:], soft, soft[:6]]).reshape(1, -1)
    soft = cv2.morphologyEx(wide, cv2.MORPH_CLOSE, np.ones((1, 5), np.uint8)).ravel()[6:-6]
    area, kept = polygon_area(outline), outline
    for run in _runs(soft > 0):
        if len(run) < settings.ware_soft_run * len(outline):
            continue
        rest = outline[np.setdiff1d(np.arange(len(outline)), run)]
        bulge = area - polygon_area(rest)
        if 0 < bulge < settings.ware_largest_bulge * area:
            kept = kept[~np.isin(kept, outline[run]).all(axis=1)]
    if len(kept) == len(outline):
        return outline
    return snap_contour(pixels, kept, 2.5 * step, settings)


def _runs(flags: BoolMask) -> list[NDArray[np.intp]]:
    """Give the runs of True round a circle, each as indices."""
    if flags.all() or not flags.any():
        return []
    start = int(np.argmin(flags))
    turned = np.roll(flags, -start).astype(np.int8)
    edges = np.diff(np.concatenate([[0], turned, [0]]))
    begins, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    return [(np.arange(b, e) + start) % len(flags) for b, e in zip(begins, ends, strict=True)]


def facing_part(silhouette: BoolMask, settings: TileSettings) -> BoolMask:
    """Leave out the rim of a silhouette, where a round pot's surface turns away from the camera."""
    padded = np.pad(silhouette.astype(np.uint8), 1)
    depth = cv2.distanceTransform(padded, cv2.DIST_L2, 3)[1:-1, 1:-1]
    return np.asarray(depth > settings.rim_fraction * float(depth.max()), dtype=np.bool_)
