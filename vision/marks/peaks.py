"""Peaks of blob filters in lightness, relief and colour, with what can be said of each at almost no cost.

Scale-space blobs after Lindeberg (1998); difference of Gaussians after Lowe (2004).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.settings import MarkSettings
from vision.surface import BoolMask, ByteImage, FloatImage

__all__ = ["PEAK_FEATURE_NAMES", "Peaks", "find_peaks"]

_SIGMAS = (1.25, 1.77, 2.5)
"""Gaussian standard deviations in one octave, a factor of root 2 apart (Lowe 2004 uses 2 to 5 steps)."""
_RADIUS_PER_SIGMA = 1.65
"""Radius of the disc that answers a difference of Gaussians strongest, in units of its finer sigma."""
_LIGHT, _RELIEF, _COLOUR = range(3)

PEAK_FEATURE_NAMES: tuple[str, ...] = (
    "height",
    "log_radius_px",
    "channel",
    "around_near",
    "around_far",
    "light",
    "light_other_scale",
    "relief",
    "relief_other_scale",
    "colour",
    "colour_other_scale",
    "relief_level",
    "roundness",
    "light_roundness",
    "sharpness",
    "domain",
    "glint",
    "saturated",
    "least_share",
)
"""`height`, `around_*` in robust standard deviations of the response; the rest in CIELAB units."""


@dataclass(frozen=True, slots=True, eq=False)
class Peaks:
    """Peaks: place and size in full-size pixels, channel (0 light, 1 relief, 2 colour), features."""

    x_px: NDArray[np.float32]
    y_px: NDArray[np.float32]
    radius_px: NDArray[np.float32]
    channel: NDArray[np.int8]
    features: NDArray[np.float32]


def _stack(light: FloatImage, colour: FloatImage | None) -> list[FloatImage]:
    """Give what is filtered at one level: lightness, and below full size relief and the two colour axes."""
    if colour is None:
        return [light]
    gx = cv2.Scharr(light, cv2.CV_32F, 1, 0, scale=1 / 16)
    gy = cv2.Scharr(light, cv2.CV_32F, 0, 1, scale=1 / 16)
    a_star, b_star = cv2.split(colour)
    return [light, cv2.magnitude(gx, gy), a_star, b_star]


def _blurred(image: FloatImage) -> list[FloatImage]:
    """Blur by each of _SIGMAS, each from the one before."""
    out: list[FloatImage] = []
    before = 0.0
    for sigma in _SIGMAS:
        more = float(np.sqrt(sigma**2 - before**2))
        side = 2 * int(np.ceil(2.6 * more)) + 1
        out.append(np.asarray(cv2.GaussianBlur(out[-1] if out else image, (side, side), more), np.float32))
        before = sigma
    return out


def _roundness(image: FloatImage, x: NDArray[np.intp], y: NDArray[np.intp]) -> NDArray[np.float32]:
    """Give smaller over larger curvature inside the border: 1 a round peak, 0 a ridge, below a saddle."""
    at = image[y, x]
    xx = image[y, x + 1] + image[y, x - 1] - 2 * at
    yy = image[y + 1, x] + image[y - 1, x] - 2 * at
    xy = (image[y + 1, x + 1] + image[y - 1, x - 1] - image[y + 1, x - 1] - image[y - 1, x + 1]) / 4
    middle, gap = (xx + yy) / 2, np.hypot((xx - yy) / 2, xy)
    large = np.where(np.abs(middle + gap) > np.abs(middle - gap), middle + gap, middle - gap)
    small = 2 * middle - large
    return np.asarray(small / np.where(np.abs(large) < 1e-4, 1e-4, large), np.float32)


@dataclass(frozen=True, slots=True, eq=False)
class _Level:
    """One level with its answers: `differences[scale]` holds light, and below full size relief and colour."""

    radii_px: tuple[float, float]
    factor: float
    offset: float
    inside: BoolMask
    masks: ByteImage
    mask_factor: int
    relief: FloatImage | None
    differences: tuple[tuple[FloatImage, ...], ...]


def _peaks_of(
    level: _Level, scale: int, channel: int, settings: MarkSettings
) -> tuple[NDArray[np.float32], NDArray[np.float32]] | None:
    """Find one filter's peaks at one scale: (n, 4) x, y, radius, channel at full size, and their features."""
    signed = level.differences[scale][channel]
    least = settings.response_lightness / (4 if channel == _RELIEF else 1)
    response = np.maximum(signed, 0) if channel == _RELIEF else np.abs(signed)
    step = 1 + int(np.sqrt(response.size / 60000))
    sample = response[::step, ::step][level.inside[::step, ::step]]
    if sample.size < 20:
        return None
    spread = max(float(np.median(sample)) / 0.6745, 1e-4)
    threshold = max(settings.response_mads * spread, least)
    top = cv2.dilate(response, np.ones((3, 3), np.uint8))
    chosen = cv2.bitwise_and(
        cv2.compare(response, top, cv2.CMP_GE), cv2.compare(response, threshold, cv2.CMP_GT)
    )
    places = cv2.findNonZero(chosen)
    if places is None:
        return None
    x, y = places.reshape(-1, 2).astype(np.intp).T
    rows, cols = response.shape
    kept = level.inside[y, x] & (x > 0) & (y > 0) & (x < cols - 1) & (y < rows - 1)
    x, y = x[kept], y[kept]
    if len(x) > settings.most_peaks:
        strongest = np.argpartition(-response[y, x], settings.most_peaks)[: settings.most_peaks]
        x, y = x[strongest], y[strongest]
    radius = level.radii_px[scale]
    near = 2 * round(2.5 * radius / level.factor) + 1
    far = 2 * round(8.0 * radius / level.factor) + 1
    n = len(x)
    full = len(level.differences[scale]) > 1
    zero = np.zeros(n, np.float32)
    other = level.differences[1 - scale]
    here = level.differences[scale]
    mask_y = np.minimum(y // level.mask_factor, level.masks.shape[0] - 1)
    mask_x = np.minimum(x // level.mask_factor, level.masks.shape[1] - 1)
    masks = level.masks[mask_y, mask_x].astype(np.float32) / 255
    height = response[y, x]
    columns = [
        height / spread,
        np.full(n, np.log(radius), np.float32),
        np.full(n, channel, np.float32),
        cv2.blur(response, (near, near))[y, x] / spread,
        cv2.blur(response, (far, far))[y, x] / spread,
        here[_LIGHT][y, x],
        other[_LIGHT][y, x],
        here[_RELIEF][y, x] if full else zero,
        other[_RELIEF][y, x] if full else zero,
        np.abs(here[_COLOUR][y, x]) if full else zero,
        np.abs(other[_COLOUR][y, x]) if full else zero,
        level.relief[y, x] if level.relief is not None else zero,
        _roundness(response, x, y),
        _roundness(here[_LIGHT], x, y),
        height / (np.abs(other[channel][y, x]) + spread),
        masks[:, 0],
        masks[:, 1],
        masks[:, 2],
        height / np.float32(threshold),
    ]
    place = np.empty((n, 4), np.float32)
    place[:, 0], place[:, 1] = x * level.factor + level.offset, y * level.factor + level.offset
    place[:, 2], place[:, 3] = radius, channel
    return place, np.stack(columns, axis=1).astype(np.float32)


def find_peaks(
    light: Sequence[FloatImage],
    colour: Sequence[FloatImage],
    masks: Sequence[ByteImage],
    domain: BoolMask,
    *,
    radii_px: tuple[float, float],
    settings: MarkSettings,
) -> Peaks:
    """Find blobs that answer a difference of Gaussians in lightness, relief or colour.

    Parameters
    ----------
    light : a level a (rows, cols) float32 L*; level 0 full size, each next one half
    colour : a level from 1 on, (rows, cols, 2) float32 a*, b*
    masks : a level from 1 on, (rows, cols, 3) uint8 domain, glint, saturated
    domain : (rows, cols) bool, full size
    radii_px : smallest and largest radius looked for, full-size pixels
    settings : thresholds

    Returns
    -------
    Peaks, in no order
    """
    places: list[NDArray[np.float32]] = []
    features: list[NDArray[np.float32]] = []
    for number, image in enumerate(light):
        factor = float(2**number)
        radii = (_SIGMAS[0] * _RADIUS_PER_SIGMA * factor, _SIGMAS[1] * _RADIUS_PER_SIGMA * factor)
        if radii[1] < radii_px[0] or radii[0] > radii_px[1]:
            continue
        stack = _stack(image, colour[number - 1] if number else None)
        blurred = [_blurred(channel) for channel in stack]
        differences = []
        for scale in range(2):
            parts = [channel[scale] - channel[scale + 1] for channel in blurred]
            if number:
                parts = [parts[0], parts[1], np.asarray(cv2.magnitude(parts[2], parts[3]), np.float32)]
            differences.append(tuple(parts))
        level_masks = masks[max(number - 1, 0)]
        level = _Level(
            radii,
            factor,
            0.5 if number else 0.0,
            level_masks[..., 0] > 127 if number else domain,
            level_masks,
            1 if number else 2,
            blurred[1][0] if number else None,
            tuple(differences),
        )
        for scale, radius in enumerate(radii):
            if not radii_px[0] <= radius <= radii_px[1]:
                continue
            for channel in range(len(differences[scale])):
                found = _peaks_of(level, scale, channel, settings)
                if found is not None:
                    places.append(found[0])
                    features.append(found[1])
    if not places:
        none = np.zeros(0, np.float32)
        return Peaks(
            none, none, none, none.astype(np.int8), np.zeros((0, len(PEAK_FEATURE_NAMES)), np.float32)
        )
    place, feature = np.concatenate(places), np.concatenate(features)
    return Peaks(place[:, 0], place[:, 1], place[:, 2], place[:, 3].astype(np.int8), feature)
