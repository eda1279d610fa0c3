"""How well colours by place, runs and craze cells are read on renders that nothing was fitted on.

    python sample_images/add_place_truth.py .renders/test       # once, for renders older than this truth
    python -m pytest -m accuracy -s tests/benchmarks/test_face.py

The whole read, found outlines and all. Set GLOSTBOOK_RENDERS to read another folder. Figures go to
tests/benchmarks/figures/face_<folder>.json. Renders are not photographs.
"""

from __future__ import annotations

import json
import os
from collections import defaultdict
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from skimage.color import deltaE_ciede2000

from tests.synthetic import polygon_iou
from vision.photo import load_photo
from vision.pipeline import read_photo
from vision.reading import FaceColours, TileReading

HERE = Path(__file__).resolve().parent
FOLDER = Path(os.environ.get("GLOSTBOOK_RENDERS", HERE.parents[1] / ".renders" / "test"))
LEAST_RUN_MM = 1.0
Values = dict[str, list[float]]
"""True runs shorter than LEAST_RUN_MM count neither as found nor as missed."""


def apart(lab: Any, other: Any) -> float:
    return float(deltaE_ciede2000(np.asarray(lab, float), np.asarray(other, float)))


def score_gradient(places: FaceColours, truth: dict[str, Any], values: Values) -> None:
    if places.gradient is None or "lab_per_mm" not in truth or places.gradient.height_cm is None:
        return
    height_mm = places.gradient.height_cm * 10
    true = np.array(truth["lab_per_mm"]) * height_mm
    off = np.array(places.gradient.change) - true
    for axis, miss, sd in zip("Lab", off, places.gradient.change_sd, strict=True):
        values[f"gradient_{axis}_off"].append(abs(miss))
        values[f"gradient_{axis}_signed"].append(miss)
        values["gradient_within_2sd"].append(float(abs(miss) <= 1.96 * sd))
    values["gradient_true_L"].append(abs(true[0]))


def score_edges(places: FaceColours, truth: dict[str, Any], values: Values) -> None:
    if places.edges is None or not truth.get("edge_lab") or not truth.get("field_lab"):
        return
    edges = places.edges
    true = apart(truth["field_lab"], truth["edge_lab"])
    step = np.subtract(edges.edge.as_tuple(), edges.field.as_tuple())
    off = step - np.subtract(truth["edge_lab"], truth["field_lab"])
    for axis, miss in zip("Lab", off, strict=True):
        values[f"edge_{axis}_signed"].append(miss)
    values["edge_de_off"].append(abs(edges.delta_e_00 - true))
    values["edge_de_true"].append(true)
    values["edge_within_2sd"].append(float(abs(edges.delta_e_00 - true) <= 1.96 * edges.delta_e_00_sd))
    values["edge_pairs"].append(edges.delta_e_00)


def score_thickness(places: FaceColours, truth: dict[str, Any], values: Values) -> None:
    if places.thick_thin is None or truth.get("coat_low_end") is None or truth.get("coat_edge") is None:
        return
    values["thin_guess_right"].append(float(truth["coat_edge"] < truth["coat_middle"]))
    values["thick_guess_right"].append(float(truth["coat_low_end"] > truth["coat_middle"]))
    values["thick_colour_off"].append(apart(places.thick_thin.thick.as_tuple(), truth["thick_lab"]))


def score_opacity(places: FaceColours, truth: dict[str, Any], values: Values) -> None:
    true = truth["contrast_ratio"]
    values["stripe_found" if true is not None else "stripe_invented"].append(
        float(places.opacity is not None)
    )
    if true is not None and places.opacity is not None:
        off = places.opacity.contrast_ratio - true
        values["opacity_off"].append(abs(off))
        values["opacity_signed"].append(off)
        values["opacity_within_2sd"].append(float(abs(off) <= 1.96 * places.opacity.contrast_ratio_sd))


def score_running(reading: TileReading, tile: dict[str, Any], values: Values) -> None:
    if tile["bare_end"] != "bottom":
        return
    values["running_judged"].append(float(reading.running is not None))
    if reading.running is None or reading.running.longest_mm is None:
        return
    true, mine = tile["running"]["longest_mm"], reading.running.longest_mm
    if true == 0.0 or true >= LEAST_RUN_MM:
        values["run_found" if true else "run_invented"].append(float(reading.running.present))
    if true >= LEAST_RUN_MM and reading.running.present:
        values["run_off_mm"].append(abs(mine - true))
        values["run_signed_mm"].append(mine - true)
        values["run_within_2sd"].append(
            float(abs(mine - true) <= 1.96 * (reading.running.longest_sd_mm or 0.0))
        )


def score_cells(reading: TileReading, tile: dict[str, Any], values: Values) -> None:
    true = tile["craze_cells"]
    if true is None or not reading.crazing.present:
        return
    mine = reading.crazing.cell_quartiles_mm
    values["cell_quartiles_told"].append(float(mine is not None))
    if reading.crazing.direction_strength is not None:
        values["net_direction_strength"].append(reading.crazing.direction_strength)
    if mine is not None:
        for name, one, other in zip(("low", "middle", "high"), mine, true, strict=True):
            values[f"cell_{name}_off_share"].append(abs(one / other - 1))
            values[f"cell_{name}_signed_share"].append(one / other - 1)


SCORES = (score_gradient, score_edges, score_thickness, score_opacity)


def pairs(truth: dict[str, Any], tiles: tuple[TileReading, ...]) -> list[tuple[dict[str, Any], TileReading]]:
    """Match each true tile to the reading that overlaps it by half at least."""
    shape = (truth["height_px"], truth["width_px"])
    matched = []
    for tile in truth["tiles"]:
        outline = np.array(tile["outline_px"], float)
        shares = [polygon_iou(np.array(t.outline_px), outline, shape) for t in tiles]
        if shares and max(shares) > 0.5:
            matched.append((tile, tiles[int(np.argmax(shares))]))
    return matched


def told(values: Values) -> dict[str, Any]:
    figures: dict[str, Any] = {}
    for name in sorted(values):
        one = values[name]
        if set(one) <= {0.0, 1.0}:
            figures[name] = {"share": round(float(np.mean(one)), 3), "count": len(one)}
        else:
            q = [round(float(v), 3) for v in np.percentile(one, [50, 95])]
            figures[name] = {"count": len(one), "median": q[0], "p95": q[1]}
    return figures


@pytest.mark.accuracy
def test_colours_by_place():
    files = [f for f in sorted(FOLDER.glob("*.json")) if '"places"' in f.read_text(encoding="utf-8")]
    if not files:
        pytest.skip(f"no renders with truth by place in {FOLDER.name}: see the head of this file")
    values: Values = defaultdict(list)
    for file in files:
        truth = json.loads(file.read_text(encoding="utf-8"))
        for tile, reading in pairs(truth, read_photo(load_photo(FOLDER / truth["photo"])).reading.tiles):
            for score in SCORES:
                score(reading.face_colours, tile["places"], values)
            score_running(reading, tile, values)
            score_cells(reading, tile, values)
    figures = {"photos": len(files), **told(values)}
    out = HERE / "figures" / f"face_{FOLDER.name}.json"
    out.write_text(json.dumps(figures, indent=1) + "\n", encoding="utf-8")
    print(json.dumps(figures, indent=1))
    assert figures["photos"] > 0
