"""Looks at the whole glazed face with a net: where marks lie, of which kind, how large.

A small convolutional net (`field_fit.py` says which, and on what it was fitted) run on each level of the
pyramid in turn, so one net knows marks of all sizes. One answer a cell of 4 x 4 pixels of a level.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.marks.candidates import Pyramid
from vision.marks.classify import CLASSES
from vision.nets import run_in_strips, softmax
from vision.surface import ByteImage, FloatImage

__all__ = [
    "CELL",
    "CHANNELS",
    "MODEL_FILE",
    "REACH",
    "SIZE_PX",
    "FieldMarks",
    "LevelView",
    "look_over",
    "view_levels",
]

MODEL_FILE = Path(__file__).with_name("field.onnx")
CELL = 4
"""Pixels of a level, across and down, that share an answer."""
SIZE_PX = 7.0
"""Diameter, pixels of a level, at which the net's size answer is 0: the middle of what a level looks for."""
CHANNELS = ("light",) * 4 + ("a", "b", "reflection", "glaze", "ground light", "ground a", "ground b", "blur")
"""What the net sees at half a level's size; the four lights are the pixels of a square of two by two."""
REACH = 32
"""Half-size rows and columns from which a pixel may still change an answer: of all the net's layers."""
_STRIDE = 8
"""Half-size rows and columns are padded to a multiple of this."""
_STRIP_PX = 150_000
"""Half-size pixels the net looks at in one go, besides what it reaches: less memory against more overlap."""


@dataclass(frozen=True, slots=True, eq=False)
class LevelView:
    """What the net sees of one level, about -3..3.

    Attributes
    ----------
    light : (2 rows, 2 cols) float32, lightness relative to the glaze around, L* / 15
    rest : (8, rows, cols) float32, the other channels at half size
    level : of the pyramid
    """

    light: FloatImage
    rest: FloatImage
    level: int

    @property
    def channels(self) -> FloatImage:
        """Give (len(CHANNELS), rows, cols): light as four pixels of a square, then the rest."""
        return np.stack(self.planes)

    @property
    def planes(self) -> list[FloatImage]:
        """Give the same as views, each (rows, cols), not put together."""
        return [*(self.light[row::2, col::2] for row in (0, 1) for col in (0, 1)), *self.rest]


@dataclass(frozen=True, slots=True, eq=False)
class FieldMarks:
    """Cells that may hold a mark's middle, arrays of one length n.

    Attributes
    ----------
    x_px, y_px, diameter_px : float32, full-size pixels of the surface
    shares : (n, len(CLASSES)) float32, chance of each class, rows sum to 1
    """

    x_px: NDArray[np.float32]
    y_px: NDArray[np.float32]
    diameter_px: NDArray[np.float32]
    shares: NDArray[np.float32]


def _padded(image: NDArray[np.generic], rows: int, cols: int, border: int) -> NDArray[np.generic]:
    """Extend an image below and to the right, or cut it, to rows x cols."""
    image = image[:rows, :cols]
    down, right = rows - image.shape[0], cols - image.shape[1]
    return cv2.copyMakeBorder(image, 0, down, 0, right, border) if down or right else image


def view_levels(pyramid: Pyramid, blur_px: float, largest_px: float) -> Iterator[LevelView]:
    """Prepare the levels of a pyramid for the net, one after the other.

    Parameters
    ----------
    pyramid : of the surface
    blur_px : of the surface, full-size pixels
    largest_px : diameter of the largest mark to look for, full-size pixels
    """
    lights, colours, masks = list(pyramid.light), list(pyramid.colour), list(pyramid.masks)
    wanted = int(np.clip(np.ceil(np.log2(max(largest_px, SIZE_PX) / 10.0)), 0, 6)) + 1
    for level in range(wanted):
        while len(lights) < level + 2 and min(lights[-1].shape) >= 4:
            lights.append(cv2.pyrDown(lights[-1]))
        while len(colours) < level + 1 and min(colours[-1].shape[:2]) >= 4:
            colours.append(cv2.pyrDown(colours[-1]))
            masks.append(cv2.pyrDown(masks[-1]))
        if level >= min(len(lights), len(colours)) or min(lights[level].shape) < 2 * _STRIDE:
            break
        yield _view(lights[level], colours[level], masks[level], level, blur_px / 2**level)


