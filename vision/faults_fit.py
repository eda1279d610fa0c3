"""Fit how the marks of a piece become chances of its faults.

    python -m vision.faults_fit --renders .renders/train .renders/tune

Learns from photos whose number is divisible by 5, which the nets that find and name marks never learnt from.
Prints what a fit without a fifth of the pieces does on it. Run it after `vision.marks.chances_fit`.
"""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.crawling import detect_crawling, without_patches
from vision.faults import LINE_FILE, mark_figures
from vision.marks.find import find_marks
from vision.marks.renders import KnownSurface, known_surfaces, split_files
from vision.reading import MarkKind
from vision.settings import Settings

__all__ = ["main", "truly_there"]

_SMALL_PX = 4.0
"""A piece whose largest mark of a kind is between this and the least asked for is neither right nor wrong."""


def truly_there(known: KnownSurface, kind: MarkKind, least_px: float) -> bool | None:
    """Say whether a piece truly has the fault of a kind of marks, None where they are too small to say."""
    largest = max((m.diameter_px for m in known.marks if m.kind == kind), default=0.0)
    return True if largest >= least_px else False if largest < _SMALL_PX else None


def _gather(
    folders: list[Path], least_px: float
) -> tuple[NDArray[np.float64], NDArray[np.bool_], NDArray[np.intp]]:
    """Give figures (n, 3), truth (n,) and number of the photo (n,) where a mark of a kind was named."""
    cv2.setNumThreads(1)
    settings = Settings()
    rows = []
    for number, file in enumerate(split_files(folders, 5)[1]):
        for known in known_surfaces(file, settings, read=True):
            _, crawled = detect_crawling(known.surface, settings.crawling)
            marks = find_marks(without_patches(known.surface, crawled), settings.marks)
            for kind in {mark.kind for mark in marks}:
                there = truly_there(known, kind, least_px)
                if there is not None:
                    rows.append((mark_figures([m for m in marks if m.kind is kind]), there, number))
    figures, true, photos = zip(*rows, strict=True)
    return np.array(figures), np.array(true), np.array(photos)


def main() -> int:
    """Run the command; gives the exit code."""
    from sklearn.linear_model import LogisticRegression
    from sklearn.model_selection import GroupKFold, cross_val_predict

    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--renders", type=Path, nargs="+", required=True)
    parser.add_argument("--least-px", type=float, default=5.0)
    parser.add_argument("--out", type=Path, default=LINE_FILE)
    args = parser.parse_args()
    figures, true, photos = _gather(args.renders, args.least_px)
    model = LogisticRegression(C=1.0, max_iter=2000, fit_intercept=False)
    apart = cross_val_predict(model, figures, true, groups=photos, cv=GroupKFold(5), method="predict_proba")
    said = apart[:, 1] >= 0.5
    told = f"{len(true)} named kinds, {true.sum()} true; called {said.sum()}, {(said & true).sum()} rightly"
    sys.stderr.write(told + "\n")
    weight = np.round(model.fit(figures, true).coef_[0], 4).tolist()
    args.out.write_text(json.dumps({"weight": weight}) + "\n", encoding="utf-8")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
