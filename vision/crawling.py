"""Crawling: bare patches the glaze has drawn back from, enclosed in the glaze or biting into it."""

from __future__ import annotations

import cv2
import numpy as np

from vision.reading import Crawling
from vision.settings import CrawlingSettings
from vision.surface import BoolMask, Surface

__all__ = ["detect_crawling"]


def detect_crawling(surface: Surface, settings: CrawlingSettings) -> tuple[Crawling, BoolMask]:
    """Find bare patches inside the glaze.

    Parameters
    ----------
    surface : the surface, (rows, cols)
    settings : thresholds

    Returns
    -------
    Crawling, and (rows, cols) bool True on the patches. `area_fraction` is of glaze and patches together.

    Notes
    -----
    A foot strip or wax line runs along a whole side of the piece and is not counted. A skip (missed with
    the brush) looks alike and is counted: the lip that parts them is not judged here.
    """
    mask = np.zeros(surface.glazed.shape, bool)
    glazed_px = int(surface.glazed.sum())
    if glazed_px == 0 or not surface.bare.any():
        return Crawling(False, 0.02, 0.0, 0), mask
    if surface.mm_per_px is None:
        smallest_px = settings.smallest_spot_fraction * glazed_px
    else:
        smallest_px = settings.smallest_spot_mm2 / surface.mm_per_px**2
    bare = surface.bare & surface.piece & ~surface.glazed
    count, labels, stats, _ = cv2.connectedComponentsWithStats(bare.astype(np.uint8), connectivity=8)
    ys, xs = np.nonzero(surface.piece.any(axis=1))[0], np.nonzero(surface.piece.any(axis=0))[0]
    wide, high = int(xs[-1] - xs[0] + 1), int(ys[-1] - ys[0] + 1)
    evidence, spots = 0.0, 0
    kernel = np.ones((3, 3), np.uint8)
    for k in range(1, count):
        area = int(stats[k, cv2.CC_STAT_AREA])
        if area < smallest_px:
            continue
        x, y, w, h = (int(stats[k, i]) for i in range(4))
        touches = x <= xs[0] + 2 or y <= ys[0] + 2 or x + w >= xs[-1] - 1 or y + h >= ys[-1] - 1
        if touches and (w > settings.strip_extent * wide or h > settings.strip_extent * high):
            continue
        box = np.s_[max(y - 2, 0) : y + h + 2, max(x - 2, 0) : x + w + 2]
        patch = (labels[box] == k).astype(np.uint8)
        around = (cv2.dilate(patch, kernel) > 0) & (patch == 0)
        if not around.any():
            continue
        enclosed = float(surface.glazed[box][around].mean()) * _inside_share(surface, patch, box)
        if enclosed < settings.enclosed_fraction:
            continue
        mask[box] |= patch > 0
        spots += 1
        evidence += enclosed * min(area / smallest_px, 6.0)
    patches = int(mask.sum())
    probability = float(1 - 0.98 * np.exp(-evidence / 2))
    present = spots > 0 and probability >= settings.least_probability
    if not present:
        return Crawling(False, min(probability, 0.49), 0.0, 0), np.zeros_like(mask)
    return Crawling(True, probability, patches / (glazed_px + patches), spots), mask


def _inside_share(surface: Surface, patch: np.ndarray, box: tuple[slice, slice]) -> float:
    """Share of the patch's outline that lies on the surface and not at the picture's border."""
    rows, cols = surface.glazed.shape
    edge = patch.copy()
    edge[1:-1, 1:-1] &= (cv2.erode(patch, np.ones((3, 3), np.uint8), borderValue=0)[1:-1, 1:-1] == 0).astype(
        np.uint8
    )
    outline = int(edge.sum())
    cut = 0
    if box[0].start == 0:
        cut += int(patch[0].sum())
    if box[1].start == 0:
        cut += int(patch[:, 0].sum())
    if box[0].stop >= rows:
        cut += int(patch[-1].sum())
    if box[1].stop >= cols:
        cut += int(patch[:, -1].sum())
    return max(0.0, 1 - cut / max(outline, 1))
