"""Colour charts on phone photos: found or not, what a correction leaves, and what other libraries make of
them.

A patch is always predicted by a correction fitted to the other patches, every choice made anew without it
(tone curve, model, shading, odd patches), and compared by CIEDE2000 with its published colour. The
corrections of colour-science get the same patches, linear sRGB in and out, as their documentation fits them.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import colour
import cv2
import numpy as np
from numpy.typing import NDArray

from tests.benchmarks.opened.photos import SETTINGS, image_files
from vision.balance_fit import apply_fit, colours_off, fit_chart, gains_at
from vision.card_patches import PatchSample
from vision.chart import find_chart
from vision.colour import lab_to_linear
from vision.photo import load_photo

FOLDER = "colour-chart-phone-photos"
NO_CHART = {"marker_sheet_no_chart_large", "plantcv_camera-trax"}
"""The first is a sheet of markers, the second a card of other colours in another order (the set's README)."""
MCC_SEEDS = (0, 1, 2)
RIVALS: dict[str, dict[str, Any]] = {
    "Cheung 2004, 3 terms": {"method": "Cheung 2004", "terms": 3},
    "Cheung 2004, 7 terms": {"method": "Cheung 2004", "terms": 7},
    "Finlayson 2015, degree 2": {"method": "Finlayson 2015", "degree": 2},
    "Finlayson 2015, degree 3": {"method": "Finlayson 2015", "degree": 3},
}


def _left_out(patches: list[PatchSample]) -> NDArray[np.float64]:
    """Give each patch's delta E00 when our own fit to the others predicts it; NaN where none is made."""
    off = []
    for k, patch in enumerate(patches):
        fit = fit_chart(tuple(patches[:k] + patches[k + 1 :]), None, SETTINGS.balance)
        if fit is None:
            off.append(np.nan)
            continue
        seen = np.array([patch.linear_rgb])
        fitted = apply_fit(fit, seen) * gains_at(fit.shade, [patch], SETTINGS.balance)
        off.append(float(colours_off(fitted, np.array([patch.lab]))[0]))
    return np.array(off)


def _rival_left_out(patches: list[PatchSample], how: dict[str, Any]) -> NDArray[np.float64]:
    seen = np.array([p.linear_rgb for p in patches])
    lab = np.array([p.lab for p in patches])
    wanted = lab_to_linear(lab).astype(np.float64)
    off = []
    for k in range(len(patches)):
        others = np.arange(len(patches)) != k
        fitted = colour.colour_correction(seen[k : k + 1], seen[others], wanted[others], **how)
        off.append(float(colours_off(np.asarray(fitted), lab[k : k + 1])[0]))
    return np.array(off)


def _mcc_finds(path: Path) -> bool:
    """Ask OpenCV's own finder; it draws lots, so it is asked three times and believed if it finds one."""
    picture = cv2.imread(str(path), cv2.IMREAD_COLOR)
    for seed in MCC_SEEDS:
        cv2.setRNGSeed(seed)
        if cv2.mcc.CCheckerDetector_create().process(picture, 1):
            return True
    return False


def score_charts(folder: Path) -> dict[str, Any]:
    """Score every photo of the set."""
    photos: dict[str, Any] = {}
    left: dict[str, list[float]] = {name: [] for name in ("glostbook", *RIVALS)}
    found, mcc, invented = [], [], {"glostbook": [], "opencv_mcc": []}
    for file in image_files(folder):
        chart = find_chart(load_photo(file).pixels, SETTINGS)
        theirs = _mcc_finds(file)
        if file.stem in NO_CHART:
            invented["glostbook"] += [file.stem] if chart is not None else []
            invented["opencv_mcc"] += [file.stem] if theirs else []
            continue
        found.append(chart is not None)
        mcc.append(theirs)
        if chart is None:
            photos[file.stem] = None
            continue
        patches = [p for p in chart.patches if not p.clipped]
        fit = fit_chart(chart.patches, None, SETTINGS.balance)
        off = {"glostbook": _left_out(patches)}
        off |= {name: _rival_left_out(patches, how) for name, how in RIVALS.items()}
        for name, values in off.items():
            left[name].append(float(np.nanmean(values)))
        photos[file.stem] = {
            "patches": len(patches),
            "model": None if fit is None else fit.model,
            "residual_delta_e_00": None if fit is None else round(fit.residual, 2),
            "left_out_delta_e_00": {name: round(float(np.nanmean(v)), 2) for name, v in off.items()},
        }
    return {
        "usable": len(found),
        "found": sum(found),
        "opencv_mcc_found": sum(mcc),
        "found_where_there_is_none": invented,
        "left_out_delta_e_00_mean_over_photos": {
            name: {"mean": round(float(np.mean(v)), 2), "median": round(float(np.median(v)), 2)}
            for name, v in left.items()
        },
        "photos": photos,
    }
