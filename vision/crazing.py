"""Craze nets: fine lines that join into closed cells, told from scratches and grain by how they join."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.reading import Crazing
from vision.settings import CrazingSettings
from vision.surface import BoolMask, FloatImage, Surface

__all__ = ["NET_FEATURE_NAMES", "Net", "detect_crazing", "measure_net", "net_features"]

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
)
"""What the net's probability rests on; all without unit, per pixel of the working resolution."""


@dataclass(frozen=True, slots=True, eq=False)
class Net:
    """Lines found on a surface, at working resolution.

    Attributes
    ----------
    skeleton : (rows, cols) bool, one pixel wide
    domain : (rows, cols) bool, where lines were looked for
    response : (rows, cols) float32, ridge response
    factor : working pixels per surface pixel, at most 1
    noise : robust standard deviation of the response
    """

    skeleton: BoolMask
    domain: BoolMask
    response: FloatImage
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
        return Net(np.zeros_like(domain), domain, dark, factor, 0.0)
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
    return Net(skeleton, domain, response, factor, noise)


def net_features(net: Net) -> NDArray[np.float64]:
    """Describe how the lines join, as NET_FEATURE_NAMES; zeros where there is no line."""
    length = int(net.skeleton.sum())
    area = int(net.domain.sum())
    if length < 20 or area < 400:
        return np.zeros(len(NET_FEATURE_NAMES))
    bones = net.skeleton.astype(np.uint8)
    neighbours = cv2.filter2D(bones, cv2.CV_8U, np.array([[1, 1, 1], [1, 0, 1], [1, 1, 1]], np.uint8))
    junction = ((neighbours >= 3) & net.skeleton).astype(np.uint8)
    junctions = cv2.connectedComponents(junction, connectivity=8)[0] - 1
    ends = int(((neighbours == 1) & net.skeleton).sum())
    walls = cv2.dilate(bones, np.ones((3, 3), np.uint8)) > 0
    inner = (net.domain & ~walls).astype(np.uint8)
    _, _, stats, _ = cv2.connectedComponentsWithStats(inner, connectivity=4)
    areas = np.sort(stats[1:, cv2.CC_STAT_AREA])
    areas = areas[areas > 30]
    closed = areas[areas < 0.12 * area]
    gx = cv2.Sobel(cv2.GaussianBlur(net.response, (0, 0), 1.5), cv2.CV_32F, 1, 0)
    gy = cv2.Sobel(cv2.GaussianBlur(net.response, (0, 0), 1.5), cv2.CV_32F, 0, 1)
    beside = walls & ~net.skeleton & net.domain
    angle = 2 * np.arctan2(gy[beside], gx[beside])
    weight = np.hypot(gx[beside], gy[beside])
    resultant = abs(complex((weight * np.cos(angle)).sum(), (weight * np.sin(angle)).sum())) / max(
        float(weight.sum()), 1e-6
    )
    pieces, labels, piece_stats, _ = cv2.connectedComponentsWithStats(bones, connectivity=8)
    sizes = piece_stats[1:, cv2.CC_STAT_AREA]
    joined = 0.0
    if pieces > 1:
        has_junction = np.zeros(pieces, bool)
        has_junction[np.unique(labels[junction > 0])] = True
        joined = float(sizes[has_junction[1:]].sum()) / length
    return np.array(
        [
            length / np.sqrt(area) / 30,
            30 * junctions / length,
            30 * ends / length,
            float(closed.sum()) / area,
            1e3 * len(closed) / area,
            1 - resultant,
            float(sizes.max()) / length,
            float(np.log1p(np.median(net.response[net.skeleton]) / max(net.noise, 1e-3))),
            joined,
        ]
    )


def _probability(features: NDArray[np.float64]) -> float:
    named = dict(zip(NET_FEATURE_NAMES, features.tolist(), strict=True))
    score = 9 * named["cell_area_share"] + 0.8 * named["junctions_per_length"] + 2 * named["joined_share"]
    score += 2 * named["orientation_spread"] - 1.0 * named["ends_per_length"] - 5.0
    return float(1 / (1 + np.exp(-score)))


def detect_crazing(surface: Surface, settings: CrazingSettings) -> tuple[Crazing, BoolMask]:
    """Say whether a craze net is there, how dense it is and how large its cells are.

    Parameters
    ----------
    surface : the surface, (rows, cols)
    settings : thresholds

    Returns
    -------
    Crazing, and (rows, cols) bool True on the lines (all False when none is called). `present` is None
    when blur or scale would hide a net: then its absence says nothing.

    Notes
    -----
    Dry, fresh crazing is often invisible in a photo: "not present" means "no net can be seen".
    """
    nothing = np.zeros(surface.glazed.shape, bool)
    too_blurred = surface.blur_px > settings.most_blur_px
    too_coarse = surface.mm_per_px is not None and surface.mm_per_px > settings.coarsest_mm_per_px
    if too_blurred or too_coarse or not surface.glazed.any():
        return Crazing(None, None), nothing
    net = measure_net(surface, settings)
    probability = _probability(net_features(net))
    present = probability >= settings.least_probability
    if not present:
        none = None if surface.mm_per_px is None else 0.0
        return Crazing(False, probability, none, None), nothing
    length, cell = _sizes(net, surface.mm_per_px)
    mask = net.skeleton.astype(np.uint8)
    if net.factor < 1:
        rows, cols = surface.glazed.shape
        wide = cv2.dilate(mask, np.ones((2, 2), np.uint8))
        mask = cv2.resize(wide, (cols, rows), interpolation=cv2.INTER_NEAREST)
    else:
        mask = cv2.dilate(mask, np.ones((2, 2), np.uint8))
    return Crazing(True, probability, length, cell), mask.astype(bool)


def _sizes(net: Net, mm_per_px: float | None) -> tuple[float | None, float | None]:
    """Give the length per area (mm per cm²) and the mean cell size (mm, root of area), None without scale."""
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
    inner = (net.domain & ~bones).astype(np.uint8)
    _, _, stats, _ = cv2.connectedComponentsWithStats(inner, connectivity=4)
    areas = stats[1:, cv2.CC_STAT_AREA].astype(np.float64)
    areas = areas[(areas > 40) & (areas < 0.25 * area_px)]
    if len(areas) < 2:
        return length, None
    # area-weighted median cell: slivers by broken walls do not count as cells
    order = np.sort(areas)
    middle = order[np.searchsorted(np.cumsum(order), order.sum() / 2)]
    return length, float(np.sqrt(middle) * scale)
