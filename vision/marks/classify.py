"""From features to kinds: how likely a candidate is each kind of mark or nothing, and how large it is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from vision.marks.features import FEATURE_NAMES
from vision.marks.forest import Forest, forest_from_arrays
from vision.marks.peaks import PEAK_FEATURE_NAMES

__all__ = ["CLASSES", "FIRST_TREES", "MODEL_FILE", "MarkModel", "classify", "load_model", "model_from_arrays"]

CLASSES: tuple[str, ...] = ("pinhole", "blister", "crater", "speck", "nothing")
MODEL_FILE = Path(__file__).with_name("model.npz")
FIRST_TREES = 30
"""Trees asked of every candidate; the rest are asked of those these do not rule out."""
_KIND_ASKED_FROM = 0.03
"""Below this chance of being a mark the kind is not asked: it would change nothing and cost time."""


@dataclass(frozen=True, slots=True, eq=False)
class MarkModel:
    """The fitted model.

    Attributes
    ----------
    screen : forest over peaks, log odds that one is worth a close look
    seen : forest, log odds that a candidate is a mark
    kind : forest, a score for each of the four kinds
    size : forest, log of true over proposed diameter
    hopeless : log odds after the first trees of `seen` below which a candidate is dropped
    seen_line : (2,) slope and offset that calibrate `seen`
    kind_slope : slope that calibrates `kind`
    """

    screen: Forest
    seen: Forest
    kind: Forest
    size: Forest
    hopeless: float
    seen_line: tuple[float, float]
    kind_slope: float


@cache
def load_model(path: Path = MODEL_FILE) -> MarkModel:
    """Load the fitted model; no pickle is read.

    Raises
    ------
    ValueError : the file was fitted on other features than this version measures.
    """
    with np.load(path, allow_pickle=False) as file:
        arrays = {key: file[key] for key in file.files}
    names = tuple(str(name) for name in arrays["feature_names"])
    peak_names = tuple(str(name) for name in arrays["peak_feature_names"])
    if names != FEATURE_NAMES or peak_names != PEAK_FEATURE_NAMES:
        msg = f"{path.name}: fitted on {len(names)} other features than the {len(FEATURE_NAMES)} measured now"
        raise ValueError(msg)
    return model_from_arrays(arrays, forest_from_arrays(arrays, "screen"))


def model_from_arrays(arrays: Mapping[str, NDArray[np.generic]], screen: Forest) -> MarkModel:
    """Build a model from what `vision.marks.fit.model_arrays` gave, with this screen."""
    line = np.asarray(arrays["seen_line"], np.float64)
    return MarkModel(
        screen,
        forest_from_arrays(arrays, "seen"),
        forest_from_arrays(arrays, "kind"),
        forest_from_arrays(arrays, "size"),
        float(np.asarray(arrays["hopeless"])),
        (float(line[0]), float(line[1])),
        float(np.asarray(arrays["kind_slope"])),
    )


def classify(
    features: NDArray[np.float32], model: MarkModel | None = None
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Give the probability of each class and the factor that corrects the proposed size.

    Parameters
    ----------
    features : (n, len(FEATURE_NAMES)) float32
    model : the fitted model; None takes the one that comes with the package

    Returns
    -------
    shares : (n, len(CLASSES)) float32, rows sum to 1
    factor : (n,) float32, true over proposed diameter; 1 where nothing is seen
    """
    model = load_model() if model is None else model
    n = len(features)
    shares = np.zeros((n, len(CLASSES)), np.float32)
    factor = np.ones(n, np.float32)
    if n == 0:
        return shares, factor
    slope, offset = model.seen_line
    odds = model.seen.beginning(FIRST_TREES).sums(features)[:, 0]
    worth = np.nonzero(odds >= model.hopeless)[0]
    odds[worth] = model.seen.sums(features[worth])[:, 0]
    seen = 1 / (1 + np.exp(-np.clip(slope * odds + offset, -30, 30)))
    seen[odds < model.hopeless] = np.minimum(seen[odds < model.hopeless], _KIND_ASKED_FROM / 2)
    asked = np.nonzero(seen >= _KIND_ASKED_FROM)[0]
    shares[:, :-1] = (seen / (len(CLASSES) - 1))[:, None]
    if len(asked):
        scores = model.kind_slope * model.kind.sums(features[asked])
        scores -= scores.max(axis=1, keepdims=True)
        odds = np.exp(scores)
        shares[asked, :-1] = seen[asked, None] * odds / odds.sum(axis=1, keepdims=True)
        factor[asked] = np.exp(np.clip(model.size.sums(features[asked])[:, 0], -1.0, 1.0))
    shares[:, -1] = 1 - seen
    return shares, factor
