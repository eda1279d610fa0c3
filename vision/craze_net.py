"""The net of fine lines on a glaze: tracing it, and describing how its lines join."""

from __future__ import annotations

from dataclasses import dataclass, field

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.craze_lines import chances_of, line_input
from vision.craze_web import scores_of, with_odds
from vision.settings import CrazingSettings
from vision.surface import BoolMask, FloatImage, Surface

__all__ = [
    "NET_FEATURE_NAMES",
    "Net",
    "line_domain",
    "measure_net",
    "net_features",
    "thin_parts",
    "trace_net",
]

NET_FEATURE_NAMES: tuple[str, ...] = (
    "length_density",
    "junctions_per_length",
    "ends_per_length",
    "cell_area_share",
    "cells_per_area",
    "orientation_spread",
    "largest_piece_share",
    "joined_share",
    "cell_extent",
    "cell_spread",
    "mean_chance",
    "firm_share",
    "line_chance",
    "highest_chances",
    "doubtful_share",
    "web_mean",
    "web_low",
    "web_middle",
    "web_high",
    "web_share",
)
"""What the net's probability rests on; without unit, or per pixel of the working resolution."""

_MOST_ODDS = 5.0
"""Log odds beyond which a place is no surer."""
_LEAST = 1e-4
"""Chance or share that stands for none in a logarithm."""


@dataclass(frozen=True, slots=True, eq=False)
class Net:
    """Lines found on a surface, at working resolution.

    Attributes
    ----------
    skeleton : (rows, cols) bool, one pixel wide
    domain : (rows, cols) bool, where lines were looked for
    chance : (rows, cols) float32, the chance of a line at each pixel, 0..1
    factor : working pixels per surface pixel, at most 1
    web : (places,) float32, log odds of crazing at each place of glaze (`craze_web`)
    """

    skeleton: BoolMask
    domain: BoolMask
    chance: FloatImage
    factor: float
    web: FloatImage = field(default_factory=lambda: np.zeros(0, np.float32))


def line_domain(surface: Surface, settings: CrazingSettings) -> tuple[FloatImage, BoolMask, float]:
    """Bring a surface to the working resolution.

    Parameters
    ----------
    surface : the surface, (rows, cols)
    settings : `working_megapixels`

    Returns
    -------
    lab : (rows, cols, 3) float32
    domain : (rows, cols) bool, glaze without glints and without the strip beside an edge
    factor : working pixels per surface pixel, at most 1
    """
    rows, cols = surface.glazed.shape
    factor = min(1.0, float(np.sqrt(settings.working_megapixels * 1e6 / (rows * cols))))
    lab = surface.lab
    domain = (surface.glazed & ~surface.glint).astype(np.uint8)
    if factor < 1:
        size = (round(cols * factor), round(rows * factor))
        lab = np.asarray(cv2.resize(lab, size, interpolation=cv2.INTER_AREA), np.float32)
        domain = cv2.resize(domain, size, interpolation=cv2.INTER_NEAREST)
    edge = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (9, 9))
    return lab, cv2.erode(domain, edge, borderValue=0) > 0, factor


def measure_net(surface: Surface, settings: CrazingSettings) -> Net:
    """Trace fine dark or bright lines on the glaze.

    Parameters
    ----------
    surface : the surface, (rows, cols)
    settings : thresholds

    Returns
    -------
    Net

    Notes
    -----
    Chances by a small convolutional net (`craze_lines`), hysteresis, thinning (Zhang & Suen 1984).
    """
    return trace_net(*line_domain(surface, settings), settings)


def thin_parts(lines: BoolMask) -> tuple[int, NDArray[np.int32], NDArray[np.int32]]:
    """Part lines into connected ones: how many and the ground, their labels, and OpenCV's figures of each.

    Notes
    -----
    By blocks (Grana, Borghesani & Cucchiara 2010): OpenCV's usual way takes twice as long for thin lines.
    """
    how = (lines.view(np.uint8), 8, cv2.CV_32S, cv2.CCL_GRANA)
    count, labels, stats, _ = cv2.connectedComponentsWithStatsWithAlgorithm(*how)
    return count, labels, stats


def trace_net(lab: FloatImage, domain: BoolMask, factor: float, settings: CrazingSettings) -> Net:
    """Trace lines as `measure_net` does, on what `line_domain` gives."""
    if domain.sum() < settings.least_domain_px:
        return Net(np.zeros_like(domain), domain, np.zeros(domain.shape, np.float32), factor)
    planes = line_input(lab, domain)
    chance = chances_of(planes)
    web = scores_of(with_odds(planes, chance))
    strong = chance > settings.strong_chance
    if not strong.any():
        return Net(np.zeros_like(domain), domain, chance, factor, web)
    weak = chance > settings.weak_chance
    count, labels, stats = thin_parts(weak)
    kept = np.zeros(count, bool)
    kept[labels[strong]] = True
    kept &= np.maximum(stats[:, cv2.CC_STAT_WIDTH], stats[:, cv2.CC_STAT_HEIGHT]) >= settings.shortest_px
    kept[0] = False
    if not kept.any():
        return Net(np.zeros_like(domain), domain, chance, factor, web)
    from skimage.morphology import skeletonize

    return Net(skeletonize(kept[labels]), domain, chance, factor, web)