def _view(light: FloatImage, colour: FloatImage, masks: ByteImage, level: int, blur_px: float) -> LevelView:
    rows, cols = (-(-size // 2) for size in light.shape)
    rows, cols = (-(-size // _STRIDE) * _STRIDE for size in (rows, cols))
    light = np.asarray(_padded(light, 2 * rows, 2 * cols, cv2.BORDER_REFLECT_101), np.float32)
    colour = np.asarray(_padded(colour, rows, cols, cv2.BORDER_REFLECT_101), np.float32)
    masks = np.asarray(_padded(masks, rows, cols, cv2.BORDER_CONSTANT), np.uint8)
    small = (max(1, cols // 8), max(1, rows // 8))
    lab = np.dstack(
        [
            cv2.resize(light, small, interpolation=cv2.INTER_AREA),
            cv2.resize(colour, small, interpolation=cv2.INTER_AREA),
        ]
    )
    ground = cv2.resize(cv2.GaussianBlur(lab, (0, 0), 1.2), (cols, rows), interpolation=cv2.INTER_LINEAR)
    ground_light = np.ascontiguousarray(ground[..., 0])
    relative = cv2.resize(ground_light, (2 * cols, 2 * rows), interpolation=cv2.INTER_LINEAR)
    np.subtract(light, relative, out=relative)
    relative /= np.float32(15)
    rest = np.empty((8, rows, cols), np.float32)
    rest[0:2] = ((colour - ground[..., 1:]) / 8).transpose(2, 0, 1)
    rest[2] = np.maximum(masks[..., 1], masks[..., 2]) / np.float32(255)
    rest[3] = masks[..., 0] / np.float32(255)
    rest[4] = ground_light / 50 - 1
    rest[5:7] = ground[..., 1:].transpose(2, 0, 1) / 40
    rest[7] = np.log(max(blur_px, 0.2))
    return LevelView(relative, np.clip(rest, -6, 6, out=rest), level)


def look_over(
    pyramid: Pyramid, blur_px: float, largest_px: float, least: float, model: Path = MODEL_FILE
) -> FieldMarks:
    """Give every cell of every level that may hold a mark's middle.

    Parameters
    ----------
    pyramid : of the surface
    blur_px : of the surface
    largest_px : diameter of the largest mark to look for
    least : chance of any mark from which a cell is given
    """
    xs, ys, sizes, shares = [], [], [], []
    for view in view_levels(pyramid, blur_px, largest_px):
        how = {"reach": REACH, "stride": _STRIDE, "most_px": _STRIP_PX}
        out = run_in_strips(model, view.planes, "scores", **how)
        chances = softmax(out[: len(CLASSES)], 0)
        row, col = np.nonzero(chances[-1] <= 1 - least)
        factor, offset = Pyramid.place(view.level)
        size, right, down = (out[len(CLASSES) + k, row, col] for k in range(3))
        xs.append(((col + 0.5 + right) * CELL - 0.5) * factor + offset)
        ys.append(((row + 0.5 + down) * CELL - 0.5) * factor + offset)
        sizes.append(SIZE_PX * np.exp(np.clip(size, -1.5, 1.5)) * factor)
        shares.append(chances[:, row, col].T)
    if not shares:
        empty = np.zeros(0, np.float32)
        return FieldMarks(empty, empty, empty, np.zeros((0, len(CLASSES)), np.float32))
    x, y, d = (np.concatenate(part).astype(np.float32) for part in (xs, ys, sizes))
    return FieldMarks(x, y, d, np.concatenate(shares))
