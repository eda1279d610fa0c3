"""The chance of every pixel of a glaze to lie on a craze line, by a small convolutional net run by OpenCV.

`craze_lines_fit.py` says what the net is and on what it was fitted.
"""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np

from vision.nets import run_net
from vision.surface import BoolMask, FloatImage

__all__ = ["LINES_FILE", "STRIDE", "line_chances", "line_input"]

LINES_FILE = Path(__file__).with_name("craze_lines.onnx")
STRIDE = 8
"""Rows and columns the net takes are multiples of this."""
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
    inside = domain.astype(np.float32)
    side = (_AROUND_PX, _AROUND_PX)
    share = cv2.blur(inside, side) + np.float32(1e-3)
    mean = cv2.blur(lab * inside[..., None], side) / share[..., None]
    relative = (lab - mean) * inside[..., None]
    return np.stack(
        [
            relative[..., 0] / _LIGHT_UNIT,
            relative[..., 1] / _COLOUR_UNIT,
            relative[..., 2] / _COLOUR_UNIT,
            inside,
        ]
    ).astype(np.float32)


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
    rows, cols = domain.shape
    planes = line_input(lab, domain)
    padded = np.zeros((1, len(planes), rows + -rows % STRIDE, cols + -cols % STRIDE), np.float32)
    padded[0, :, :rows, :cols] = planes
    score = run_net(path, padded, ("score",))[0].reshape(padded.shape[2:])[:rows, :cols]
    chance = 1 / (1 + np.exp(-np.clip(score, -12, 12)))
    return np.asarray(np.where(domain, chance, 0), np.float32)