def _joins(bones: NDArray[np.uint8]) -> tuple[NDArray[np.uint8], int, int]:
    """Give the junction pixels, how many junctions there are, and how many ends."""
    around = np.array([[1, 1, 1], [1, 0, 1], [1, 1, 1]], np.uint8)
    neighbours = cv2.filter2D(bones, cv2.CV_8U, around, borderType=cv2.BORDER_CONSTANT)
    junction = ((neighbours >= 3) & (bones > 0)).astype(np.uint8)
    return (
        junction,
        cv2.connectedComponents(junction, connectivity=8)[0] - 1,
        int(((neighbours == 1) & (bones > 0)).sum()),
    )


def _cells(net: Net, walls: BoolMask) -> tuple[NDArray[np.int32], NDArray[np.float64]]:
    """Give the areas of the closed cells between the walls, and how well each fills its upright box."""
    _, _, stats, _ = cv2.connectedComponentsWithStats((net.domain & ~walls).astype(np.uint8), connectivity=4)
    areas = stats[1:, cv2.CC_STAT_AREA]
    box = stats[1:, cv2.CC_STAT_WIDTH] * stats[1:, cv2.CC_STAT_HEIGHT].astype(np.float64)
    closed = (areas > 30) & (areas < 0.12 * net.domain.sum())
    return areas[closed], areas[closed] / box[closed]


def _direction_spread(net: Net, beside: BoolMask) -> float:
    """Give 1 for lines in all directions, 0 for parallel ones (1 less the doubled-angle resultant)."""
    smooth = cv2.GaussianBlur(net.chance, (0, 0), 1.5)
    gx = cv2.Sobel(smooth, cv2.CV_32F, 1, 0)[beside]
    gy = cv2.Sobel(smooth, cv2.CV_32F, 0, 1)[beside]
    # (gx + i gy)^2 / |g|: doubled angle, weighted by strength
    size = np.hypot(gx, gy) + 1e-6
    along, across = ((gx * gx - gy * gy) / size).sum(), (2 * gx * gy / size).sum()
    return float(1 - np.hypot(along, across) / size.sum())


def _web_features(web: FloatImage) -> list[float]:
    """Say how crazed the glaze's places look: mean, spread and share of likely ones, of held log odds."""
    if web.size == 0:
        return [-_MOST_ODDS] * 4 + [0.0]
    held = np.clip(web, -_MOST_ODDS, _MOST_ODDS)
    low, middle, high = (float(v) for v in np.percentile(held, (15, 50, 85)))
    return [float(held.mean()), low, middle, high, float((web > 0).mean())]


def net_features(net: Net) -> NDArray[np.float64]:
    """Describe how the lines join and how sure they are, as NET_FEATURE_NAMES."""
    length, area = int(net.skeleton.sum()), int(net.domain.sum())
    if area == 0:
        return np.zeros(len(NET_FEATURE_NAMES))
    chance = net.chance[net.domain]
    sure = [
        float(np.log(max(float(chance.mean()), _LEAST))),
        float(np.log(max(float((chance > 0.5).mean()), _LEAST))),
        float(np.median(net.chance[net.skeleton])) if length else 0.0,
        float(np.percentile(chance, 99)),
        float(((chance > 0.1) & (chance < 0.5)).sum()) / max(1.0, float((chance > 0.1).sum())),
        *_web_features(net.web),
    ]
    if length < 20 or area < 400:
        return np.array([0.0] * (len(NET_FEATURE_NAMES) - len(sure)) + sure)
    bones = net.skeleton.astype(np.uint8)
    junction, junctions, ends = _joins(bones)
    walls = cv2.dilate(bones, np.ones((3, 3), np.uint8)) > 0
    areas, extents = _cells(net, walls)
    pieces, labels, stats = thin_parts(net.skeleton)
    sizes = stats[1:, cv2.CC_STAT_AREA]
    has_junction = np.zeros(pieces, bool)
    has_junction[np.unique(labels[junction > 0])] = True
    logs = np.log(np.maximum(areas, 1))
    return np.array(
        [
            10 * length / area,
            30 * junctions / length,
            30 * ends / length,
            float(areas.sum()) / area,
            1e3 * len(areas) / area,
            _direction_spread(net, walls & ~net.skeleton & net.domain),
            float(sizes.max()) / length,
            float(sizes[has_junction[1:]].sum()) / length,
            float(np.median(extents)) if len(extents) else 0.0,
            float(logs.std()) if len(logs) > 2 else 2.0,
            *sure,
        ]
    )
