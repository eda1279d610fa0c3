"""The chance of each place of a glaze to be crazed, by a second small net that looks at how lines join.

`craze_lines` sees a line by itself; a faint net shows as many unsure lines that together make cells. This net
sees those chances and the glaze, each place with about two cells around it. `craze_web_fit.py` says what it
is and on what it was fitted.
"""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np

from vision.craze_lines import line_input
from vision.nets import run_net
from vision.surface import BoolMask, FloatImage

__all__ = ["CELL_PX", "WEB_FILE", "web_input", "web_scores"]

WEB_FILE = Path(__file__).with_name("craze_web.onnx")
CELL_PX = 8
"""Rows and columns of the working resolution that one answer stands for."""
_LEAST_CHANCE = 1e-3
_SCORE_UNIT = 3.0
"""Log odds of a line that stand for 1 in the net's input."""


def web_input(lab: FloatImage, domain: BoolMask, chance: FloatImage) -> FloatImage:
    """Give what the net looks at.

    Parameters
    ----------
    lab : (rows, cols, 3) float32 CIELAB
    domain : (rows, cols) bool, glaze without glints
    chance : (rows, cols) float32, the chance of a line at each pixel, 0..1

    Returns
    -------
    (5, rows, cols) float32: as `line_input` gives them, and the log odds of a line
    """
    held = np.clip(chance, _LEAST_CHANCE, 1 - _LEAST_CHANCE)
    odds = np.where(domain, np.log(held / (1 - held)) / _SCORE_UNIT, 0)
    return np.concatenate([line_input(lab, domain), odds[None].astype(np.float32)])


def web_scores(lab: FloatImage, domain: BoolMask, chance: FloatImage, path: Path = WEB_FILE) -> FloatImage:
    """Give the log odds that the glaze is crazed at each place that is mostly in the domain.

    Parameters
    ----------
    lab, domain, chance : see `web_input`
    path : the net

    Returns
    -------
    (places,) float32
    """
    rows, cols = domain.shape
    planes = web_input(lab, domain, chance)
    padded = np.zeros((1, len(planes), rows + -rows % CELL_PX, cols + -cols % CELL_PX), np.float32)
    padded[0, :, :rows, :cols] = planes
    score = run_net(path, padded, ("score",))[0]
    size = (padded.shape[3] // CELL_PX, padded.shape[2] // CELL_PX)
    inside = cv2.resize(padded[0, 3], size, interpolation=cv2.INTER_AREA) > 0.5
    return np.asarray(score.reshape(inside.shape)[inside], np.float32)
