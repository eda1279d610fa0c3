"""The canvas a tile is made on: height, colour and roughness on one grid, with windows around a point."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .noise import Field

__all__ = ["Canvas", "Window", "smoothstep"]


def smoothstep(low: float, high: float, x: Field) -> Field:
    """Rise smoothly from 0 at `low` to 1 at `high` (falls when `low` > `high`)."""
    t = np.clip((x - low) / (high - low), 0.0, 1.0)
    return np.asarray(t * t * (3.0 - 2.0 * t), dtype=np.float32)


@dataclass(slots=True, eq=False)
class Canvas:
    """One surface as fields of equal shape (rows, cols); row down, column right.

    Attributes
    ----------
    step_mm : grid step
    margin_mm : grid left of and above the tile frame's origin
    height : millimetres above the tile's nominal top
    colour : (rows, cols, 3) linear sRGB reflectance
    rough : principled roughness 0..1
    glazed : bool, True on glaze (crawled patches and bare clay False)
    """

    step_mm: float
    margin_mm: float
    height: Field
    colour: NDArray[np.float32]
    rough: Field
    glazed: NDArray[np.bool_]

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns of the grid."""
        return (self.height.shape[0], self.height.shape[1])

    def cell(self, x_mm: float, y_mm: float) -> tuple[int, int]:
        """Give the grid row and column of a tile point, clipped to the grid."""
        row = int((y_mm + self.margin_mm) / self.step_mm)
        col = int((x_mm + self.margin_mm) / self.step_mm)
        return (min(max(row, 0), self.shape[0] - 1), min(max(col, 0), self.shape[1] - 1))

    def window(self, x_mm: float, y_mm: float, reach_mm: float) -> Window:
        """Cut the square of half side `reach_mm` about a tile point."""
        rows, cols = self.shape
        cy, cx = (y_mm + self.margin_mm) / self.step_mm - 0.5, (x_mm + self.margin_mm) / self.step_mm - 0.5
        reach = reach_mm / self.step_mm
        top, low = max(0, int(cy - reach)), min(rows, int(cy + reach) + 2)
        left, right = max(0, int(cx - reach)), min(cols, int(cx + reach) + 2)
        y, x = np.mgrid[top:low, left:right].astype(np.float32)
        dx, dy = (x - np.float32(cx)) * self.step_mm, (y - np.float32(cy)) * self.step_mm
        return Window(
            (slice(top, low), slice(left, right)),
            np.asarray(np.hypot(dx, dy), dtype=np.float32),
            np.asarray(np.arctan2(dy, dx), dtype=np.float32),
        )

    def tint(self, where: tuple[slice, slice], amount: Field, colour: NDArray[np.float64] | Field) -> None:
        """Blend a colour into a window: amount 0 keeps, 1 replaces."""
        patch = self.colour[where]
        weight = np.clip(amount, 0.0, 1.0)[..., None]
        self.colour[where] = patch * (1 - weight) + weight * np.asarray(colour, dtype=np.float32)


@dataclass(frozen=True, slots=True, eq=False)
class Window:
    """A square cut of a canvas with polar coordinates about its point: radius in mm, angle in radians."""

    where: tuple[slice, slice]
    radius_mm: Field
    angle: Field
