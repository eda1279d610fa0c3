"""Pits in worn steel: which part of a photo holds one, and where.

Every photo of this set has a pit, so photos are cut into squares: a square that a label reaches into is a
hit, the others count as sound though some dark damage in them is unlabelled (the set's README). The area
under the curve (AUC) is that over all squares of all photos.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from sklearn.metrics import roc_auc_score

from tests.benchmarks.opened.photos import SETTINGS, image_files, read_mask
from vision.photo import load_photo
from vision.pipeline import PhotoRead, read_photo
from vision.reading import MarkKind, Subject
from vision.surface import BoolMask

FOLDER = "bsdata-pitting-masks"
PIT_KINDS = (MarkKind.PINHOLE, MarkKind.CRATER, MarkKind.BLISTER, MarkKind.SPECK)
"""All four: a pit in steel is none of a glaze's, and any mark on it says that something is there."""
EVERY = 2
"""Every second photo by name: 13 of the time series, 5 of other parts."""
SQUARES_DOWN = 2
LEAST_LABEL_PX = 20
"""Fewer labelled pixels than this in a square are the corner of the next one's pit."""


def _discs(read: PhotoRead, shape: tuple[int, int]) -> tuple[BoolMask, NDArray[np.float32]]:
    """Draw the marks as discs at the photo's size: where any is, and the most probable one there."""
    view, tile = read.views[0], read.reading.tiles[0]
    chance = np.zeros(shape, np.float32)
    for mark in sorted(tile.marks, key=lambda m: m.probability):
        here = np.array([[[mark.x_px, mark.y_px], [mark.x_px + mark.diameter_px / 2, mark.y_px]]])
        (x, y), (x1, y1) = cv2.perspectiveTransform(here.astype(np.float64), view.to_photo)[0]
        radius = max(1, round(float(np.hypot(x1 - x, y1 - y))))
        if mark.kind in PIT_KINDS:
            cv2.circle(chance, (round(float(x)), round(float(y))), radius, float(mark.probability), -1)
    return np.asarray(chance > 0, np.bool_), chance


def _squares(shape: tuple[int, int]) -> list[tuple[slice, slice]]:
    side = shape[0] // SQUARES_DOWN
    return [
        (slice(top, top + side), slice(left, left + side))
        for top in range(0, shape[0] - side + 1, side)
        for left in range(0, shape[1] - side + 1, side)
    ]


def score_pits(folder: Path) -> dict[str, Any]:
    """Score the set."""
    labelled: list[bool] = []
    best: list[float] = []
    weighted: list[float] = []
    right = found = seen = there = hit = pits = 0
    files = image_files(folder / "images")[::EVERY]
    for file in files:
        label = np.asarray(read_mask(folder / "masks" / f"{file.stem}.png") > 127, np.bool_)
        photo = load_photo(file)
        read = read_photo(photo, subject=Subject.PATCH, settings=SETTINGS)
        discs, chance = _discs(read, label.shape)
        for square in _squares(label.shape):
            labelled.append(int(label[square].sum()) >= LEAST_LABEL_PX)
            best.append(float(chance[square].max()))
            weighted.append(float(chance[square].sum()))
        right += int((discs & label).sum())
        found += int(discs.sum())
        seen += int((label & discs).sum())
        there += int(label.sum())
        count, parts = cv2.connectedComponents(label.astype(np.uint8))
        pits += count - 1
        hit += len(np.unique(parts[discs & label]))
    precision, recall = right / max(found, 1), seen / max(there, 1)
    return {
        "photos": len(files),
        "squares": len(labelled),
        "squares_with_a_pit": sum(labelled),
        "auc_best_mark": round(float(roc_auc_score(labelled, best)), 3),
        "auc_marks_weighed_by_area": round(float(roc_auc_score(labelled, weighted)), 3),
        "labels_hit": {"share": round(hit / max(pits, 1), 3), "count": pits},
        "pixels": {
            "precision": round(precision, 3),
            "recall": round(recall, 3),
            "f1": round(2 * precision * recall / max(precision + recall, 1e-9), 3),
        },
    }
