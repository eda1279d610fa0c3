"""Gas bubbles before a lit ground, with a millimetre ruler photographed in their place.

The set labels nothing. Truth is made here another way than the reader's: lone, sharp, round shadows against
a smooth ground, cut at half their depth and filled (scikit-image), their size from the area. Pictures of
what is kept were looked at: all of it is single bubbles. The ruler's ticks give the millimetres.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import binary_fill_holes
from skimage.measure import label, regionprops

from tests.benchmarks.opened.photos import SETTINGS
from vision.photo import load_photo
from vision.pipeline import read_photo
from vision.reading import Subject

FOLDER = "gas-bubbles-with-ruler"
PHOTOS = ("IMG_9423.JPG", "IMG_9426.JPG", "IMG_9430.JPG")
SHRINK = 0.25
"""Truth is looked for at a quarter of the size: still 20 pixels and more a bubble."""
SMALLEST_PX = 60.0
"""Smallest bubble taken for truth, photo pixels."""


def _grey(path: Path) -> NDArray[np.float32]:
    grey = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
    return np.asarray(cv2.resize(grey, None, fx=SHRINK, fy=SHRINK, interpolation=cv2.INTER_AREA), np.float32)


def px_per_mm(ruler: Path) -> float:
    """Measure the ruler: median distance between neighbouring ticks, across their own direction."""
    dark = label(_grey(ruler) < 60)
    ticks = [
        r
        for r in regionprops(dark)
        if r.axis_minor_length > 4 and 10 < r.axis_major_length / r.axis_minor_length < 30
    ]
    along = float(np.median([r.orientation for r in ticks]))
    # orientation is the long axis' angle from the rows' axis: its normal is (sin, -cos) in (row, column)
    normal = np.array([np.sin(along), -np.cos(along)])
    places = np.sort([float(np.array(r.centroid) @ normal) for r in ticks])
    return float(np.median(np.diff(places))) / SHRINK


def true_bubbles(path: Path) -> list[tuple[float, float, float]]:
    """Give x, y, diameter of lone, sharp, round bubbles, photo pixels."""
    grey = _grey(path)
    ground = cv2.GaussianBlur(cv2.morphologyEx(grey, cv2.MORPH_CLOSE, np.ones((121, 121))), (0, 0), 40)
    depth = 1 - grey / np.maximum(ground, 1)
    out = []
    for r in regionprops(label(binary_fill_holes(depth > 0.3)), intensity_image=depth):
        size = float(r.equivalent_diameter_area)
        top, left, bottom, right = r.bbox
        inside = top > 2 and left > 2 and bottom < grey.shape[0] - 2 and right < grey.shape[1] - 2
        round_enough = r.solidity > 0.95 and r.axis_minor_length > 0.93 * r.axis_major_length
        if inside and round_enough and size > SMALLEST_PX * SHRINK and r.intensity_max > 0.75:
            y, x = (float(v) for v in r.centroid)
            out.append(((x + 0.5) / SHRINK - 0.5, (y + 0.5) / SHRINK - 0.5, size / SHRINK))
    return out


def score_bubbles(folder: Path) -> dict[str, Any]:
    """Compare marks with the bubbles they lie on."""
    scale = px_per_mm(folder / "ruler.JPG")
    ratios: list[float] = []
    sizes: list[float] = []
    total = matched = 0
    kinds: dict[str, int] = {}
    for name in PHOTOS:
        read = read_photo(load_photo(folder / name), subject=Subject.PATCH, settings=SETTINGS)
        view, marks = read.views[0], read.reading.tiles[0].marks
        centres = np.array([[m.x_px, m.y_px] for m in marks], np.float64).reshape(-1, 1, 2)
        at = cv2.perspectiveTransform(centres, view.to_photo)[:, 0] if len(marks) else np.zeros((0, 2))
        per_px = float(np.sqrt(abs(np.linalg.det(view.to_photo[:2, :2]))))
        for x, y, diameter in true_bubbles(folder / name):
            total += 1
            sizes.append(diameter)
            near = np.hypot(at[:, 0] - x, at[:, 1] - y)
            if not len(near) or near.min() > 0.25 * diameter:
                continue
            mark = marks[int(near.argmin())]
            matched += 1
            ratios.append(mark.diameter_px * per_px / diameter)
            kinds[str(mark.kind)] = kinds.get(str(mark.kind), 0) + 1
    off = np.abs(np.array(ratios) - 1) if ratios else np.array([np.nan])
    return {
        "photos": len(PHOTOS),
        "px_per_mm": round(scale, 1),
        "bubbles": total,
        "bubble_mm": [round(float(v) / scale, 2) for v in np.percentile(sizes, (5, 50, 95))],
        "found": matched,
        "called": kinds,
        "size_error_median": round(float(np.median(off)), 3),
        "size_error_p95": round(float(np.percentile(off, 95)), 3),
        "size_ratio_median": round(float(np.median(ratios)), 3) if ratios else None,
        "size_error_median_mm": round(float(np.median(off) * np.median(sizes) / scale), 3),
    }
