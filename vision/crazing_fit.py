"""Fit the craze net's logistic model.

``python -m vision.crazing_fit --renders .renders/far_nets .renders/shaded --whole .renders/tune``. Of
``--renders`` only photos whose number is divisible by ``--hold`` are used, which the nets that see lines and
webs never learnt from: on the others they are too sure. Nothing may have learnt from ``--whole``. Scored in
five folds.
"""

from __future__ import annotations

import argparse
import json
import sys
import zlib
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.craze_net import NET_FEATURE_NAMES, measure_net, net_features
from vision.crazing import MODEL_FILE
from vision.marks.renders import known_surfaces, split_files, truth_files, with_grain
from vision.settings import Settings
from vision.surface import Surface

__all__ = ["main", "with_scratches"]

COPY_WEIGHT = 0.15
"""Weight of a grained or scratched copy: with them nets would be rarer than on the shelf."""
CRAZED_SHARE = 0.18
"""Share of crazed pieces that the probabilities hold for: as `draw_faults` draws them (own choice)."""


def with_scratches(surface: Surface, rng: np.random.Generator) -> Surface:
    """Scratch a surface: long straight lines that cross and join nothing, most of them of one direction.

    Parameters
    ----------
    surface : not changed
    rng : seeded generator
    """
    rows, cols = surface.glazed.shape
    reach = float(max(rows, cols))
    way, spread = rng.uniform(0, np.pi), float(rng.choice([0.05, 0.3, 1.5]))
    ink = np.zeros((rows, cols), np.uint8)
    for _ in range(int(rng.integers(3, 40))):
        turn = way + rng.normal(0, spread)
        centre = rng.uniform(0, 1, 2) * (cols, rows)
        half = np.array([np.cos(turn), np.sin(turn)]) * reach * rng.uniform(0.08, 0.6)
        ends = [tuple(np.rint((centre + sign * half) * 8).astype(int).tolist()) for sign in (-1, 1)]
        cv2.line(ink, ends[0], ends[1], int(rng.integers(80, 256)), 1, cv2.LINE_AA, 3)
    soft = cv2.GaussianBlur(ink.astype(np.float32) / 255, (0, 0), float(rng.uniform(0.5, 1.1)))
    lab = surface.lab.copy()
    depth = float(rng.uniform(4, 30)) * (1 if rng.random() < 0.25 else -1)
    lab[..., 0] = np.clip(lab[..., 0] + soft * np.float32(depth), 0, 100)
    return replace(surface, lab=lab)


def _rows_of(truth_file: Path) -> list[tuple[str, bool, list[float]]]:
    """Give each piece's features, as it is and, unless it has a net, under a grain and scratched."""
    cv2.setNumThreads(1)
    settings = Settings()
    out = []
    for known in known_surfaces(truth_file, settings, read=True):
        if known.surface.blur_px > settings.crazing.most_blur_px:
            continue
        present = bool(known.crazing["present"])
        views = [(known.name, known.surface)]
        if not present:
            rng = np.random.default_rng(zlib.crc32(known.name.encode()))
            views += [(f"{known.name} grained", with_grain(known.surface, rng))]
            views += [(f"{known.name} scratched", with_scratches(known.surface, rng))]
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
    from sklearn.model_selection import GroupKFold

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--renders", type=Path, nargs="+", required=True)
    parser.add_argument("--whole", type=Path, nargs="*", default=[], help="folders nothing has learnt from")
    parser.add_argument("--hold", type=int, default=3, help="only photos whose number this divides")
    parser.add_argument("--out", type=Path, default=MODEL_FILE)
    parser.add_argument("--strength", type=float, default=0.3, help="inverse of the ridge penalty")
    parser.add_argument("--processes", type=int, default=2)
    args = parser.parse_args()
    files = [*split_files(args.renders, args.hold)[1], *truth_files(args.whole)]
    names, rows, present = _table(files, args.processes)
    mean, spread = rows.mean(axis=0), rows.std(axis=0) + 1e-6
    scaled = (rows - mean) / spread
    model = LogisticRegression(C=args.strength, max_iter=2000)
    # a piece and its grained copies stay in one fold
    pieces = np.unique([name.split(" ")[0] for name in names], return_inverse=True)[1]
    weight = np.array([COPY_WEIGHT if " " in name else 1.0 for name in names])
    alone = np.array([" " not in name for name in names])
    drawn = float(present[alone].mean())
    weight[present] *= CRAZED_SHARE / (1 - CRAZED_SHARE) * (1 - drawn) / drawn
    odds = np.zeros(len(names))
    for fitting, scored in GroupKFold(5).split(scaled, present, pieces):
        fold = LogisticRegression(C=args.strength, max_iter=2000)
        fold.fit(scaled[fitting], present[fitting], weight[fitting])
        odds[scored] = fold.decision_function(scaled[scored])
    fitted = model.fit(scaled, present, weight)
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
    right = (odds > 0) == present
    if present.any() and not present.all():
        sys.stderr.write(f"five folds: area under curve {roc_auc_score(present, odds):.3f}, ")
    sys.stderr.write(f"right {right.mean():.3f} of {len(present)} ({present.sum()} nets)\n")
    for name, odd, true in zip(names, odds, present, strict=True):
        if (odd > 0) != true:
            sys.stderr.write(f"  wrong: {name} true {bool(true)} probability {1 / (1 + np.exp(-odd)):.2f}\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
