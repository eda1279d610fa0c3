"""Fit how what the nets see becomes chances.

    python -m vision.marks.chances_fit --renders .renders/train .renders/tune --mixed .renders/far

Learns from photos whose number is divisible by 5, which the net never learnt from, so the chances come out
true. Run it after `vision.marks.net_fit`.
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
from vision.marks.find import LINES_FILE, Places, find_places, weigh_together
from vision.marks.renders import known_surfaces, split_files
from vision.settings import Settings

__all__ = ["label_places", "main"]

_NOTHING = len(CLASSES) - 1
MIXED_WEIGHT = 2.0
"""Weight of a place on a piece of all kinds of marks: these show best what each kind looks like."""
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


def _held_places(
    folders: Sequence[Path], least_px: float
) -> list[tuple[NDArray[np.float32], NDArray[np.int8]]]:
    """Give evidence and labels of the places of each piece that the nets never learnt from."""
    cv2.setNumThreads(1)
    settings = Settings()
    pieces = []
    for file in split_files(folders, 5)[1]:
        for known in known_surfaces(file, settings, read=True):
            places = find_places(known.surface, settings.marks)
            if len(places.x_px):
                pieces.append((places.evidence, label_places(places, known.marks, least_px)))
    return pieces


def main() -> int:
    """Run the command; gives the exit code."""
    from sklearn.linear_model import LogisticRegression
    from sklearn.model_selection import GroupKFold

    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--renders", type=Path, nargs="+", required=True, help="pieces as a shelf has them")
    parser.add_argument("--mixed", type=Path, nargs="*", default=[], help="pieces of all kinds of marks")
    parser.add_argument("--least-px", type=float, default=5.0)
    parser.add_argument("--out", type=Path, default=LINES_FILE)
    args = parser.parse_args()
    usual = _held_places(args.renders, args.least_px)
    every = usual + _held_places(args.mixed, args.least_px)
    rows, label = (np.concatenate([piece[i] for piece in every]) for i in (0, 1))
    piece = np.repeat(np.arange(len(every)), [len(label) for _, label in every])
    weight = np.where(piece < len(usual), 1.0, MIXED_WEIGHT) * (label != UNSURE)
    model = LogisticRegression(C=0.3, max_iter=3000)
    apart = np.zeros((len(rows), len(CLASSES)), np.float32)
    for fitting, scored in GroupKFold(8).split(rows, label, piece):
        some = fitting[label[fitting] != UNSURE]
        apart[scored] = model.fit(rows[some], label[some], weight[some]).predict_proba(rows[scored])
    settings = Settings().marks
    together = np.concatenate([weigh_together(apart[piece == k], settings) for k in range(len(every))])
    for name, chances in (("each by itself", apart), ("together", together)):
        _tell(name, chances[piece < len(usual)], label[piece < len(usual)])
    sure = label != UNSURE
    model.fit(rows[sure], label[sure], weight[sure])
    kept = {"weight": model.coef_.round(4).tolist(), "offset": model.intercept_.round(4).tolist()}
    args.out.write_text(json.dumps(kept, indent=1) + "\n", encoding="utf-8")
    return 0


def _tell(name: str, chances: NDArray[np.float32], label: NDArray[np.int8]) -> None:
    """Say how well places that nothing was fitted on are named."""
    sure, on = label != UNSURE, (label != UNSURE) & (label != _NOTHING)
    loss = -float(np.log(np.maximum(chances[sure, label[sure]], 1e-3)).mean())
    named = np.argmax(chances[on, :_NOTHING], axis=1) == label[on]
    kinds = [round(float(named[label[on] == kind].mean()), 3) for kind in range(_NOTHING)]
    sys.stderr.write(f"{name}: {on.sum()} marks, loss {loss:.4f}, named right {named.mean():.3f} {kinds}\n")


if __name__ == "__main__":
    raise SystemExit(main())
