"""Finds the marks of a surface under two lamps: the places of either photo, each judged by both."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from vision.marks.candidates import (
    Candidates,
    build_pyramid,
    distinct,
    measuring_domain,
    smallest_diameter_px,
)
from vision.marks.choose import marks_of
from vision.marks.classify import CLASSES, MarkModel, classify, load_model, model_from_arrays
from vision.marks.find import Places, chances_of, find_places
from vision.marks.forest import fitted_arrays
from vision.marks.pair_features import PAIR_FEATURE_NAMES, measure_pair_features
from vision.reading import Mark
from vision.settings import MarkSettings
from vision.two_lamps_light import LampPair

__all__ = ["PAIR_MODEL_FILE", "find_pair_marks", "load_pair_model", "look_at_pair"]

PAIR_MODEL_FILE = Path(__file__).with_name("pair_model.npz")
_UNSEEN = 0.03
"""Chance of a mark where a photo's own search saw none."""


@cache
def load_pair_model(path: Path = PAIR_MODEL_FILE) -> MarkModel:
    """Load the trees fitted to pairs; no pickle is read.

    Raises
    ------
    ValueError : the file was fitted on other features than this version measures.
    """
    return model_from_arrays(fitted_arrays(path, PAIR_FEATURE_NAMES), load_model().screen)


def look_at_pair(pair: LampPair, settings: MarkSettings) -> tuple[Candidates, NDArray[np.float32]]:
    """Find the candidates of both photos and describe each by both.

    Parameters
    ----------
    pair : one piece under two lamps
    settings : thresholds

    Returns
    -------
    n candidates and their (n, len(PAIR_FEATURE_NAMES)) features
    """
    surfaces = (pair.first, pair.second)
    pyramids = [build_pyramid(one, measuring_domain(one, settings), settings) for one in surfaces]
    seen = [find_places(one, settings) for one in surfaces]
    chances = [chances_of(places.evidence) for places in seen]
    candidates = _together(seen, chances, settings.most_candidates)
    shares = [_shares_at(candidates, *one) for one in zip(seen, chances, strict=True)]
    described = measure_pair_features(
        candidates,
        (pyramids[0], pyramids[1]),
        (shares[0], shares[1]),
        pair.lamp,
        pair.alike,
    )
    return candidates, described


def _together(seen: list[Places], chances: list[NDArray[np.float32]], most: int) -> Candidates:
    """Join two photos' places, likeliest first, each place and size once."""
    x, y, diameter = (
        np.concatenate([getattr(one, name) for one in seen]) for name in ("x_px", "y_px", "diameter_px")
    )
    nothing = np.concatenate([one[:, -1] for one in chances])
    odds = np.log(np.maximum(1 - nothing, 1e-4) / np.maximum(nothing, 1e-4)).astype(np.float32)
    radius = np.asarray(diameter / 2, np.float32)
    every = Candidates(x, y, radius, odds, np.zeros(len(x), np.int8))
    every = every.take(np.argsort(-every.strength, kind="stable"))
    return every.take(distinct(every.x_px, every.y_px, every.radius_px)[:most])


def _shares_at(candidates: Candidates, seen: Places, chances: NDArray[np.float32]) -> NDArray[np.float32]:
    """Give what one photo says of each candidate: its likeliest place there, or hardly a mark."""
    shares = np.full((len(candidates), len(CLASSES)), _UNSEEN / (len(CLASSES) - 1), np.float32)
    shares[:, -1] = 1 - _UNSEEN
    if len(seen.x_px) == 0:
        return shares
    x, y, radius = (v[:, None] for v in (candidates.x_px, candidates.y_px, candidates.radius_px))
    away = np.hypot(seen.x_px - x, seen.y_px - y)
    size = np.abs(np.log(seen.diameter_px / 2 / radius))
    same = (away < np.maximum(0.5 * radius, 1.5)) & (size < np.log(1.8))
    at = np.argmax(np.where(same, 1 - chances[:, -1], -1), axis=1)
    some = same.any(axis=1)
    shares[some] = chances[at[some]]
    return shares


def find_pair_marks(pair: LampPair, settings: MarkSettings) -> tuple[Mark, ...]:
    """Locate, size and name the marks of a face by both photos.

    Parameters
    ----------
    pair : one piece under two lamps
    settings : thresholds

    Returns
    -------
    As `vision.marks.find.find_marks`, places in the first photo's view.
    """
    if not pair.first.glazed.any():
        return ()
    candidates, features = look_at_pair(pair, settings)
    if len(candidates) == 0:
        return ()
    shares, factor = classify(features, load_pair_model())
    blur_px = max(pair.first.blur_px, pair.second.blur_px)
    smallest = smallest_diameter_px(blur_px, settings)
    return marks_of(candidates, shares, factor, smallest, pair.first.mm_per_px, settings)
