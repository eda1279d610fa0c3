"""The chance of every pixel of a glaze to lie on a craze line, by a small convolutional net.

`craze_lines_fit.py` says what the net is and on what it was fitted.
"""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np

from vision.nets import run_in_strips
from vision.surface import BoolMask, FloatImage

__all__ = ["LINES_FILE", "REACH_PX", "STRIDE", "chances_of", "line_chances", "line_input"]

LINES_FILE = Path(__file__).with_name("craze_lines.onnx")
STRIDE = 8
"""Rows and columns the net takes are multiples of this."""
REACH_PX = 88
"""How far from a pixel its answer may depend on another: of all layers together, in multiples of STRIDE."""
_STRIP_PX = 420_000
"""Pixels the net looks at in one go, besides what it reaches: less memory against more overlap."""
_AROUND_PX = 31
"""Side of the box whose mean is taken off, pixels: several line widths, a cell or two."""
_LIGHT_UNIT, _COLOUR_UNIT = 8.0, 8.0
"""CIELAB units that stand for 1 in the net's input."""


def line_input(lab: FloatImage, domain: BoolMask) -> FloatImage:
    """Give what the net looks at.

    Parameters
    ----------
    lab : (rows, cols, 3) float32 CIELAB
    domain : (rows, cols) bool, glaze without glints

    Returns
    -------
    (4, rows, cols) float32: lightness and both colour axes less the mean glaze around, and the domain
    """
    planes = np.empty((4, *domain.shape), np.float32)
    inside = planes[3]
    inside[:] = domain
    side = (_AROUND_PX, _AROUND_PX)
    share = cv2.blur(inside, side) + np.float32(1e-3)
    for k, unit in enumerate((_LIGHT_UNIT, _COLOUR_UNIT, _COLOUR_UNIT)):
        held = lab[..., k] * inside
        mean = cv2.divide(cv2.blur(held, side), share)
        held -= np.multiply(mean, inside, out=mean)
        np.divide(held, np.float32(unit), out=planes[k])
    return planes


def line_chances(lab: FloatImage, domain: BoolMask, path: Path = LINES_FILE) -> FloatImage:
    """Give the chance of a craze line at each pixel.

    Parameters
    ----------
    lab : (rows, cols, 3) float32 CIELAB
    domain : (rows, cols) bool, where lines are looked for
    path : the net

    Returns
    -------
    (rows, cols) float32, 0..1, zero outside the domain
    """
    return chances_of(line_input(lab, domain), path)


def chances_of(planes: FloatImage, path: Path = LINES_FILE) -> FloatImage:
    """Give the chances of `line_chances`, (rows, cols) float32, from what the net looks at."""
    rows, cols = planes.shape[1:]
    how = {"reach": REACH_PX, "stride": STRIDE, "most_px": _STRIP_PX}
    score = run_in_strips(path, list(planes), "score", **how)[0, :rows, :cols]
    chance = np.negative(np.clip(score, -12, 12))
    np.exp(chance, out=chance)  # in place: a picture of numbers is dear to make room for
    chance += 1
    np.divide(planes[3], chance, out=chance)
    return np.asarray(chance, np.float32)
