"""Fit how what the net sees becomes chances: python -m vision.marks.chances_fit --renders .renders/tune.

Learns from photos whose number is divisible by 5, which the net never learnt from, so the chances come out
true. Run it after `vision.marks.field_fit`.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.marks.classify import CLASSES
from vision.marks.examples import KnownMark
from vision.marks.find import LINES_FILE, Places, chances_of, find_places
from vision.marks.renders import known_surfaces, split_files
from vision.settings import Settings

__all__ = ["label_places", "main"]

_NOTHING = len(CLASSES) - 1
UNSURE = -1
"""Label of a place on a mark under the size that is asked for."""


def label_places(places: Places, marks: Sequence[KnownMark], least_px: float) -> NDArray[np.int8]:
    """Tell what truly lies at each place.

    Parameters
    ----------
    places : n places
    marks : the true marks
    least_px : a place on a mark smaller than this is `UNSURE`

    Returns
    -------
    (n,) int8, index into CLASSES of the nearest mark whose size is within a factor of three, or UNSURE
    """
    label = np.full(len(places.x_px), _NOTHING, np.int8)
    nearest = np.full(len(label), np.inf)
    for mark in marks:
        away = np.hypot(places.x_px - mark.x_px, places.y_px - mark.y_px)
        size = places.diameter_px / mark.diameter_px
        hit = (away < max(0.5 * mark.diameter_px, 2.0)) & (size > 1 / 3) & (size < 3) & (away < nearest)
        label[hit] = CLASSES.index(mark.kind) if mark.diameter_px >= least_px else UNSURE
        nearest[hit] = away[hit]
    return label


def main() -> int:
    """Run the command; gives the exit code."""
    from sklearn.linear_model import LogisticRegression

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--renders", type=Path, nargs="+", required=True)
    parser.add_argument("--least-px", type=float, default=5.0)
    parser.add_argument("--out", type=Path, default=LINES_FILE)
    args = parser.parse_args()
    cv2.setNumThreads(1)
    settings = Settings()
    rows, labels = [], []
    for file in split_files(args.renders, 5)[1]:
        for known in known_surfaces(file, settings, read=True):
            places = find_places(known.surface, settings.marks)
            label = label_places(places, known.marks, args.least_px)
            rows.append(places.evidence[label != UNSURE])
            labels.append(label[label != UNSURE])
    evidence, label = np.concatenate(rows), np.concatenate(labels)
    fitted = LogisticRegression(C=0.3, max_iter=3000).fit(evidence, label)
    kept = {"weight": fitted.coef_.round(4).tolist(), "offset": fitted.intercept_.round(4).tolist()}
    args.out.write_text(json.dumps(kept, indent=1) + "\n", encoding="utf-8")
    chances = chances_of(evidence)
    on = label != _NOTHING
    named = np.argmax(chances[on, :_NOTHING], axis=1) == label[on]
    kinds = [round(float(named[label[on] == kind].mean()), 3) for kind in range(_NOTHING)]
    sys.stderr.write(f"{len(label)} places, {int(on.sum())} marks, named right {named.mean():.3f} {kinds}\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
