"""The net of fine lines on a glaze: tracing it, and describing how its lines join."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.settings import CrazingSettings
from vision.surface import BoolMask, FloatImage, Surface

__all__ = ["NET_FEATURE_NAMES", "Net", "line_domain", "measure_net", "net_features"]

NET_FEATURE_NAMES: tuple[str, ...] = (
    "length_density",
    "junctions_per_length",
    "ends_per_length",
    "cell_area_share",
    "cells_per_area",
    "orientation_spread",
    "largest_piece_share",
    "contrast",
    "joined_share",
    "one_sidedness",
    "breadth",
    "cell_extent",
    "cell_spread",
    "contrast_spread",
    "glossy_lines",
)
"""What the net's probability rests on; without unit, or per pixel of the working resolution."""


@dataclass(frozen=True, slots=True, eq=False)
class Net:
    """Lines found on a surface, at working resolution.

    Attributes
    ----------
    skeleton : (rows, cols) bool, one pixel wide
    domain : (rows, cols) bool, where lines were looked for
    response : (rows, cols) float32, ridge response
    light : (rows, cols) float32, L* less its local mean
    factor : working pixels per surface pixel, at most 1
    noise : robust standard deviation of the response
    """

    skeleton: BoolMask
    domain: BoolMask
    response: FloatImage
    light: FloatImage
    factor: float
    noise: float


def _ridges(light: FloatImage, sigmas: tuple[float, ...]) -> FloatImage:
    """Give the larger eigenvalue of the Hessian less what a blob would answer, the strongest over sigma."""
    best = np.zeros_like(light)
    for sigma in sigmas:
        smooth = cv2.GaussianBlur(light, (0, 0), sigma)
        xx = cv2.Sobel(smooth, cv2.CV_32F, 2, 0, ksize=3, scale=0.25 * sigma)
        yy = cv2.Sobel(smooth, cv2.CV_32F, 0, 2, ksize=3, scale=0.25 * sigma)
        xy = cv2.Sobel(smooth, cv2.CV_32F, 1, 1, ksize=3, scale=0.25 * sigma)
        half_sum = (xx + yy) * np.float32(0.5)
        half_gap = cv2.magnitude((xx - yy) * np.float32(0.5), xy)
        # line-likeness: the large curvature, less what the curvature along the line takes away
        ridge = half_sum + half_gap - np.abs(half_sum - half_gap)
        np.maximum(best, ridge, out=best)
    return best


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
    Hessian ridge filter after Frangi (1998) without its vesselness, hysteresis, thinning (Zhang & Suen 1984).
    """
    from skimage.morphology import skeletonize

    rows, cols = surface.glazed.shape
    factor = min(1.0, float(np.sqrt(settings.working_megapixels * 1e6 / (rows * cols))))
    light = np.ascontiguousarray(surface.lab[..., 0])
    domain = (surface.glazed & ~surface.glint).astype(np.uint8)
    if factor < 1:
        size = (round(cols * factor), round(rows * factor))
        light = cv2.resize(light, size, interpolation=cv2.INTER_AREA)
        domain = cv2.resize(domain, size, interpolation=cv2.INTER_NEAREST)
    domain = cv2.erode(domain, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (9, 9)), borderValue=0) > 0
    light = light - cv2.blur(light, (31, 31))
    dark, bright = _ridges(light, settings.sigmas_px), _ridges(-light, settings.sigmas_px)
    sample = domain[::3, ::3]
    if sample.sum() < 200:
        return Net(np.zeros_like(domain), domain, dark, light, factor, 0.0)
    response = (
        dark
        if np.percentile(dark[::3, ::3][sample], 97) >= np.percentile(bright[::3, ::3][sample], 97)
        else bright
    )
    noise = float(np.median(response[::3, ::3][sample])) / 0.6745 + 1e-4
    weak_level = max(settings.weak_mads * noise, settings.weak_lightness)
    strong_level = max(settings.strong_mads * noise, 2 * settings.weak_lightness)
    weak = (response > weak_level) & domain
    count, labels, stats, _ = cv2.connectedComponentsWithStats(weak.astype(np.uint8), connectivity=8)
    kept = np.zeros(count, bool)
    kept[np.unique(labels[(response > strong_level) & weak])] = True
    kept &= np.maximum(stats[:, cv2.CC_STAT_WIDTH], stats[:, cv2.CC_STAT_HEIGHT]) >= settings.shortest_px
    kept[0] = False
    skeleton = skeletonize(kept[labels])
    return Net(skeleton, domain, response, light, factor, noise)


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
    smooth = cv2.GaussianBlur(net.response, (0, 0), 1.5)
    gx = cv2.Sobel(smooth, cv2.CV_32F, 1, 0)[beside]
    gy = cv2.Sobel(smooth, cv2.CV_32F, 0, 1)[beside]
    # (gx + i gy)^2 / |g|: doubled angle, weighted by strength
    size = np.hypot(gx, gy) + 1e-6
    along, across = ((gx * gx - gy * gy) / size).sum(), (2 * gx * gy / size).sum()
    return float(1 - np.hypot(along, across) / size.sum())


def net_features(net: Net) -> NDArray[np.float64]:
    """Describe how the lines join and what they are like, as NET_FEATURE_NAMES; zeros without lines."""
    length = int(net.skeleton.sum())
    area = int(net.domain.sum())
    if length < 20 or area < 400:
        return np.zeros(len(NET_FEATURE_NAMES))
    bones = net.skeleton.astype(np.uint8)
    junction, junctions, ends = _joins(bones)
    walls = cv2.dilate(bones, np.ones((3, 3), np.uint8)) > 0
    areas, extents = _cells(net, walls)
    pieces, labels, stats, _ = cv2.connectedComponentsWithStats(bones, connectivity=8)
    sizes = stats[1:, cv2.CC_STAT_AREA]
    has_junction = np.zeros(pieces, bool)
    has_junction[np.unique(labels[junction > 0])] = True
    joined = float(sizes[has_junction[1:]].sum()) / length
    depth = net.response[net.skeleton]
    middle = float(np.median(depth))
    # a crack has the same glaze on both sides and is fine; an edge has a step, a fold of glaze is broad
    smooth = cv2.GaussianBlur(net.light, (0, 0), 3.0)
    step = cv2.magnitude(
        cv2.Sobel(smooth, cv2.CV_32F, 1, 0, scale=0.5), cv2.Sobel(smooth, cv2.CV_32F, 0, 1, scale=0.5)
    )
    bend = np.abs(cv2.Laplacian(smooth, cv2.CV_32F))
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
            float(np.log1p(middle / max(net.noise, 1e-3))),
            joined,
            float(np.median(step[net.skeleton])) / max(middle, 1e-3),
            float(np.median(bend[net.skeleton])) / max(middle, 1e-3),
            float(np.median(extents)) if len(extents) else 0.0,
            float(logs.std()) if len(logs) > 2 else 2.0,
            float(np.percentile(depth, 75) - np.percentile(depth, 25)) / max(middle, 1e-3),
            float((net.light[net.skeleton] > 4 + 2 * net.noise).mean()),
        ]
    )
