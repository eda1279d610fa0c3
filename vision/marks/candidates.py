"""Where a mark could be: the peaks of blob filters that a quick screen does not rule out.

Pixels are (x, y) with the centre of the first pixel at (0, 0).
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.marks.forest import Forest
from vision.marks.peaks import find_peaks
from vision.settings import MarkSettings
from vision.surface import BoolMask, ByteImage, FloatImage, Surface, bounding_box

__all__ = [
    "Candidates",
    "Pyramid",
    "build_pyramid",
    "distinct",
    "find_candidates",
    "measuring_domain",
    "radii_looked_for_px",
    "smallest_diameter_px",
]


@dataclass(frozen=True, slots=True, eq=False)
class Candidates:
    """Places that may be marks, arrays of one length.

    Attributes
    ----------
    x_px, y_px : float32, centre
    radius_px : float32, radius the filter answered to
    strength : float32, log odds of the screen that it is a mark
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


def radii_looked_for_px(surface: Surface, settings: MarkSettings) -> tuple[float, float]:
    """Give the smallest and largest filter radius, wider than the marks': a filter may answer off size."""
    smallest = smallest_diameter_px(surface.blur_px, settings) / 2
    largest = settings.largest_fraction * min(surface.glazed.shape) / 2
    return 0.7 * smallest, 1.3 * largest


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
    islands = surface.piece & ~surface.glazed
    if not islands.any():
        return domain
    box = bounding_box(islands)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(islands[box].view(np.uint8), connectivity=8)
    largest = settings.largest_fraction * min(domain.shape) / 2
    rows, cols = domain.shape
    left, top = stats[:, cv2.CC_STAT_LEFT] + box[1].start, stats[:, cv2.CC_STAT_TOP] + box[0].start
    wide, high = stats[:, cv2.CC_STAT_WIDTH], stats[:, cv2.CC_STAT_HEIGHT]
    small = (np.maximum(wide, high) <= largest) & (left > 0) & (top > 0)
    small &= (left + wide < cols) & (top + high < rows)
    small[0] = False
    if count > 1 and small.any():
        domain[box] |= small[labels]
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


def find_candidates(
    surface: Surface, pyramid: Pyramid, settings: MarkSettings, screen: Forest | None
) -> Candidates:
    """Find the places worth a close look.

    Parameters
    ----------
    surface : the surface, (rows, cols)
    pyramid : from `build_pyramid`
    settings : thresholds
    screen : trees over `PEAK_FEATURE_NAMES`; None ranks by the height of the peak alone

    Returns
    -------
    Candidates, likeliest first, at most `settings.most_candidates`
    """
    peaks = find_peaks(
        pyramid.light,
        pyramid.colour,
        pyramid.masks,
        pyramid.domain,
        radii_px=radii_looked_for_px(surface, settings),
        settings=settings,
    )
    strength = peaks.features[:, 0] if screen is None else screen.sums(peaks.features)[:, 0]
    order = np.argsort(-strength, kind="stable")
    order = order[distinct(peaks.x_px[order], peaks.y_px[order], peaks.radius_px[order])]
    order = order[: settings.most_candidates]
    if screen is not None:
        order = order[strength[order] > settings.screen_odds]
    return Candidates(
        peaks.x_px[order], peaks.y_px[order], peaks.radius_px[order], strength[order], peaks.channel[order]
    )


def distinct(x: NDArray[np.float32], y: NDArray[np.float32], radius: NDArray[np.float32]) -> NDArray[np.intp]:
    """Keep the first of each cell of place (half a radius) and size (a factor of root 2)."""
    size = np.rint(2 * np.log2(radius)).astype(np.int64)
    cell = 2 ** (size / 2) / 2
    key = (size << 48) + (np.rint(x / cell).astype(np.int64) << 24) + np.rint(y / cell).astype(np.int64)
    _, first = np.unique(key, return_index=True)
    return np.sort(first)
