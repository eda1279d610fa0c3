"""The studio's own reference card: where each marker, grey patch and rule tick stands, in millimetres.

One layout serves the printed sheet (`app.sheets`), the search in a photo (`vision.card`) and the demo
renders, so they can't drift apart. Origin at the card's top left, x right, y down.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["A5", "A6", "GREY_LIGHTNESS", "LAYOUTS", "CardLayout", "Rect"]

GREY_LIGHTNESS: tuple[float, ...] = (94.0, 84.0, 72.0, 60.0, 48.0, 36.0, 26.0, 17.0)
"""Nominal CIELAB L* of the grey ramp, left to right in the upper row, reversed in the lower row.

Office printers are not colour standards: these are what the file asks for, not what comes out.
"""


@dataclass(frozen=True, slots=True)
class Rect:
    """An upright rectangle: left, top, width, height in millimetres."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True)
class CardLayout:
    """One card size.

    Attributes
    ----------
    name : paper size
    width_mm, height_mm : the trimmed card
    marker_mm : side of a marker's black square (ArUco DICT_4X4_50, 6 x 6 modules with its border)
    marker_ids : ids at top left, top right, bottom right, bottom left; they also tell the card size
    margin_mm : white between the card's edge and each marker
    """

    name: str
    width_mm: float
    height_mm: float
    marker_mm: float
    marker_ids: tuple[int, int, int, int]
    margin_mm: float

    def marker_rects(self) -> tuple[Rect, Rect, Rect, Rect]:
        """Give the four markers' squares, in the order of `marker_ids`."""
        m, s = self.margin_mm, self.marker_mm
        right, low = self.width_mm - m - s, self.height_mm - m - s
        return (Rect(m, m, s, s), Rect(right, m, s, s), Rect(right, low, s, s), Rect(m, low, s, s))

    def grey_rects(self) -> tuple[tuple[Rect, float], ...]:
        """Give each grey patch with its nominal L*: upper row light to dark, lower row dark to light."""
        left = 2 * self.margin_mm + self.marker_mm
        span = self.width_mm - 2 * left
        step = span / len(GREY_LIGHTNESS)
        high = self.marker_mm * 0.72
        top = self.margin_mm
        low = self.height_mm - self.margin_mm - high
        upper = [(Rect(left + i * step, top, step, high), v) for i, v in enumerate(GREY_LIGHTNESS)]
        lower = [(Rect(left + i * step, low, step, high), v) for i, v in enumerate(GREY_LIGHTNESS[::-1])]
        return tuple(upper + lower)

    def label_rect(self) -> Rect:
        """Give the framed place where a tile's printed label may be laid."""
        side = 2 * self.margin_mm + self.marker_mm
        return Rect(side, self.height_mm * 0.31, self.width_mm - 2 * side, self.height_mm * 0.26)

    def rule(self) -> tuple[float, float, int]:
        """Give the millimetre rule: x of its zero, y of its base line, length in whole millimetres."""
        side = 2 * self.margin_mm + self.marker_mm
        length = int((self.width_mm - 2 * side) // 10) * 10
        return ((self.width_mm - length) / 2, self.height_mm * 0.70, length)


A6 = CardLayout("A6", 148.0, 105.0, 18.0, (0, 1, 2, 3), 6.0)
A5 = CardLayout("A5", 210.0, 148.0, 26.0, (4, 5, 6, 7), 8.0)
LAYOUTS: tuple[CardLayout, ...] = (A6, A5)
