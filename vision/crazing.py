"""Craze nets: fine lines that join into closed cells, told from scratches and grain by how they join."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.craze_cells import cell_quartiles_px, net_direction
from vision.craze_net import NET_FEATURE_NAMES, Net, line_domain, net_features, trace_net
from vision.craze_sight import hairline_visibility
from vision.lone_lines import lone_lines
from vision.reading import Crazing
from vision.settings import CrazingSettings
from vision.surface import BoolMask, Surface

__all__ = ["MODEL_FILE", "detect_crazing", "net_probability"]

MODEL_FILE = Path(__file__).with_name("crazing_model.json")
_LENGTH_ROOT_AREA = 1.95
"""Length of line per area times the root of the mean cell area; see `_sizes`."""


@cache
def _weights(
    path: Path = MODEL_FILE,
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], float]:
    """Load mean, spread and weight of each feature, and the offset.

    Raises
    ------
    ValueError : the file was fitted on other features.
    """
    kept = json.loads(path.read_text(encoding="utf-8"))
    if tuple(kept["features"]) != NET_FEATURE_NAMES:
        msg = f"{path.name} was fitted on other features than are measured now; fit it again"
        raise ValueError(msg)
    return np.array(kept["mean"]), np.array(kept["spread"]), np.array(kept["weight"]), float(kept["offset"])


def net_probability(features: NDArray[np.float64]) -> float:
    """Give the probability that lines with these features are a craze net: a logistic model of 20 numbers."""
    mean, spread, weight, offset = _weights()
    score = float(((features - mean) / spread) @ weight + offset)
    return float(1 / (1 + np.exp(-np.clip(score, -12, 12))))


def detect_crazing(surface: Surface, settings: CrazingSettings) -> tuple[Crazing, BoolMask, BoolMask]:
    """Say whether a craze net is there, how dense it is and how large its cells are, or what lines lie alone.

    Parameters
    ----------
    surface : the surface, (rows, cols)
    settings : thresholds

    Returns
    -------
    Crazing; (rows, cols) bool True on the net's lines, all False when none is called; and (rows, cols) bool
    True on fine lines that join into no net, all False when one is called. `present` is None when a net is as
    likely as on any piece, or blur, a coarse scale or the glaze's own grain and darkness could hide one.

    Notes
    -----
    Dry, fresh crazing is often invisible in a photo: "not present" means "no net can be seen".
    """
    nothing = np.zeros(surface.glazed.shape, bool)
    too_blurred = surface.blur_px > settings.most_blur_px
    too_coarse = surface.mm_per_px is not None and surface.mm_per_px > settings.coarsest_mm_per_px
    if too_blurred or not surface.glazed.any():
        return Crazing(None, None), nothing, nothing
    lab, domain, factor = line_domain(surface, settings)
    net = trace_net(lab, domain, factor, settings)
    probability = net_probability(net_features(net))
    present = probability >= settings.least_probability
    if not present:
        none = None if surface.mm_per_px is None else 0.0
        seen = hairline_visibility(surface, lab, domain, factor, settings)
        # a usual net would drown in the grain of this photo of this glaze
        drowned = seen is not None and seen < settings.least_visibility
        hidden = too_coarse or drowned or probability >= settings.absent_below
        absent = Crazing(None, None) if hidden else Crazing(False, probability, none, None)
        return absent, nothing, _drawn(lone_lines(net, settings), nothing.shape)
    length, cell = _sizes(net, surface.mm_per_px)
    crazing = _with_cells(Crazing(True, probability, length, cell), net, surface.mm_per_px, settings)
    return crazing, _drawn(net.skeleton, nothing.shape), nothing


def _drawn(bones: BoolMask, shape: tuple[int, ...]) -> BoolMask:
    """Draw lines two pixels wide at the surface's own size."""
    wide = cv2.dilate(bones.astype(np.uint8), np.ones((2, 2), np.uint8))
    if wide.shape != shape:
        wide = cv2.resize(wide, (shape[1], shape[0]), interpolation=cv2.INTER_NEAREST)
    return np.asarray(wide > 0, np.bool_)


def _with_cells(crazing: Crazing, net: Net, mm_per_px: float | None, settings: CrazingSettings) -> Crazing:
    """Add the lines' direction and the spread of the cells' sizes."""
    direction = net_direction(net, settings)
    if direction is not None:
        crazing = replace(
            crazing,
            direction_deg=direction.degrees,
            direction_strength=direction.strength,
            direction_shares=direction.shares,
        )
    if mm_per_px is None or crazing.cell_mm is None:
        return crazing
    scale = mm_per_px / net.factor
    quartiles = cell_quartiles_px(net, crazing.cell_mm / scale, settings)
    if quartiles is None:
        return crazing
    low, middle, high = quartiles
    return replace(crazing, cell_quartiles_mm=(low * scale, middle * scale, high * scale))


def _sizes(net: Net, mm_per_px: float | None) -> tuple[float | None, float | None]:
    """Give the length per area (mm per cm²) and the cell size (mm, root of mean area), None without scale.

    Notes
    -----
    Cells from their lines: cells of mean area a carry 2 / sqrt(a) of line per area in a Poisson-Voronoi net
    (Meijering 1953, from memory) and in squares, 1.86 / sqrt(a) in hexagons (by arithmetic). One missed wall
    makes two cells one, but takes little of the length.
    """
    if mm_per_px is None:
        return None, None
    scale = mm_per_px / net.factor
    bones = net.skeleton
    straight = int((bones[:, 1:] & bones[:, :-1]).sum() + (bones[1:] & bones[:-1]).sum())
    falling = bones[1:, 1:] & bones[:-1, :-1] & ~(bones[1:, :-1] | bones[:-1, 1:])
    rising = bones[1:, :-1] & bones[:-1, 1:] & ~(bones[1:, 1:] | bones[:-1, :-1])
    # weights of straight and diagonal links that are least wrong over all directions (Dorst & Smeulders 1987)
    length_px = 0.948 * straight + 1.340 * int(falling.sum() + rising.sum())
    area_px = float(net.domain.sum())
    length = length_px * scale / (area_px * scale * scale / 100)
    if length_px <= 0:
        return length, None
    return length, _LENGTH_ROOT_AREA * area_px / length_px * scale
