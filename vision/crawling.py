"""Crawling: bare patches the glaze has drawn back from, enclosed in the glaze or biting into it."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.crawl_patches import PATCH_FEATURE_NAMES, Patches, find_patches, least_area_px
from vision.marks.forest import Forest, fitted_arrays, forest_from_arrays
from vision.reading import Crawling
from vision.settings import CrawlingSettings
from vision.surface import BoolMask, Surface

__all__ = ["MODEL_FILE", "detect_crawling", "patch_probabilities", "without_patches"]

MODEL_FILE = Path(__file__).with_name("crawling_model.npz")


@cache
def _model(path: Path = MODEL_FILE) -> tuple[Forest, float, float]:
    """Load the trees and the line that calibrates them; no pickle is read.

    Raises
    ------
    ValueError : the file was fitted on other features.
    """
    arrays = fitted_arrays(path, PATCH_FEATURE_NAMES)
    return forest_from_arrays(arrays, "bare"), float(arrays["line"][0]), float(arrays["line"][1])


def patch_probabilities(features: NDArray[np.float32]) -> NDArray[np.float32]:
    """Give each patch's probability to be crawled, (n,) float32, from (n, features)."""
    forest, slope, offset = _model()
    odds = slope * forest.sums(features)[:, 0] + offset
    return np.asarray(1 / (1 + np.exp(-np.clip(odds, -12, 12))), np.float32)


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
    A foot or wax line runs along a side of the piece and is not counted. A skip (missed with the brush) looks
    alike and may be counted. Patches under about 1 mm across are left to the marks.
    """
    nothing = np.zeros(surface.glazed.shape, bool)
    if not surface.glazed.any():
        return Crawling(False, 0.02, 0.0, 0), nothing
    patches = find_patches(surface, settings)
    if len(patches.features) == 0:
        return Crawling(False, 0.02, 0.0, 0), nothing
    chance = patch_probabilities(patches.features)
    best = float(chance.max())
    if best < settings.least_probability:
        return Crawling(False, best, 0.0, 0), nothing
    mask = _grown(_painted(patches, chance >= settings.least_probability), surface)
    least_px = least_area_px(surface, patches.factor, patches.glazed_px, settings) / patches.factor**2
    mask, spots = _without_crumbs(mask, least_px)
    ground = int(((surface.glazed | mask) & surface.piece).sum())
    return Crawling(True, best, float(mask.sum()) / max(1, ground), spots), mask


def _without_crumbs(mask: BoolMask, least_px: float) -> tuple[BoolMask, int]:
    """Leave out patches smaller than is counted; gives the mask and how many stay, at least the largest."""
    _, labels, stats, _ = cv2.connectedComponentsWithStats(mask.astype(np.uint8), connectivity=8)
    areas = stats[1:, cv2.CC_STAT_AREA]
    large = areas >= min(least_px, areas.max(initial=0))
    return np.asarray(np.append(False, large)[labels], np.bool_), int(large.sum())


def without_patches(surface: Surface, crawled: BoolMask) -> Surface:
    """Give the surface without its crawled patches, so that no mark is looked for on the bare clay in them.

    Parameters
    ----------
    surface : the surface, (rows, cols)
    crawled : (rows, cols) bool, from `detect_crawling`
    """
    if not crawled.any():
        return surface
    return replace(surface, piece=surface.piece & ~crawled, glazed=surface.glazed & ~crawled)


def _painted(patches: Patches, chosen: NDArray[np.bool_]) -> BoolMask:
    painted = np.zeros(patches.shape, np.bool_)
    for index in np.nonzero(chosen)[0]:
        rows, cols, mask = patches.masks[index]
        painted[rows, cols] |= mask
    return painted


def _grown(small: BoolMask, surface: Surface) -> BoolMask:
    """Bring the patches to full size, without their holes no larger than a grain."""
    closed = cv2.morphologyEx(small.astype(np.uint8), cv2.MORPH_CLOSE, np.ones((3, 3), np.uint8))
    rows, cols = surface.piece.shape
    full = cv2.resize(closed.astype(np.float32), (cols, rows), interpolation=cv2.INTER_LINEAR) > 0.5
    side = 2 * int(np.ceil(1.5 * max(rows / small.shape[0], 1))) + 1
    reach = np.ones((side, side), np.uint8)
    # where the bare mask knows the patch, its outline is the finer one
    known = (cv2.dilate(full.astype(np.uint8), reach) > 0) & surface.bare
    apart = full & ~(cv2.dilate(known.astype(np.uint8), reach) > 0)
    return np.asarray((known | apart) & surface.piece, np.bool_)
