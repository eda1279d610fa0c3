"""Two views of one piece, lit from two sides: what moved with the lamp, and the face without it.

Light mirrored by a glaze comes from where the lamp stands; the glaze's own light only grows or fades slowly
over the face. So both views are evened to one slow light, and where one still outshines the other the darker
of both is the glaze.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.colour import linear_to_lab, linear_to_srgb8, srgb8_to_lab, srgb_to_linear
from vision.crawling import without_patches
from vision.masks import find_glint
from vision.reading import CalibrationKind
from vision.settings import Settings, TwoLampSettings
from vision.surface import BoolMask, ByteImage, FloatImage, Surface

__all__ = ["LampPair", "join_views", "lamp_side", "second_surface"]

_LUMINANCE = np.array([0.2126, 0.7152, 0.0722], np.float32)
"""IEC 61966-2-1, linear sRGB to luminance."""
_LINEAR = srgb_to_linear(np.arange(256, dtype=np.uint8))
_DARK = np.float32(0.01)
"""Added to linear light before a logarithm: under it lies noise."""
_TRUST = {CalibrationKind.CHART: 2, CalibrationKind.CARD: 1, CalibrationKind.NONE: 0}


@dataclass(frozen=True, slots=True, eq=False)
class LampPair:
    """One piece under two lamps, all arrays of one shape.

    Attributes
    ----------
    first, second : the surface in each photo, as a single photo is read
    clear : the surface without the reflections that moved; its glint is what is left under both lamps
    moved : (rows, cols) bool, True where one photo outshines the other
    lamp : (2,) unit vector x, y in pixels of the view, towards the first photo's lamp
    alike : how well both views match, -1..1
    """

    first: Surface
    second: Surface
    clear: Surface
    moved: BoolMask
    lamp: NDArray[np.float32]
    alike: float

    def without_patches(self, crawled: BoolMask) -> LampPair:
        """Leave the pieces' bare patches out of both photos' glaze; see `vision.crawling.without_patches`."""
        first, second = (without_patches(surface, crawled) for surface in (self.first, self.second))
        return replace(self, first=first, second=second)


def second_surface(
    image: ByteImage, seen: BoolMask, first: Surface, blur_px: float, settings: Settings
) -> Surface:
    """Make the second photo's view of a piece a surface, with the first one's glaze and clay.

    Parameters
    ----------
    image : (rows, cols, 3) uint8 sRGB, colour-corrected, in the first view's pixels
    seen : (rows, cols) bool, False where the second photo ends
    first : the first photo's surface
    blur_px : of the second photo, pixels of the view
    settings : `settings.tiles`
    """
    lab = srgb8_to_lab(image)
    full = (image >= settings.tiles.clipped_code).all(axis=2)
    glint = find_glint(lab, first.glazed, settings.tiles) | (full & first.glazed) | (first.glazed & ~seen)
    return replace(first, image=image, lab=lab, glint=np.asarray(glint, np.bool_), blur_px=blur_px)


def _slow(values: FloatImage, inside: FloatImage, share: float) -> FloatImage:
    """Smooth (rows, cols, channels) within a mask over a share of the long side, worked at an eighth."""
    rows, cols = inside.shape
    size = (max(4, cols // 8), max(4, rows // 8))
    sigma = max(1.0, share * max(size) / 2)
    weight = cv2.resize(inside, size, interpolation=cv2.INTER_AREA)
    small = cv2.resize(values * inside[..., None], size, interpolation=cv2.INTER_AREA)
    near, near_w = cv2.GaussianBlur(small, (0, 0), sigma), cv2.GaussianBlur(weight, (0, 0), sigma)
    far, far_w = cv2.GaussianBlur(small, (0, 0), 5 * sigma), cv2.GaussianBlur(weight, (0, 0), 5 * sigma)
    even = (near + 0.01 * far) / (near_w + 0.01 * far_w + 1e-5)[..., None]
    return np.asarray(cv2.resize(even, (cols, rows), interpolation=cv2.INTER_LINEAR), np.float32)


def join_views(
    first: Surface,
    second: Surface,
    kinds: tuple[CalibrationKind, CalibrationKind],
    lamp: NDArray[np.float32],
    alike: float,
    settings: Settings,
) -> LampPair:
    """Join two views of one piece.

    Parameters
    ----------
    first, second : the surface in each photo, in the same pixels
    kinds : how each photo's colours were corrected; the better one sets the level, two alike share it
    lamp : (2,) unit vector in pixels of the view, towards the first photo's lamp
    alike : how well both views match
    settings : `settings.two_lamps`, `settings.tiles`
    """
    two = settings.two_lamps
    light = [cv2.LUT(s.image, _LINEAR).astype(np.float32) for s in (first, second)]
    logs = [np.log(part + _DARK) for part in light]
    usable = (first.piece & ~first.glint & ~second.glint).astype(np.float32)
    if usable.sum() < 0.05 * first.piece.sum():
        usable = first.piece.astype(np.float32)
    difference = logs[0] - logs[1]
    gap = _slow(difference, usable, two.slow_share)
    for _ in range(2):  # what outshines is left out of the slow light that it is told by
        off = np.abs((difference - gap).mean(axis=2)) > two.moved_rise
        rest = usable * ~off
        if rest.sum() > 0.2 * usable.sum():
            gap = _slow(difference, np.asarray(rest, np.float32), two.slow_share)
    trust = _TRUST[kinds[0]] - _TRUST[kinds[1]]
    share = np.float32(0.5 if trust == 0 else float(trust > 0))
    even = [np.exp(logs[0] - (1 - share) * gap) - _DARK, np.exp(logs[1] + share * gap) - _DARK]
    bright = [cv2.GaussianBlur(np.log(np.maximum(e @ _LUMINANCE, 0) + _DARK), (0, 0), 1.0) for e in even]
    rise = bright[0] - bright[1]
    outshone = (np.abs(rise) > two.moved_rise)[..., None]
    darker = np.where((rise > 0)[..., None], even[1], even[0])
    unseen = first.glazed & (second.glint & (second.image.max(axis=2) == 0))
    linear = np.where(outshone, darker, 0.5 * (even[0] + even[1]))
    linear = np.asarray(np.clip(np.where(unseen[..., None], even[0], linear), 0, None), np.float32)
    lab = linear_to_lab(linear)
    moved = np.asarray(outshone[..., 0] & first.glazed, np.bool_)
    left = find_glint(lab, first.glazed, settings.tiles) | (first.glint & second.glint & ~moved)
    clear = replace(
        first,
        image=linear_to_srgb8(linear),
        lab=lab,
        glint=np.asarray(left, np.bool_),
        blur_px=max(first.blur_px, second.blur_px),
    )
    return LampPair(first, second, clear, moved, lamp, alike)


def lamp_side(
    first: ByteImage, second: ByteImage, to_second: NDArray[np.float64], settings: TwoLampSettings
) -> NDArray[np.float64]:
    """Tell where the first photo's lamp stood, from how the light falls off over the whole frame.

    Parameters
    ----------
    first, second : (rows, cols, 3) uint8 sRGB, the photos
    to_second : (3, 3) homography from pixels of the first to pixels of the second
    settings : `settings.least_slope`

    Returns
    -------
    (2,) unit vector x, y in pixels of the first photo, towards its lamp and away from the second one's.

    Notes
    -----
    Light falls off with distance from a near lamp (inverse square law), so the photos' ratio slopes from one
    lamp to the other, whatever lies on the table. Where it hardly does, the lamp is taken to be on the left.
    """
    scale = 160 / max(first.shape[:2])
    size = (round(first.shape[1] * scale), round(first.shape[0] * scale))
    here = cv2.resize(first, size, interpolation=cv2.INTER_AREA)
    small = cv2.resize(second, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    bring = np.diag([scale, scale, 1.0])
    there = cv2.warpPerspective(
        small, bring @ to_second @ np.linalg.inv(bring), size, flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    )
    inside = (there.max(axis=2) > 0) & (here.max(axis=2) < 250) & (there.max(axis=2) < 250)
    rows, cols = np.nonzero(inside)
    left = np.array([-1.0, 0.0])
    if len(rows) < 100:
        return left
    ratio = (
        np.log(_LINEAR[here[rows, cols]] @ _LUMINANCE + _DARK)
        - np.log(_LINEAR[there[rows, cols]] @ _LUMINANCE + _DARK)
    ).astype(np.float64)
    place = np.stack([cols / max(size), rows / max(size), np.ones(len(rows))], axis=1)
    weight = np.ones(len(rows))
    for _ in range(6):  # least absolute deviation: reflections and shadows are not the falling off
        w = weight[:, None]
        slope = np.linalg.lstsq(place * w, ratio * weight, rcond=None)[0]
        weight = 1 / np.sqrt(np.maximum(np.abs(ratio - place @ slope), 0.02))
    length = float(np.hypot(*slope[:2]))
    return left if length < settings.least_slope else np.asarray(slope[:2] / length, np.float64)
