"""Fits the mark model to examples with scikit-learn and calibrates it on tiles the trees never saw."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from sklearn.ensemble import HistGradientBoostingClassifier, HistGradientBoostingRegressor
from sklearn.linear_model import LogisticRegression

from vision.marks.classify import CLASSES, FIRST_TREES, MarkModel
from vision.marks.examples import IGNORED, Examples
from vision.marks.features import FEATURE_NAMES
from vision.marks.forest import Forest, forest_to_arrays, join_trees
from vision.marks.peaks import PEAK_FEATURE_NAMES

__all__ = ["FitSettings", "fit_model", "fit_screen", "model_arrays"]

_NOTHING = len(CLASSES) - 1


@dataclass(frozen=True, slots=True)
class FitSettings:
    """How the trees are grown."""

    screen_trees: int = 40
    seen_trees: int = 200
    kind_trees: int = 130
    size_trees: int = 90
    learning_rate: float = 0.09
    leaves: int = 20
    least_in_leaf: int = 20
    ridge: float = 3.0
    most_nothing: int = 70000
    given_up_percent: float = 0.3
    seed: int = 5


def _classifier(trees: int, settings: FitSettings) -> HistGradientBoostingClassifier:
    return HistGradientBoostingClassifier(
        max_iter=trees,
        learning_rate=settings.learning_rate,
        max_leaf_nodes=settings.leaves,
        min_samples_leaf=settings.least_in_leaf,
        l2_regularization=settings.ridge,
        max_features=0.4,
        early_stopping=False,
        random_state=settings.seed,
    )


def _forest(fitted: HistGradientBoostingClassifier | HistGradientBoostingRegressor) -> Forest:
    trees = [(k, tree.nodes) for step in fitted._predictors for k, tree in enumerate(step)]
    return join_trees(trees, np.atleast_1d(np.asarray(fitted._baseline_prediction).ravel()))


def fit_screen(peaks: Examples, settings: FitSettings | None = None) -> Forest:
    """Fit the quick screen over peaks: log odds that one belongs to a mark."""
    settings = FitSettings() if settings is None else settings
    fitted = HistGradientBoostingClassifier(
        max_iter=settings.screen_trees,
        learning_rate=0.15,
        max_leaf_nodes=12,
        min_samples_leaf=settings.least_in_leaf,
        l2_regularization=settings.ridge,
        early_stopping=False,
        random_state=settings.seed,
    ).fit(peaks.features, (peaks.label != _NOTHING).astype(int))
    return _forest(fitted)


def fit_model(
    screen: Forest, train: Examples, tune: Examples, settings: FitSettings | None = None
) -> MarkModel:
    """Fit on `train`, calibrate on `tune` (other tiles, other seeds).

    Parameters
    ----------
    screen : the screen the examples were made with
    train, tune : examples; ignored rows are left out
    settings : how the trees are grown
    """
    settings = FitSettings() if settings is None else settings
    known = train.label != IGNORED
    features, label = train.features[known], train.label[known]
    mark = label != _NOTHING
    empty = np.nonzero(~mark)[0]
    thinned = np.random.default_rng(settings.seed).permutation(empty)[: settings.most_nothing]
    asked = np.concatenate([np.nonzero(mark)[0], thinned])
    weight = np.where(mark[asked], 1.0, len(empty) / max(1, len(thinned)))
    seen = _classifier(settings.seen_trees, settings).fit(features[asked], mark[asked].astype(int), weight)
    kind = _classifier(settings.kind_trees, settings).fit(features[mark], label[mark])
    size = HistGradientBoostingRegressor(
        loss="absolute_error",
        max_iter=settings.size_trees,
        learning_rate=settings.learning_rate,
        max_leaf_nodes=settings.leaves,
        min_samples_leaf=settings.least_in_leaf,
        l2_regularization=settings.ridge,
        max_features=0.4,
        early_stopping=False,
        random_state=settings.seed,
    ).fit(features[mark], train.log_ratio[known][mark])
    grown = _forest(seen)
    early = grown.beginning(FIRST_TREES).sums(features[mark])[:, 0]
    hopeless = float(np.percentile(early, settings.given_up_percent))
    model = MarkModel(screen, grown, _forest(kind), _forest(size), hopeless, (1.0, 0.0), 1.0)
    return _calibrated(model, tune)


def _calibrated(model: MarkModel, tune: Examples) -> MarkModel:
    known = tune.label != IGNORED
    features, label = tune.features[known], tune.label[known]
    mark = label != _NOTHING
    odds = model.seen.sums(features)
    line = LogisticRegression(C=1e3).fit(odds, mark)
    scores = model.kind.sums(features[mark])
    slopes = np.linspace(0.2, 2.0, 73)
    losses = []
    for slope in slopes:
        z = slope * scores
        z = z - z.max(axis=1, keepdims=True)
        log_share = z - np.log(np.exp(z).sum(axis=1, keepdims=True))
        losses.append(-log_share[np.arange(len(z)), label[mark]].mean())
    return replace(
        model,
        seen_line=(float(line.coef_[0, 0]), float(line.intercept_[0])),
        kind_slope=float(slopes[int(np.argmin(losses))]),
    )


def model_arrays(model: MarkModel) -> dict[str, NDArray[np.generic]]:
    """Give all arrays of the model for ``np.savez_compressed``."""
    arrays: dict[str, NDArray[np.generic]] = {
        "feature_names": np.array(FEATURE_NAMES),
        "peak_feature_names": np.array(PEAK_FEATURE_NAMES),
        "seen_line": np.array(model.seen_line, np.float64),
        "hopeless": np.array(model.hopeless, np.float64),
        "kind_slope": np.array(model.kind_slope, np.float64),
    }
    for name, forest in (
        ("screen", model.screen),
        ("seen", model.seen),
        ("kind", model.kind),
        ("size", model.size),
    ):
        arrays |= forest_to_arrays(forest, name)
    return arrays
