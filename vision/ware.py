"""Ware: a round pot's silhouette made whole, and the part of it that faces the camera."""

from __future__ import annotations

import cv2
import numpy as np

from vision.segment import Scene
from vision.settings import TileSettings
from vision.surface import BoolMask

__all__ = ["facing_part", "tidy_ware"]


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
    """
    ys, xs = np.nonzero(mask)
    rows, cols = mask.shape
    pad = round(0.15 * max(np.ptp(ys), np.ptp(xs)))
    top, low = max(0, ys.min() - pad), min(rows, ys.max() + pad + 1)
    left, right = max(0, xs.min() - pad), min(cols, xs.max() + pad + 1)
    shrink = min(1.0, settings.ware_cut_px / max(low - top, right - left))
    size = (max(8, round((right - left) * shrink)), max(8, round((low - top) * shrink)))
    crop = np.clip(
        scene.lab[top:low, left:right] * np.array([2.55, 2.0, 2.0]) + np.array([0, 128, 128]), 0, 255
    )
    # a shadow keeps its hue, so lightness counts half
    crop[..., 0] = 64 + 0.5 * crop[..., 0]
    small = cv2.resize(crop.astype(np.uint8), size, interpolation=cv2.INTER_AREA)
    inside = cv2.resize(mask[top:low, left:right].astype(np.uint8), size, interpolation=cv2.INTER_AREA)
    hull = np.zeros_like(inside)
    contours, _ = cv2.findContours(inside, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    cv2.fillConvexPoly(hull, cv2.convexHull(max(contours, key=cv2.contourArea)), 1)
    far = max(3, round(0.1 * max(size)))
    core = cv2.erode(inside, np.ones((far, far), np.uint8))
    labels = np.full(inside.shape, cv2.GC_BGD, np.uint8)
    labels[cv2.dilate(hull, np.ones((7, 7), np.uint8)) > 0] = cv2.GC_PR_BGD
    dim = cv2.resize(shadow[top:low, left:right].astype(np.uint8), size, interpolation=cv2.INTER_NEAREST)
    dim = cv2.morphologyEx(dim, cv2.MORPH_OPEN, np.ones((5, 5), np.uint8))
    labels[inside > 0] = cv2.GC_PR_FGD
    labels[core > 0] = cv2.GC_FGD
    labels[(inside > 0) & (dim > 0)] = cv2.GC_PR_BGD
    if not core.any() or (labels == cv2.GC_BGD).sum() < 20:
        return mask
    cv2.setRNGSeed(7)
    cv2.grabCut(
        small,
        labels,
        None,
        np.zeros((1, 65)),
        np.zeros((1, 65)),
        settings.ware_cut_rounds,
        cv2.GC_INIT_WITH_MASK,
    )
    cut = ((labels == cv2.GC_FGD) | (labels == cv2.GC_PR_FGD)).astype(np.uint8)
    cut = cv2.morphologyEx(cut, cv2.MORPH_OPEN, np.ones((5, 5), np.uint8))
    contours, _ = cv2.findContours(cut, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    if not contours:
        return mask
    whole = np.zeros_like(cut)
    cv2.drawContours(whole, [max(contours, key=cv2.contourArea)], -1, 1, -1)
    if whole.sum() < 0.5 * inside.sum():
        return mask
    back = cv2.resize(whole * 255, (right - left, low - top), interpolation=cv2.INTER_LINEAR) > 127
    out = np.zeros_like(mask)
    out[top:low, left:right] = back
    return out


def facing_part(silhouette: BoolMask, settings: TileSettings) -> BoolMask:
    """Leave out the rim of a silhouette, where a round pot's surface turns away from the camera."""
    padded = np.pad(silhouette.astype(np.uint8), 1)
    depth = cv2.distanceTransform(padded, cv2.DIST_L2, 3)[1:-1, 1:-1]
    return np.asarray(depth > settings.rim_fraction * float(depth.max()), dtype=np.bool_)
