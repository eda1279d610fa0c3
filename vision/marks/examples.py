"""Training and test examples: candidates of a surface joined to the marks known to be there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vision.marks.candidates import (
    build_pyramid,
    find_candidates,
    measuring_domain,
    radii_looked_for_px,
    smallest_diameter_px,
)
from vision.marks.classify import CLASSES
from vision.marks.features import measure_features
from vision.marks.forest import Forest
from vision.marks.peaks import find_peaks
from vision.settings import MarkSettings
from vision.surface import Surface

__all__ = ["IGNORED", "Examples", "KnownMark", "label_candidates", "make_examples", "make_peak_examples"]

_PEAKS_WITH_NOTHING = 1500
"""Peaks with nothing kept of each surface."""
IGNORED = -1
"""Label of a candidate that is neither right nor wrong: off the size, or on a mark too small to report."""


@dataclass(frozen=True, slots=True)
class KnownMark:
    """A mark known to be on a surface, pixels of the surface."""

    kind: str
    x_px: float
    y_px: float
    diameter_px: float


@dataclass(frozen=True, slots=True, eq=False)
class Examples:
    """Rows to fit on or to test with.

    Attributes
    ----------
    features : (n, features) float32
    label : (n,) int8, index into CLASSES, or IGNORED
    log_ratio : (n,) float32, log of true over proposed diameter; 0 where there is no mark
    group : (n,) int32, the tile a row comes from
    """

    features: NDArray[np.float32]
    label: NDArray[np.int8]
    log_ratio: NDArray[np.float32]
    group: NDArray[np.int32]

    def without_marks(self) -> Examples:
        """Give the rows with nothing alone."""
        kept = self.label == len(CLASSES) - 1
        return Examples(self.features[kept], self.label[kept], self.log_ratio[kept], self.group[kept])

    @staticmethod
    def join(parts: Sequence[Examples]) -> Examples:
        """Join several into one."""
        return Examples(
            np.concatenate([p.features for p in parts]),
            np.concatenate([p.label for p in parts]),
            np.concatenate([p.log_ratio for p in parts]),
            np.concatenate([p.group for p in parts]),
        )


def label_candidates(
    x: NDArray[np.float32],
    y: NDArray[np.float32],
    radius: NDArray[np.float32],
    known: Sequence[KnownMark],
    smallest_px: float,
) -> tuple[NDArray[np.int8], NDArray[np.float32]]:
    """Label candidates by the known marks.

    Parameters
    ----------
    x, y, radius : (n,) candidates
    known : the true marks
    smallest_px : diameter from which marks are reported

    Returns
    -------
    label : (n,) int8. A candidate stands for a mark when its centre lies within half the mark's radius (at
        least 1.5 pixels) and its size is within a factor of 1.8; one that overlaps a mark otherwise, or
        stands for a mark under the reported size, is IGNORED when its centre is inside, else nothing.
    log_ratio : (n,) float32
    """
    label = np.full(len(x), len(CLASSES) - 1, np.int8)
    ratio = np.zeros(len(x), np.float32)
    nearest = np.full(len(x), np.inf, np.float32)
    for mark in known:
        true_radius = mark.diameter_px / 2
        away = np.hypot(x - mark.x_px, y - mark.y_px)
        size = np.log(true_radius / radius)
        close = away < max(0.5 * true_radius, 1.5)
        hit = close & (np.abs(size) < np.log(1.8)) & (away < nearest)
        inside = (away < max(1.15 * true_radius, 2.5)) & (label == len(CLASSES) - 1)
        small = mark.diameter_px < 0.9 * smallest_px
        # a fragment far smaller than its mark is a wrong answer to learn from; a near miss is not
        near_miss = inside & (close | (radius > 0.45 * true_radius))
        label[(near_miss & ~hit) | (hit & small)] = IGNORED
        if not small:
            label[hit] = CLASSES.index(mark.kind)
            ratio[hit] = size[hit]
            nearest[hit] = away[hit]
    return label, ratio


def make_peak_examples(
    surface: Surface, known: Sequence[KnownMark], group: int, settings: MarkSettings
) -> Examples:
    """Find a surface's peaks and label them, for the screen; of the many with nothing, some at random."""
    pyramid = build_pyramid(surface, measuring_domain(surface, settings), settings)
    smallest = smallest_diameter_px(surface.blur_px, settings)
    peaks = find_peaks(
        pyramid.light,
        pyramid.colour,
        pyramid.masks,
        pyramid.domain,
        radii_px=radii_looked_for_px(surface, settings),
        settings=settings,
    )
    label, ratio = label_candidates(peaks.x_px, peaks.y_px, peaks.radius_px, known, smallest)
    empty = np.nonzero(label == len(CLASSES) - 1)[0]
    some = np.random.default_rng(group).permutation(empty)[:_PEAKS_WITH_NOTHING]
    rows = np.concatenate([np.nonzero((label >= 0) & (label < len(CLASSES) - 1))[0], some])
    return Examples(peaks.features[rows], label[rows], ratio[rows], np.full(len(rows), group, np.int32))


def make_examples(
    surface: Surface, known: Sequence[KnownMark], group: int, settings: MarkSettings, screen: Forest
) -> Examples:
    """Find a surface's candidates and label them; see `Examples`."""
    pyramid = build_pyramid(surface, measuring_domain(surface, settings), settings)
    candidates = find_candidates(surface, pyramid, settings, screen)
    features = measure_features(surface, candidates, pyramid)
    smallest = smallest_diameter_px(surface.blur_px, settings)
    label, ratio = label_candidates(candidates.x_px, candidates.y_px, candidates.radius_px, known, smallest)
    return Examples(features, label, ratio, np.full(len(label), group, np.int32))
