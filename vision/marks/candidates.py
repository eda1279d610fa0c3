"""Where a mark could be: blobs of lightness, of colour and of relief, at several scales.

Pixels are (x, y) with the centre of the first pixel at (0, 0).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.settings import MarkSettings
from vision.surface import BoolMask, FloatImage, Surface

__all__ = [
    "Candidates",
    "Pyramid",
    "build_pyramid",
    "find_candidates",
    "measuring_domain",
    "smallest_diameter_px",
]

_SIGMAS = (1.25, 1.77, 2.5)
"""Gaussian standard deviations in one octave, a factor of root 2 apart (Lowe 2004 uses 2 to 5 steps)."""
_RADIUS_PER_SIGMA = 1.65
"""Radius of the disc that answers a difference of Gaussians strongest, in units of its finer sigma."""
_DARK, _BRIGHT, _COLOUR, _RELIEF = range(4)


@dataclass(frozen=True, slots=True, eq=False)
class Candidates:
    """Places that may be marks, arrays of one length.

    Attributes
    ----------
    x_px, y_px : float32, centre
    radius_px : float32, radius the filter answered to
    strength : float32, response in robust standard deviations of the surface's own texture
    channel : int8, 0 dark, 1 bright, 2 colour, 3 relief
    """

    x_px: NDArray[np.float32]
    y_px: NDArray[np.float32]
    radius_px: NDArray[np.float32]
    strength: NDArray[np.float32]
    channel: NDArray[np.int8]

    def __len__(self) -> int:
        """Count of candidates."""
        return len(self.x_px)

    def take(self, index: NDArray[np.intp] | NDArray[np.bool_]) -> Candidates:
        """Give the candidates at `index`."""
        return Candidates(
            self.x_px[index],
            self.y_px[index],
            self.radius_px[index],
            self.strength[index],
            self.channel[index],
        )


@dataclass(frozen=True, slots=True, eq=False)
class Pyramid:
    """The surface halved again and again: CIELAB with bare ground filled in, and masks as float32 0..1.

    Attributes
    ----------
    lab : a level a (rows, cols, 3) float32
    masks : a level a (rows, cols, 3) float32: measuring domain, glint, saturated
    """

    lab: tuple[FloatImage, ...]
    masks: tuple[FloatImage, ...]


def smallest_diameter_px(blur_px: float, settings: MarkSettings) -> float:
    """Give the diameter under which nothing is reported, pixels."""
    return max(settings.smallest_px, settings.smallest_blurs * blur_px)


def measuring_domain(surface: Surface, settings: MarkSettings) -> BoolMask:
    """Glaze, plus bare islands small enough to be the floor of a mark.

    Parameters
    ----------
    surface : the surface; its arrays are (rows, cols)
    settings : `largest_fraction` bounds an island

    Returns
    -------
    (rows, cols) bool
    """
    domain = surface.glazed.copy()
    islands = (surface.piece & ~surface.glazed).astype(np.uint8)
    if not islands.any():
        return domain
    count, labels, stats, _ = cv2.connectedComponentsWithStats(islands, connectivity=8)
    largest = settings.largest_fraction * min(domain.shape) / 2
    rows, cols = domain.shape
    left, top = stats[:, cv2.CC_STAT_LEFT], stats[:, cv2.CC_STAT_TOP]
    wide, high = stats[:, cv2.CC_STAT_WIDTH], stats[:, cv2.CC_STAT_HEIGHT]
    small = (np.maximum(wide, high) <= largest) & (left > 0) & (top > 0)
    small &= (left + wide < cols) & (top + high < rows)
    small[0] = False
    if count > 1 and small.any():
        domain |= small[labels]
    return domain


def _filled(lab: FloatImage, domain: BoolMask) -> FloatImage:
    """Replace all outside `domain` by the blurred glaze next to it, so that its edge answers no filter."""
    if domain.all():
        return lab
    step = 8
    weight = cv2.resize(
        domain.astype(np.float32), None, fx=1 / step, fy=1 / step, interpolation=cv2.INTER_AREA
    )
    small = cv2.resize(
        lab * domain[..., None].astype(np.float32),
        (weight.shape[1], weight.shape[0]),
        interpolation=cv2.INTER_AREA,
    )
    total = np.float32(1e-4) * (small.sum((0, 1)) / max(float(weight.sum()), 1e-3))
    near, far = cv2.GaussianBlur(small, (0, 0), 1.5), cv2.GaussianBlur(small, (0, 0), 12)
    near_w, far_w = cv2.GaussianBlur(weight, (0, 0), 1.5), cv2.GaussianBlur(weight, (0, 0), 12)
    filling = (near + 0.02 * far + total) / (near_w + 0.02 * far_w + 1e-4)[..., None]
    full = cv2.resize(filling, (lab.shape[1], lab.shape[0]), interpolation=cv2.INTER_LINEAR)
    return np.where(domain[..., None], lab, full)


def build_pyramid(surface: Surface, domain: BoolMask, settings: MarkSettings) -> Pyramid:
    """Halve the surface until the largest mark has a radius of about 6 pixels.

    Parameters
    ----------
    surface : the surface, (rows, cols)
    domain : (rows, cols) bool, from `measuring_domain`
    settings : `largest_fraction`

    Returns
    -------
    Pyramid, level 0 at full size
    """
    lab = _filled(surface.lab, domain)
    saturated = surface.image.min(axis=2) >= 250
    masks = cv2.merge([m.astype(np.float32) for m in (domain, surface.glint, saturated)])
    largest = settings.largest_fraction * min(domain.shape) / 2
    levels = int(np.clip(np.ceil(np.log2(max(largest, 4) / 4)), 1, 6))
    labs, mask_levels = [lab], [masks]
    for _ in range(levels):
        if min(labs[-1].shape[:2]) < 24:
            break
        labs.append(cv2.pyrDown(labs[-1]))
        mask_levels.append(cv2.pyrDown(mask_levels[-1]))
    return Pyramid(tuple(labs), tuple(mask_levels))


def _peaks(
    response: FloatImage, inside: BoolMask, settings: MarkSettings, least: float
) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.float32]]:
    """Find local maxima of a response, and their height in robust standard deviations."""
    sample = np.abs(response[::3, ::3][inside[::3, ::3]])
    if sample.size < 20:
        none = np.zeros(0, np.intp)
        return none, none, np.zeros(0, np.float32)
    spread = float(np.median(sample)) / 0.6745 + 1e-6
    threshold = max(settings.response_mads * spread, least)
    top = cv2.dilate(response, np.ones((3, 3), np.uint8))
    y, x = np.nonzero((response >= top) & (response > threshold) & inside)
    floor = max(spread, least / settings.response_mads)
    return x, y, (response[y, x] / floor).astype(np.float32)


def _channels(lab: FloatImage, full_size: bool) -> FloatImage:
    """Stack what is filtered at one level: lightness, relief, and (below full size) the two colour axes."""
    light = np.ascontiguousarray(lab[..., 0])
    gx = cv2.Scharr(light, cv2.CV_32F, 1, 0, scale=1 / 16)
    gy = cv2.Scharr(light, cv2.CV_32F, 0, 1, scale=1 / 16)
    relief = cv2.magnitude(gx, gy)
    if full_size:
        return np.asarray(cv2.merge([light, relief]), np.float32)
    return np.asarray(cv2.merge([light, relief, lab[..., 1], lab[..., 2]]), np.float32)


def find_candidates(surface: Surface, pyramid: Pyramid, settings: MarkSettings) -> Candidates:
    """Find blobs that answer a difference of Gaussians in lightness, colour or relief.

    Parameters
    ----------
    surface : the surface, (rows, cols)
    pyramid : from `build_pyramid`
    settings : thresholds

    Returns
    -------
    Candidates, strongest first, at most `settings.most_candidates`

    Notes
    -----
    Scale-space blobs after Lindeberg (1998); difference of Gaussians after Lowe (2004).
    Colour is filtered from half size down: JPEG keeps it at half size only.
    """
    found: list[NDArray[np.float32]] = []
    least_radius = 0.35 * smallest_diameter_px(surface.blur_px, settings)
    largest = settings.largest_fraction * min(surface.glazed.shape) / 2
    for level, lab in enumerate(pyramid.lab):
        factor = float(2**level)
        inside = pyramid.masks[level][..., 0] > 0.5
        stack = _channels(lab, full_size=level == 0)
        blurred = [cv2.GaussianBlur(stack, (0, 0), sigma) for sigma in _SIGMAS]
        for (fine, coarse), sigma in zip(pairwise(blurred), _SIGMAS, strict=False):
            radius = sigma * _RADIUS_PER_SIGMA * factor
            if not least_radius <= radius <= 1.3 * largest:
                continue
            difference = fine - coarse
            light = np.ascontiguousarray(difference[..., 0])
            responses = [
                (_DARK, -light, settings.response_lightness),
                (_BRIGHT, light, settings.response_lightness),
                (_RELIEF, np.ascontiguousarray(difference[..., 1]), settings.response_lightness / 4),
            ]
            if level > 0:
                colour = cv2.magnitude(
                    np.ascontiguousarray(difference[..., 2]), np.ascontiguousarray(difference[..., 3])
                )
                responses.append((_COLOUR, colour, settings.response_lightness))
            for channel, response, least in responses:
                x, y, strength = _peaks(response, inside, settings, least)
                rows = np.stack(
                    [
                        x * factor,
                        y * factor,
                        np.full(len(x), radius),
                        strength,
                        np.full(len(x), channel),
                    ],
                    axis=1,
                )
                found.append(rows.astype(np.float32))
    table = np.concatenate(found) if found else np.zeros((0, 5), np.float32)
    table = table[np.argsort(-table[:, 3], kind="stable")][: 2 * settings.most_candidates]
    table = table[_distinct(table)][: settings.most_candidates]
    return Candidates(table[:, 0], table[:, 1], table[:, 2], table[:, 3], table[:, 4].astype(np.int8))


def _distinct(table: NDArray[np.float32]) -> NDArray[np.bool_]:
    """Drop a candidate that a stronger one of nearly the same place and size already stands for."""
    x, y, r = (np.ascontiguousarray(table[:, k]) for k in range(3))
    near = np.hypot(x[:, None] - x, y[:, None] - y) < 0.3 * np.minimum(r[:, None], r)
    near &= np.abs(np.log(r[:, None] / r)) < 0.3
    keep = np.ones(len(table), bool)
    for i in range(len(table)):
        if keep[i]:
            twins = near[i].copy()
            twins[: i + 1] = False
            keep[twins] = False
    return keep
