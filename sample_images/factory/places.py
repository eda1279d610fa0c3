"""The truth by place on a made surface: colours, opacity over a stripe, runs, the cells of a craze net."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from .colour import linear_to_lab
from .noise import Field

__all__ = ["cell_quartiles", "place_truth", "run_truth", "stripe_ratio"]

_EDGE_MM, _FIELD_MM = (0.4, 1.6), (3.5, 9.0)
"""Bands from the edge that count as edge and as the field beside it: the reading's own definition."""
_LINE_MM = 1.2
_LUMINANCE = np.array([0.2126, 0.7152, 0.0722], np.float32)


def stripe_ratio(before: Field, after: Field, y_mm: Field, middle_mm: float) -> float:
    """Give Y over a stripe's core by Y of the same glaze without it; colours (rows, cols, 3) linear."""
    core = np.abs(y_mm - middle_mm) < 0.8
    return float((after[core] @ _LUMINANCE).mean() / (before[core] @ _LUMINANCE).mean())


def _lab(colour: Field, where: NDArray[np.bool_]) -> list[float] | None:
    if np.count_nonzero(where) < 50:
        return None
    return [round(float(v), 3) for v in np.median(linear_to_lab(colour[where]), axis=0)]


def place_truth(
    colour: Field,
    coat: Field,
    glazed: NDArray[np.bool_],
    distance: Field,
    step_mm: float,
    contrast_ratio: float | None,
) -> dict[str, object]:
    """Give the truth of colours by place.

    Parameters
    ----------
    colour : (rows, cols, 3) linear, before marks and craze lines
    coat : (rows, cols) thickness in nominal coats
    glazed : (rows, cols) bool
    distance : (rows, cols) millimetres inside the edge
    step_mm : grid step
    contrast_ratio : of the glaze over the painted stripe, None without one
    """
    clear = cv2.distanceTransform(glazed.astype(np.uint8), cv2.DIST_L2, 5) * step_mm > 0.2
    bare = ~glazed & (distance > 0)
    if bare.any():
        clear &= cv2.distanceTransform((~bare).astype(np.uint8), cv2.DIST_L2, 5) * step_mm > _LINE_MM
    edge = clear & (distance > _EDGE_MM[0]) & (distance <= _EDGE_MM[1])
    field = clear & (distance > _FIELD_MM[0]) & (distance <= _FIELD_MM[1])
    inner = clear & (distance > _FIELD_MM[0])
    truth: dict[str, object] = {
        "contrast_ratio": None if contrast_ratio is None else round(contrast_ratio, 4)
    }
    truth |= {"field_lab": _lab(colour, field), "edge_lab": _lab(colour, edge)}
    rows, cols = np.nonzero(inner[::4, ::4])
    if len(rows) > 200 and float(np.ptp(rows)) * 4 * step_mm > 10:
        lab = linear_to_lab(colour[::4, ::4][rows, cols]).astype(np.float64)
        slope = np.polyfit(rows * 4 * step_mm, lab, 1)[0]
        truth["lab_per_mm"] = [round(float(v), 5) for v in slope]
        used = coat[inner]
        thick = inner & (coat >= np.quantile(used, 0.9))
        low = np.nonzero(inner.any(axis=1))[0]
        pool = inner.copy()
        pool[: int(low[-1] - 0.12 * len(low))] = False
        truth |= {
            "thick_lab": _lab(colour, thick),
            "coat_middle": round(float(np.median(used)), 3),
            "coat_low_end": round(float(np.median(coat[pool])), 3) if pool.any() else None,
            "coat_edge": round(float(np.median(coat[edge])), 3) if edge.any() else None,
        }
    return truth


def run_truth(runs: Field | None, distance: Field, step_mm: float) -> dict[str, object]:
    """Give how far glaze has run below its line: the longest run, and the share of the width that has run.

    Parameters
    ----------
    runs : (cols,) millimetres below the line, None where the glaze does not run
    distance : (rows, cols) millimetres inside the edge
    step_mm : grid step
    """
    if runs is None:
        return {"longest_mm": 0.0, "width_share": 0.0}
    inside = runs[distance.max(axis=0) > 2.0]
    if len(inside) * step_mm < 5.0:
        return {"longest_mm": 0.0, "width_share": 0.0}
    return {
        "longest_mm": round(float(inside.max()), 3),
        "width_share": round(float((inside > 0.5 * inside.max()).mean()), 3),
    }


def cell_quartiles(
    crazed: NDArray[np.bool_], glazed: NDArray[np.bool_], step_mm: float
) -> list[float] | None:
    """Give the quartiles of the craze cells' sizes (root of area, mm), of cells wholly inside the glaze."""
    if not crazed.any():
        return None
    open_cells = (glazed & ~crazed).astype(np.uint8)
    _, labels, stats, _ = cv2.connectedComponentsWithStats(open_cells, connectivity=4)
    rim = cv2.dilate((~glazed).astype(np.uint8), np.ones((3, 3), np.uint8)) > 0
    rim[[0, -1]] = rim[:, [0, -1]] = True
    whole = np.setdiff1d(np.arange(1, len(stats)), np.unique(labels[rim]))
    areas = stats[whole, cv2.CC_STAT_AREA]
    areas = areas[areas > 6]
    if len(areas) < 4:
        return None
    return [round(float(v), 3) for v in np.percentile(np.sqrt(areas) * step_mm, [25, 50, 75])]
