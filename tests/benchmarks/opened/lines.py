"""Thin cracks in stone, paint and moulded plastic, beside a plain ridge filter.

Found lines and labels are thinned to one pixel. Precision is the share of the found line that lies within a
few pixels of a label, recall the share of the labelled line within as many of a found one, both over all
photos of a set together. Both finders are scored alike.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import cv2
import numpy as np
from skimage.filters import sato
from skimage.morphology import skeletonize

from tests.benchmarks.opened.photos import SETTINGS, image_files, read_mask, whole_surface
from vision.craze_net import measure_net
from vision.crazing import detect_crazing
from vision.pipeline import read_photo
from vision.reading import Subject
from vision.surface import BoolMask, FloatImage, Surface

SETS = {
    "uav75": "uav75-thin-crack-masks",
    "masonry": "masonry-crack-masks",
    "kolektor-sdd": "kolektor-sdd-crack-masks",
    "craquelure": "craquelure-masks",
}
REACH_PX = (2, 3)
RIDGE_SIGMAS_PX = (1.0, 2.0, 3.0)
RIDGE_PERCENTILE = 95.0
"""A fixed cut, whatever the photo. What the best cut for each set would give, chosen by its labels, is
reported too: no filter can have that."""
RIDGE_CUTS = (85.0, 90.0, 95.0, 97.0, 98.0, 99.0, 99.5)


class Score:
    """Found and labelled lines of many photos."""

    def __init__(self) -> None:
        self.counts = {reach: np.zeros(4) for reach in REACH_PX}

    def add(self, found: BoolMask, labelled: BoolMask) -> None:
        found, bones = skeletonize(found), skeletonize(labelled)
        for reach, counts in self.counts.items():
            counts += (
                (found & _within(labelled, reach)).sum(),
                found.sum(),
                (bones & _within(found, reach)).sum(),
                bones.sum(),
            )

    def figures(self) -> dict[str, dict[str, float]]:
        out = {}
        for reach, (right, found, seen, there) in self.counts.items():
            precision, recall = right / max(found, 1), seen / max(there, 1)
            f1 = 2 * precision * recall / max(precision + recall, 1e-9)
            out[f"{reach}_px"] = {
                "precision": round(float(precision), 3),
                "recall": round(float(recall), 3),
                "f1": round(float(f1), 3),
            }
        return out


def _within(mask: BoolMask, reach: int) -> BoolMask:
    size = 2 * reach + 1
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
    return cv2.dilate(mask.astype(np.uint8), disc) > 0


def found_lines(surface: Surface) -> BoolMask:
    """Give the traced lines, whether or not they make a net, at the photo's size."""
    bones = measure_net(surface, SETTINGS.crazing).skeleton.astype(np.uint8)
    rows, cols = surface.glazed.shape
    if bones.shape != (rows, cols):
        wide = cv2.dilate(bones, np.ones((2, 2), np.uint8))
        bones = cv2.resize(wide, (cols, rows), interpolation=cv2.INTER_NEAREST)
    return bones > 0


def _ridges(surface: Surface) -> FloatImage:
    return np.asarray(sato(surface.lab[..., 0], sigmas=RIDGE_SIGMAS_PX, black_ridges=True), np.float32)


def score_set(folder: Path) -> dict[str, Any]:
    """Score one set: lines by pixel, nets by photo."""
    traced = Score()
    ridge = {cut: Score() for cut in RIDGE_CUTS}
    nets = {True: [0, 0], False: [0, 0]}
    for file in image_files(folder / "images"):
        photo, surface = whole_surface(file)
        label = read_mask(folder / "masks" / f"{file.stem}.png") == 255
        traced.add(found_lines(surface), label)
        strength = _ridges(surface)
        for cut, score in ridge.items():
            score.add(strength > np.percentile(strength, cut), label)
        read = read_photo(photo, subject=Subject.PATCH, settings=SETTINGS)
        nets[bool(label.any())][0] += 1
        nets[bool(label.any())][1] += bool(read.reading.tiles[0].crazing.present)
    best = max(RIDGE_CUTS, key=lambda cut: ridge[cut].figures()["3_px"]["f1"])
    return {
        "photos": sum(count for count, _ in nets.values()),
        "photos_with_a_crack": nets[True][0],
        "called_crazed_with_a_crack": nets[True][1],
        "called_crazed_without": nets[False][1],
        "all_traced_lines": traced.figures(),
        "ridge_filter": {"percentile": RIDGE_PERCENTILE, **ridge[RIDGE_PERCENTILE].figures()},
        "ridge_filter_at_its_best_cut": {"percentile": best, **ridge[best].figures()},
    }


def score_drawn(folder: Path) -> dict[str, Any]:
    """Score what is drawn: a net's lines where one is called, else those that stand out of the grain."""
    drawn = Score()
    files = image_files(folder / "images")
    for file in files:
        _, surface = whole_surface(file)
        _, net, lone = detect_crazing(surface, SETTINGS.crazing)
        drawn.add(net | lone, read_mask(folder / "masks" / f"{file.stem}.png") == 255)
    return {"photos": len(files), "drawn": drawn.figures()}
