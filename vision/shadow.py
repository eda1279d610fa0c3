"""A shadow cast across a piece: darker ground on it that goes on over the table beside it."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.colour import srgb_to_linear
from vision.settings import ShadowSettings
from vision.surface import BoolMask, ByteImage

__all__ = ["find_shadow"]

_LUMINANCE = np.array([0.2126, 0.7152, 0.0722], np.float32)


def find_shadow(
    pixels: ByteImage,
    to_photo: NDArray[np.float64],
    piece: BoolMask,
    settings: ShadowSettings,
) -> BoolMask:
    """Find where a shadow lies on a piece.

    Parameters
    ----------
    pixels : (rows, cols, 3) uint8 sRGB, the photo
    to_photo : (3, 3) homography, view pixels to photo pixels
    piece : (rows, cols) bool, the piece in its view
    settings : what counts as one

    Returns
    -------
    (rows, cols) bool, all False where there is none

    Notes
    -----
    Two glazes, or glaze and clay, also part a face into a dark and a light side. A shadow does not stop at
    the tile: the table beside its dark side must be darker than beside its light side, by about as much.
    Soft shadows without an edge, and shadows that cover all of a piece, are not found.
    """
    rows, cols = piece.shape
    nothing = np.zeros(piece.shape, np.bool_)
    margin = settings.margin_share * max(rows, cols)
    factor = settings.long_side_px / (max(rows, cols) + 2 * margin)
    size = (max(8, round((cols + 2 * margin) * factor)), max(8, round((rows + 2 * margin) * factor)))
    to_view = np.array([[1 / factor, 0, -margin], [0, 1 / factor, -margin], [0, 0, 1.0]])
    photo = cv2.warpPerspective(
        pixels,
        to_photo @ to_view,
        size,
        flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_CONSTANT,
    )
    inside = cv2.warpPerspective(
        piece.astype(np.uint8), to_view, size, flags=cv2.INTER_NEAREST | cv2.WARP_INVERSE_MAP
    )
    light = cv2.medianBlur(np.asarray(photo, np.uint8), 5)
    log = np.log(srgb_to_linear(light) @ _LUMINANCE + np.float32(0.003))
    dark = _darker_side(log, inside > 0, settings)
    if dark is None or not _goes_on(log, inside, dark, photo.any(axis=2), settings):
        return nothing
    from_view = np.linalg.inv(to_view)
    back = cv2.warpPerspective(
        dark.astype(np.uint8), from_view, (cols, rows), flags=cv2.INTER_NEAREST | cv2.WARP_INVERSE_MAP
    )
    return np.asarray((back > 0) & piece, np.bool_)


def _darker_side(log: NDArray[np.float32], inside: BoolMask, settings: ShadowSettings) -> BoolMask | None:
    """Part the piece by lightness (Otsu 1979); None where the sides do not differ as light and shade do."""
    if int(inside.sum()) < 200:
        return None
    seen = log[inside]
    low, high = np.percentile(seen, [1, 99])
    if high - low < settings.least_step:
        return None
    scaled = np.clip((seen - low) / (high - low) * 255, 0, 255).astype(np.uint8)
    level, _ = cv2.threshold(scaled.reshape(-1, 1), 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    dark = np.zeros(inside.shape, np.uint8)
    dark[inside] = scaled <= level
    dark = cv2.morphologyEx(dark, cv2.MORPH_OPEN, np.ones((5, 5), np.uint8))
    share = float(dark.sum()) / float(inside.sum())
    if not settings.least_share <= share <= 1 - settings.least_share:
        return None
    return np.asarray(dark > 0, np.bool_)


def _goes_on(
    log: NDArray[np.float32],
    inside: NDArray[np.uint8],
    dark: BoolMask,
    in_photo: BoolMask,
    settings: ShadowSettings,
) -> bool:
    """Tell whether the table beside the dark side is darker by as much as the dark side itself is."""
    lit = (inside > 0) & ~dark
    step = float(np.median(log[lit]) - np.median(log[dark]))
    if not settings.least_step <= step <= settings.most_step:
        return False
    gap, reach = (round(share * settings.long_side_px) for share in settings.table_band)
    near = cv2.dilate(inside, np.ones((2 * gap + 1, 2 * gap + 1), np.uint8))
    far = cv2.dilate(inside, np.ones((2 * reach + 1, 2 * reach + 1), np.uint8))
    table = (far > 0) & (near == 0) & in_photo
    beside = [
        table & (cv2.dilate(side.astype(np.uint8), np.ones((2 * reach + 1, 2 * reach + 1), np.uint8)) > 0)
        for side in (dark, lit)
    ]
    only_dark, only_lit = beside[0] & ~beside[1], beside[1] & ~beside[0]
    if min(int(only_dark.sum()), int(only_lit.sum())) < settings.least_table_px:
        return False
    on_table = float(np.median(log[only_lit]) - np.median(log[only_dark]))
    spread = max(float(np.subtract(*np.percentile(log[side], [75, 25]))) for side in (only_dark, only_lit))
    return abs(on_table - step) < settings.step_alike * step and on_table > spread
