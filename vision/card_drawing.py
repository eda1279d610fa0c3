"""The reference card as a picture, for renders, tests and screens.

The printed sheet is drawn from the same layout.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.card_layout import CardLayout, Rect
from vision.surface import ByteImage

__all__ = ["ARUCO_DICTIONARY", "draw_card", "grey_code", "marker_modules"]

ARUCO_DICTIONARY = cv2.aruco.DICT_4X4_50
_MODULES = 6
GREY_INK = 14.0
"""CIELAB L* asked for as black ink (printers give about 15 to 25)."""


def grey_code(lightness: float) -> int:
    """Give the 8-bit sRGB code of a neutral grey of this CIELAB L* (IEC 61966-2-1, D65)."""
    f = (lightness + 16.0) / 116.0
    y = f**3 if lightness > 8.0 else lightness / 903.2962962
    code = 12.92 * y if y <= 0.0031308 else 1.055 * y ** (1 / 2.4) - 0.055
    return round(255 * code)


def marker_modules(marker_id: int) -> NDArray[np.bool_]:
    """Give a marker's 6 x 6 modules, border included: True is white."""
    dictionary = cv2.aruco.getPredefinedDictionary(ARUCO_DICTIONARY)
    return np.asarray(cv2.aruco.generateImageMarker(dictionary, marker_id, _MODULES) > 127, dtype=np.bool_)


def draw_card(layout: CardLayout, px_per_mm: float) -> ByteImage:
    """Draw the card, trimmed to its edge.

    Parameters
    ----------
    layout : which card
    px_per_mm : pixels per millimetre, above 4 so that a marker's module is seen

    Returns
    -------
    (rows, cols, 3) uint8 sRGB
    """
    rows, cols = round(layout.height_mm * px_per_mm), round(layout.width_mm * px_per_mm)
    card = np.full((rows, cols), grey_code(96.0), dtype=np.uint8)

    def box(rect: Rect) -> tuple[slice, slice]:
        return (
            slice(round(rect.y_mm * px_per_mm), round((rect.y_mm + rect.height_mm) * px_per_mm)),
            slice(round(rect.x_mm * px_per_mm), round((rect.x_mm + rect.width_mm) * px_per_mm)),
        )

    ink = grey_code(GREY_INK)
    for marker_id, rect in zip(layout.marker_ids, layout.marker_rects(), strict=True):
        module = layout.marker_mm / _MODULES
        for (i, j), white in np.ndenumerate(marker_modules(marker_id)):
            if not white:
                cell = Rect(rect.x_mm + j * module, rect.y_mm + i * module, module, module)
                card[box(cell)] = ink
    for rect, lightness in layout.grey_rects():
        card[box(rect)] = grey_code(lightness)
    zero, base, length = layout.rule()
    line = max(0.2, 1.2 / px_per_mm)
    card[box(Rect(zero, base, length, line))] = ink
    for mm in range(length + 1):
        high = 5.0 if mm % 10 == 0 else 3.6 if mm % 5 == 0 else 2.2
        card[box(Rect(zero + mm - line / 2, base - high, line, high))] = ink
    place = layout.label_rect()
    frame = (
        Rect(place.x_mm, place.y_mm, place.width_mm, line),
        Rect(place.x_mm, place.y_mm + place.height_mm - line, place.width_mm, line),
        Rect(place.x_mm, place.y_mm, line, place.height_mm),
        Rect(place.x_mm + place.width_mm - line, place.y_mm, line, place.height_mm),
    )
    for rect in frame:
        card[box(rect)] = grey_code(60.0)
    cv2.putText(
        card,
        f"Glostbook {layout.name}  print at 100 %",
        (round(zero * px_per_mm), round((base + 3.6) * px_per_mm)),
        cv2.FONT_HERSHEY_SIMPLEX,
        px_per_mm * 0.09,
        ink,
        max(1, round(px_per_mm * 0.2)),
        cv2.LINE_AA,
    )
    return np.repeat(card[:, :, None], 3, axis=2)
