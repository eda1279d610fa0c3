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
from vision.surface import BoolMask, ByteImage, FloatImage, Surface

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
    """The surface halved again and again, bare ground filled in with the glaze beside it.

    Level 0 is full size and has lightness only; colour and masks begin at half size, as JPEG keeps colour.

    Attributes
    ----------
    light : a level a (rows, cols) float32, L*
    colour : a level from 1 on a (rows, cols, 2) float32, a* and b*
    masks : a level from 1 on a (rows, cols, 3) uint8, 255 inside: measuring domain, glint, saturated
    domain : (rows, cols) bool at full size
    """

    light: tuple[FloatImage, ...]
    colour: tuple[FloatImage, ...]
    masks: tuple[ByteImage, ...]
    domain: BoolMask

    @staticmethod
    def place(level: int) -> tuple[float, float]:
        """Give factor and offset: full-size pixel = factor * level pixel + offset."""
        return float(2**level), 0.0 if level == 0 else 0.5


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


def _filling(lab: FloatImage, domain: BoolMask) -> FloatImage:
    """Give the blurred glaze next to each place, at an eighth of the size, to put where no glaze is."""
    size = (max(1, domain.shape[1] // 8), max(1, domain.shape[0] // 8))
    weight = cv2.resize(domain.astype(np.float32), size, interpolation=cv2.INTER_AREA)
    small = cv2.resize(lab, size, interpolation=cv2.INTER_AREA) * np.square(weight)[..., None]
    weight = np.square(weight)
    total = np.float32(1e-4) * (small.sum((0, 1)) / max(float(weight.sum()), 1e-3))
    near, far = cv2.GaussianBlur(small, (0, 0), 1.5), cv2.GaussianBlur(small, (0, 0), 12)
    near_w, far_w = cv2.GaussianBlur(weight, (0, 0), 1.5), cv2.GaussianBlur(weight, (0, 0), 12)
    filling = (near + 0.02 * far + total) / (near_w + 0.02 * far_w + 1e-4)[..., None]
    return np.asarray(filling, np.float32)


def build_pyramid(surface: Surface, domain: BoolMask, settings: MarkSettings) -> Pyramid:
    """Halve the surface until the largest mark has a radius of about 4 pixels.

    Parameters
    ----------
    surface : the surface, (rows, cols), at least 16 pixels a side
    domain : (rows, cols) bool, from `measuring_domain`
    settings : `largest_fraction`

    Returns
    -------
    Pyramid
    """
    even = np.s_[: domain.shape[0] // 2 * 2, : domain.shape[1] // 2 * 2]
    half = (domain.shape[1] // 2, domain.shape[0] // 2)
    light = np.ascontiguousarray(surface.lab[..., 0])
    lab_half = cv2.resize(surface.lab[even], half, interpolation=cv2.INTER_AREA)
    saturated = cv2.inRange(surface.image, (250, 250, 250), (255, 255, 255))
    masks = cv2.merge([domain.view(np.uint8) * 255, surface.glint.view(np.uint8) * 255, saturated])
    masks = cv2.resize(masks[even], half, interpolation=cv2.INTER_AREA)
    if not domain.all():
        filling = _filling(surface.lab, domain)
        outside = ~domain
        full = cv2.resize(
            np.ascontiguousarray(filling[..., 0]), domain.shape[::-1], interpolation=cv2.INTER_LINEAR
        )
        light[outside] = full[outside]
        share = (masks[..., 0].astype(np.float32) / 255)[..., None]
        soft = cv2.resize(filling, half, interpolation=cv2.INTER_LINEAR)
        lab_half = np.where(share > 0.99, lab_half, soft)
    largest = settings.largest_fraction * min(domain.shape) / 2
    levels = int(np.clip(np.ceil(np.log2(max(largest, 4) / 4)), 1, 6))
    lights = [light, np.ascontiguousarray(lab_half[..., 0])]
    colours, mask_levels = [np.ascontiguousarray(lab_half[..., 1:])], [masks]
    while len(lights) <= levels and min(lights[-1].shape) >= 24:
        lights.append(cv2.pyrDown(lights[-1]))
        colours.append(cv2.pyrDown(colours[-1]))
        mask_levels.append(cv2.pyrDown(mask_levels[-1]))
    return Pyramid(tuple(lights), tuple(colours), tuple(mask_levels), domain)


def _peaks(
    response: FloatImage, inside: BoolMask, settings: MarkSettings, least: float
) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.float32]]:
    """Find local maxima of a response >= 0, and their height in robust standard deviations."""
    step = 1 + int(np.sqrt(response.size / 60000))
    sample = response[::step, ::step][inside[::step, ::step]]
    if sample.size < 20:
        none = np.zeros(0, np.intp)
        return none, none, np.zeros(0, np.float32)
    spread = float(np.median(sample)) / 0.6745 + 1e-6
    threshold = max(settings.response_mads * spread, least)
    top = cv2.dilate(response, np.ones((3, 3), np.uint8))
    is_peak = cv2.bitwise_and(
        cv2.compare(response, top, cv2.CMP_GE), cv2.compare(response, threshold, cv2.CMP_GT)
    )
    places = cv2.findNonZero(is_peak)
    places = np.zeros((0, 2), np.int32) if places is None else places.reshape(-1, 2)
    places = places[inside[places[:, 1], places[:, 0]]].astype(np.intp)
    x, y = places[:, 0], places[:, 1]
    floor = max(spread, least / settings.response_mads)
    return x, y, (response[y, x] / floor).astype(np.float32)


def _stack(pyramid: Pyramid, level: int) -> FloatImage:
    """Stack what is filtered at one level: lightness, and below full size relief and the two colour axes."""
    light = pyramid.light[level]
    if level == 0:
        return light
    gx = cv2.Scharr(light, cv2.CV_32F, 1, 0, scale=1 / 16)
    gy = cv2.Scharr(light, cv2.CV_32F, 0, 1, scale=1 / 16)
    colour = pyramid.colour[level - 1]
    return np.asarray(cv2.merge([light, cv2.magnitude(gx, gy), colour]), np.float32)


def _blurred(stack: FloatImage) -> list[FloatImage]:
    """Blur by each of _SIGMAS, each from the one before."""
    out: list[FloatImage] = []
    before = 0.0
    for sigma in _SIGMAS:
        more = float(np.sqrt(sigma**2 - before**2))
        side = 2 * int(np.ceil(2.6 * more)) + 1
        out.append(np.asarray(cv2.GaussianBlur(out[-1] if out else stack, (side, side), more), np.float32))
        before = sigma
    return out


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
    """
    found: list[NDArray[np.float32]] = []
    least_radius = 0.35 * smallest_diameter_px(surface.blur_px, settings)
    largest = settings.largest_fraction * min(surface.glazed.shape) / 2
    for level in range(len(pyramid.light)):
        factor, offset = Pyramid.place(level)
        radii = [sigma * _RADIUS_PER_SIGMA * factor for sigma in _SIGMAS[:-1]]
        if radii[-1] < least_radius or radii[0] > 1.3 * largest:
            continue
        inside = pyramid.domain if level == 0 else pyramid.masks[level - 1][..., 0] > 127
        blurred = _blurred(_stack(pyramid, level))
        for (fine, coarse), radius in zip(pairwise(blurred), radii, strict=True):
            if not least_radius <= radius <= 1.3 * largest:
                continue
            difference = fine - coarse
            for channel, response, least in _responses(difference, settings):
                x, y, strength = _peaks(response, inside, settings, least)
                rows = np.empty((len(x), 5), np.float32)
                rows[:, 0], rows[:, 1] = x * factor + offset, y * factor + offset
                rows[:, 2], rows[:, 3], rows[:, 4] = radius, strength, channel
                if channel == _DARK:
                    light = difference if difference.ndim == 2 else difference[..., 0]
                    rows[light[y, x] > 0, 4] = _BRIGHT
                found.append(rows)
    table = np.concatenate(found) if found else np.zeros((0, 5), np.float32)
    table = table[np.argsort(-table[:, 3], kind="stable")][: 2 * settings.most_candidates]
    table = table[_distinct(table)][: settings.most_candidates]
    return Candidates(table[:, 0], table[:, 1], table[:, 2], table[:, 3], table[:, 4].astype(np.int8))


def _responses(difference: FloatImage, settings: MarkSettings) -> list[tuple[int, FloatImage, float]]:
    """Give each filter's response, >= 0, its channel and least height; _DARK stands for dark or bright."""
    least = settings.response_lightness
    if difference.ndim == 2:
        return [(_DARK, np.abs(difference), least)]
    light, relief, a_star, b_star = cv2.split(difference)
    return [
        (_DARK, np.abs(light), least),
        (_RELIEF, np.maximum(relief, 0), least / 4),
        (_COLOUR, np.asarray(cv2.magnitude(a_star, b_star), np.float32), least),
    ]


def _distinct(table: NDArray[np.float32]) -> NDArray[np.intp]:
    """Keep the strongest candidate of each cell of place (half a radius) and size (a factor of root 2)."""
    size = np.rint(2 * np.log2(table[:, 2])).astype(np.int64)
    cell = 2 ** (size / 2) / 2
    column = np.rint(table[:, 0] / cell).astype(np.int64)
    row = np.rint(table[:, 1] / cell).astype(np.int64)
    _, first = np.unique((size << 48) + (column << 24) + row, return_index=True)
    return np.sort(first)
