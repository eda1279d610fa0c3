"""Finds the marks of a surface: where one net sees them, named by two, with chances that hold."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from vision.marks.candidates import Candidates, build_pyramid, measuring_domain, smallest_diameter_px
from vision.marks.choose import kind_votes, mark_at, one_a_place
from vision.marks.classify import CLASSES
from vision.marks.field import look_over
from vision.marks.net import ask_net
from vision.marks.squares import cut_squares
from vision.nets import softmax
from vision.reading import Mark
from vision.settings import MarkSettings
from vision.surface import BoolMask, FloatImage, Surface

__all__ = [
    "LINES_FILE",
    "Places",
    "chances_of",
    "find_marks",
    "find_places",
    "look_closely",
    "weigh_together",
]

LINES_FILE = Path(__file__).with_name("chances.json")
_LEAST = 1e-3
"""Share that stands for none in a logarithm."""


@dataclass(frozen=True, slots=True, eq=False)
class Places:
    """Where the net sees something, one a mark: arrays of length n, pixels of the surface.

    Attributes
    ----------
    x_px, y_px, diameter_px : float32
    evidence : (n, 12) float32: log odds of any mark, log share of each kind, log share of each class by the
        net of squares, log of the diameter over the smallest assessable, log of the blur: what `chances_of`
        weighs
    """

    x_px: NDArray[np.float32]
    y_px: NDArray[np.float32]
    diameter_px: NDArray[np.float32]
    evidence: NDArray[np.float32]


def find_places(surface: Surface, settings: MarkSettings) -> Places:
    """Look the glazed face over and keep one place a mark, likeliest first.

    Parameters
    ----------
    surface : the surface, arrays (rows, cols)
    settings : `least_seen`, sizes
    """
    return look_closely(surface, settings)[0]


def look_closely(surface: Surface, settings: MarkSettings) -> tuple[Places, FloatImage]:
    """Give the places of `find_places`, and the squares (n, channels, side, side) the second net saw."""
    pyramid = build_pyramid(surface, measuring_domain(surface, settings), settings)
    largest = settings.largest_fraction * min(surface.glazed.shape)
    seen = look_over(pyramid, surface.blur_px, largest, settings.least_seen / 2)
    anything = 1 - seen.shares[:, -1]
    smallest = smallest_diameter_px(surface.blur_px, settings)
    chosen = np.nonzero((anything >= settings.least_seen) & (seen.diameter_px >= smallest))[0]
    chosen = chosen[np.argsort(-anything[chosen], kind="stable")]
    radius = np.asarray(seen.diameter_px[chosen] / 2, np.float32)
    one = one_a_place(seen.x_px[chosen], seen.y_px[chosen], radius)
    kept = chosen[one]
    said = seen.x_px, seen.y_px, seen.diameter_px, seen.shares
    kinds = np.array([kind_votes(*said, int(i), settings) for i in kept], np.float32)
    kinds = kinds.reshape(-1, len(CLASSES) - 1)
    odds = np.log(np.maximum(anything[kept], _LEAST) / np.maximum(1 - anything[kept], _LEAST))
    whole = np.ones(len(kept), np.float32), np.zeros(len(kept), np.int8)
    places = Candidates(seen.x_px[kept], seen.y_px[kept], radius[one], *whole)
    squares = cut_squares(places, pyramid, surface.blur_px)
    evidence = np.column_stack(
        [
            odds,
            np.log(kinds + _LEAST),
            np.log(ask_net(squares) + _LEAST),
            np.log(seen.diameter_px[kept] / smallest),
            np.full(len(kept), np.log(max(surface.blur_px, 0.3))),
        ]
    ).astype(np.float32)
    return Places(places.x_px, places.y_px, seen.diameter_px[kept], evidence), squares


@cache
def _lines(path: Path = LINES_FILE) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    kept = json.loads(path.read_text(encoding="utf-8"))
    return np.array(kept["weight"], np.float32), np.array(kept["offset"], np.float32)


def chances_of(evidence: NDArray[np.float32]) -> NDArray[np.float32]:
    """Turn evidence (n, 12) into chances (n, len(CLASSES)) that sum to 1: a multinomial logistic model.

    Each place by itself; see `weigh_together` for what the other places of the piece add.
    """
    weight, offset = _lines()
    return softmax(evidence @ weight.T + offset, 1)


def weigh_together(chances: NDArray[np.float32], settings: MarkSettings) -> NDArray[np.float32]:
    """Let the places of one piece speak for each other's kind: one cause makes many marks of one kind.

    Parameters
    ----------
    chances : (n, len(CLASSES)) of all places of a piece, each by itself
    settings : `company_weight`, `company_unknown`, `company_rounds`

    Returns
    -------
    (n, len(CLASSES)) chances that sum to 1. Whether there is a mark at all is left as it was.

    Notes
    -----
    Empirical Bayes: each kind's odds times its share among the other marks of the piece, to a power.
    """
    anything = chances[:, :-1].sum(axis=1, keepdims=True)
    kinds = chances[:, :-1]
    for _ in range(settings.company_rounds):
        others = kinds.sum(axis=0) - kinds + np.float32(settings.company_unknown / kinds.shape[1])
        share = others / others.sum(axis=1, keepdims=True)
        kinds = chances[:, :-1] * share ** np.float32(settings.company_weight)
        kinds *= anything / np.maximum(kinds.sum(axis=1, keepdims=True), 1e-12)
    return np.asarray(np.column_stack([kinds, chances[:, -1]]), np.float32)


def _share_under(mask: BoolMask, x: float, y: float, diameter: float) -> float:
    """Give how much of a disc lies in a mask, 0..1."""
    r = max(diameter / 2, 1.0)
    rows = np.arange(max(0, int(y - r)), min(mask.shape[0], int(y + r) + 1))
    cols = np.arange(max(0, int(x - r)), min(mask.shape[1], int(x + r) + 1))
    disc = (rows[:, None] - y) ** 2 + (cols - x) ** 2 <= r * r
    return float(mask[rows[:, None], cols][disc].mean()) if disc.any() else 0.0


def find_marks(surface: Surface, settings: MarkSettings) -> tuple[Mark, ...]:
    """Locate, size and name the marks on the glazed face.

    Parameters
    ----------
    surface : the surface, arrays (rows, cols)
    settings : thresholds

    Returns
    -------
    Marks, most probable first. `probability` is that of the stated kind. Millimetres are None without scale.

    Notes
    -----
    Blind to marks under `smallest_diameter_px`; see vision/marks/README.md for measured figures.
    """
    if not surface.glazed.any():
        return ()
    places = find_places(surface, settings)
    if len(places.x_px) == 0:
        return ()
    chances = weigh_together(chances_of(places.evidence), settings)
    anything = 1 - chances[:, -1]
    scale = surface.mm_per_px
    marks = []
    for i in np.argsort(-anything, kind="stable"):
        if anything[i] < settings.least_probability:
            break
        kind = int(np.argmax(chances[i, :-1]))
        x, y, d = float(places.x_px[i]), float(places.y_px[i]), float(places.diameter_px[i])
        if _share_under(surface.glint, x, y, d) > settings.most_glint:
            continue
        marks.append(mark_at(CLASSES[kind], x, y, d, float(chances[i, kind]), scale))
    return tuple(marks)
