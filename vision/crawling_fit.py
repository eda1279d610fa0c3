"""Fit the crawled-patch model.

``python -m vision.crawling_fit --renders .renders/train``. Photos whose number is divisible by
``--hold`` are scored (and calibrate), never fitted on.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.crawl_patches import PATCH_FEATURE_NAMES, find_patches
from vision.crawling import MODEL_FILE
from vision.marks.forest import forest_to_arrays, join_trees
from vision.marks.renders import known_surfaces, split_files
from vision.settings import Settings

__all__ = ["main"]

Row = tuple[str, NDArray[np.float32], NDArray[np.float32]]


def _rows_of(truth_file: Path) -> list[Row]:
    """Give each piece's patches and the share of each that is truly crawled."""
    cv2.setNumThreads(1)
    settings = Settings()
    out: list[Row] = []
    for known in known_surfaces(truth_file, settings, read=True):
        patches = find_patches(known.surface, settings.crawling)
        rows, cols = patches.shape
        truth = np.zeros((rows, cols), np.float32)
        if known.crawled is not None:
            truth = cv2.resize(known.crawled.astype(np.float32), (cols, rows), interpolation=cv2.INTER_AREA)
        share = [float(truth[y, x][mask].mean()) for y, x, mask in patches.masks]
        out.append((known.name, patches.features, np.array(share, np.float32)))
    return out


def _table(files: Sequence[Path], processes: int) -> list[Row]:
    with ProcessPoolExecutor(processes) as pool:
        return [row for part in pool.map(_rows_of, files, chunksize=2) for row in part]


def main() -> int:
    """Run the command; gives the exit code."""
    from sklearn.ensemble import HistGradientBoostingClassifier
    from sklearn.linear_model import LogisticRegression

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--renders", type=Path, nargs="+", required=True)
    parser.add_argument("--hold", type=int, default=5, help="photos whose number this divides are held out")
    parser.add_argument("--out", type=Path, default=MODEL_FILE)
    parser.add_argument("--processes", type=int, default=2)
    args = parser.parse_args()
    fitted_files, held_files = split_files(args.renders, args.hold)
    train = _table(fitted_files, args.processes)
    rows = np.concatenate([r[1] for r in train])
    share = np.concatenate([r[2] for r in train])
    clear = (share > 0.6) | (share < 0.2)
    fitted = HistGradientBoostingClassifier(
        max_iter=70,
        learning_rate=0.1,
        max_leaf_nodes=8,
        min_samples_leaf=15,
        l2_regularization=3.0,
        random_state=3,
    ).fit(rows[clear], share[clear] > 0.5)
    forest = join_trees(
        [(0, step[0].nodes) for step in fitted._predictors], np.asarray(fitted._baseline_prediction).ravel()
    )
    tune = _table(held_files, args.processes)
    tune_rows, tune_share = np.concatenate([r[1] for r in tune]), np.concatenate([r[2] for r in tune])
    odds, bare = forest.sums(tune_rows), tune_share > 0.5
    line = (1.0, 0.0)
    if 5 <= bare.sum() < len(bare):
        fit = LogisticRegression(C=10.0).fit(odds, bare)
        line = (float(fit.coef_[0, 0]), float(fit.intercept_[0]))
    arrays = forest_to_arrays(forest, "bare")
    arrays |= {"feature_names": np.array(PATCH_FEATURE_NAMES), "line": np.array(line, np.float64)}
    with args.out.open("wb") as file:
        np.savez_compressed(file, allow_pickle=False, **arrays)
    sys.stderr.write(f"fitted on {clear.sum()} patches of {len(train)} pieces, {(share > 0.6).sum()} bare\n")
    chance = 1 / (1 + np.exp(-(line[0] * odds[:, 0] + line[1])))
    right = ((chance > 0.5) == bare).mean() if len(bare) else 1.0
    pieces = 0
    start = 0
    for name, features, part in tune:
        best = float(chance[start : start + len(features)].max(initial=0.0))
        start += len(features)
        true = bool((part > 0.6).any())
        pieces += (best > 0.5) == true
        if (best > 0.5) != true:
            sys.stderr.write(f"  wrong: {name} crawled {true} probability {best:.2f}\n")
    sys.stderr.write(
        f"tune: patches right {right:.3f} of {len(bare)}; pieces right {pieces} of {len(tune)}\n"
    )
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
