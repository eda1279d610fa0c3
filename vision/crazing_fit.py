"""Fit the craze net's logistic model.

``python -m vision.crazing_fit --renders .renders/train``. Photos whose number is divisible by
``--hold`` are scored (and calibrate), never fitted on.
"""

from __future__ import annotations

import argparse
import json
import sys
import zlib
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.craze_net import NET_FEATURE_NAMES, measure_net, net_features
from vision.crazing import MODEL_FILE
from vision.marks.renders import known_surfaces, split_files, with_grain
from vision.settings import Settings

__all__ = ["main"]


def _rows_of(truth_file: Path) -> list[tuple[str, bool, list[float]]]:
    """Give each piece's features, as it is and, unless it has a net, under two kinds of grain."""
    cv2.setNumThreads(1)
    settings = Settings()
    out = []
    for known in known_surfaces(truth_file, settings):
        if known.surface.blur_px > settings.crazing.most_blur_px:
            continue
        present = bool(known.crazing["present"])
        views = [(known.name, known.surface)]
        if not present:
            rng = np.random.default_rng(zlib.crc32(known.name.encode()))
            views += [(f"{known.name} grained", with_grain(known.surface, rng)) for _ in range(2)]
        for name, surface in views:
            out.append((name, present, net_features(measure_net(surface, settings.crazing)).tolist()))
    return out


def _table(files: Sequence[Path], processes: int) -> tuple[list[str], NDArray[np.float64], NDArray[np.bool_]]:
    with ProcessPoolExecutor(processes) as pool:
        rows = [row for part in pool.map(_rows_of, files, chunksize=2) for row in part]
    return [r[0] for r in rows], np.array([r[2] for r in rows]), np.array([r[1] for r in rows])


def main() -> int:
    """Run the command; gives the exit code."""
    from sklearn.linear_model import LogisticRegression
    from sklearn.metrics import roc_auc_score

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--renders", type=Path, nargs="+", required=True)
    parser.add_argument("--hold", type=int, default=5, help="photos whose number this divides are held out")
    parser.add_argument("--out", type=Path, default=MODEL_FILE)
    parser.add_argument("--strength", type=float, default=0.3, help="inverse of the ridge penalty")
    parser.add_argument("--processes", type=int, default=2)
    args = parser.parse_args()
    fitted_files, held_files = split_files(args.renders, args.hold)
    _, rows, present = _table(fitted_files, args.processes)
    mean, spread = rows.mean(axis=0), rows.std(axis=0) + 1e-6
    # each piece without a net stands here three times, as it is and grained: weigh the nets back up
    weight = np.where(present, 2.5, 1.0)
    fitted = LogisticRegression(C=args.strength, max_iter=2000).fit((rows - mean) / spread, present, weight)
    kept = {
        "features": list(NET_FEATURE_NAMES),
        "mean": mean.round(6).tolist(),
        "spread": spread.round(6).tolist(),
        "weight": fitted.coef_[0].round(6).tolist(),
        "offset": round(float(fitted.intercept_[0]), 6),
        "fitted_on": {"with_net": int(present.sum()), "without": int((~present).sum())},
    }
    args.out.write_text(json.dumps(kept, indent=1) + "\n", encoding="utf-8")
    sys.stderr.write(f"fitted on {present.sum()} nets, {(~present).sum()} without\n")
    names, rows, present = _table(held_files, args.processes)
    odds = fitted.decision_function((rows - mean) / spread)
    right = (odds > 0) == present
    if present.any() and not present.all():
        sys.stderr.write(f"tune: area under curve {roc_auc_score(present, odds):.3f}, ")
    sys.stderr.write(f"right {right.mean():.3f} of {len(present)} ({present.sum()} nets)\n")
    for name, odd, true in zip(names, odds, present, strict=True):
        if (odd > 0) != true:
            sys.stderr.write(f"  wrong: {name} true {bool(true)} probability {1 / (1 + np.exp(-odd)):.2f}\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
