"""Finds the marks of a surface under two lamps: candidates of both photos, each judged by both."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from vision.marks.candidates import (
    Candidates,
    Pyramid,
    build_pyramid,
    distinct,
    find_candidates,
    measuring_domain,
    smallest_diameter_px,
)
from vision.marks.classify import MarkModel, classify, load_model, model_from_arrays
from vision.marks.features import measure_features
from vision.marks.find import marks_of
from vision.marks.net import name_candidates
from vision.marks.pair_features import PAIR_FEATURE_NAMES, measure_pair_features
from vision.reading import Mark
from vision.settings import MarkSettings
from vision.two_lamps_light import LampPair

__all__ = ["PAIR_MODEL_FILE", "find_pair_marks", "load_pair_model", "look_at_pair"]

PAIR_MODEL_FILE = Path(__file__).with_name("pair_model.npz")


@cache
def load_pair_model(path: Path = PAIR_MODEL_FILE) -> MarkModel:
    """Load the trees fitted to pairs; no pickle is read.

    Raises
    ------
    ValueError : the file was fitted on other features than this version measures.
    """
    with np.load(path, allow_pickle=False) as file:
        arrays = {key: file[key] for key in file.files}
    if tuple(str(name) for name in arrays["feature_names"]) != PAIR_FEATURE_NAMES:
        msg = f"{path.name}: fitted on other features than the {len(PAIR_FEATURE_NAMES)} measured now"
        raise ValueError(msg)
    return model_from_arrays(arrays, load_model().screen)


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
    model = load_model()
    pyramids: list[Pyramid] = []
    found = []
    for surface in (pair.first, pair.second):
        pyramid = build_pyramid(surface, measuring_domain(surface, settings), settings)
        pyramids.append(pyramid)
        found.append(find_candidates(surface, pyramid, settings, model.screen))
    candidates = _together(found, settings.most_candidates)
    shares = []
    for surface, pyramid in zip((pair.first, pair.second), pyramids, strict=True):
        share, factor = classify(measure_features(surface, candidates, pyramid), model)
        share, _ = name_candidates(candidates, pyramid, surface.blur_px, share, factor)
        shares.append(share)
    described = measure_pair_features(
        candidates,
        (pyramids[0], pyramids[1]),
        (shares[0], shares[1]),
        pair.lamp,
        pair.alike,
    )
    return candidates, described


def _together(found: list[Candidates], most: int) -> Candidates:
    """Join two photos' candidates, likeliest first, each place and size once."""
    every = Candidates(
        *(
            np.concatenate([getattr(one, name) for one in found])
            for name in ("x_px", "y_px", "radius_px", "strength", "channel")
        )
    )
    every = every.take(np.argsort(-every.strength, kind="stable"))
    return every.take(distinct(every.x_px, every.y_px, every.radius_px)[:most])


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
