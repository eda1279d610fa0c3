"""The chance of each place of a glaze to be crazed, by a second small net that looks at how lines join.

`craze_lines` sees a line by itself; a faint net shows as many unsure lines that together make cells. This net
sees those chances and the glaze, each place with about two cells around it. `craze_web_fit.py` says what it
is and on what it was fitted.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import cv2
import numpy as np

from vision.craze_lines import REACH_PX, line_input
from vision.nets import run_in_strips
from vision.surface import BoolMask, FloatImage

__all__ = ["CELL_PX", "WEB_FILE", "scores_of", "web_input", "web_scores", "with_odds"]

WEB_FILE = Path(__file__).with_name("craze_web.onnx")
CELL_PX = 8
"""Rows and columns of the working resolution that one answer stands for."""
_STRIP_PX = 1_000_000
"""Pixels the net looks at in one go; its layers are small beside its reach."""
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
    return np.stack(with_odds(line_input(lab, domain), chance))


def with_odds(planes: FloatImage, chance: FloatImage) -> list[FloatImage]:
    """Add the log odds of a line to the planes of `line_input`; gives all five."""
    odds = np.clip(chance, _LEAST_CHANCE, 1 - _LEAST_CHANCE)
    odds = np.where(planes[3] > 0, np.log(odds / (1 - odds)) / np.float32(_SCORE_UNIT), np.float32(0))
    return [*planes, np.asarray(odds, np.float32)]


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
    return scores_of(with_odds(line_input(lab, domain), chance), path)


def scores_of(planes: Sequence[FloatImage], path: Path = WEB_FILE) -> FloatImage:
    """Give the scores of `web_scores`, (places,) float32, from what the net looks at."""
    how = {"reach": REACH_PX, "stride": CELL_PX, "most_px": _STRIP_PX}
    score = run_in_strips(path, planes, "score", **how)[0]
    rows, cols = planes[3].shape
    short = (0, score.shape[0] * CELL_PX - rows, 0, score.shape[1] * CELL_PX - cols)
    whole = cv2.copyMakeBorder(planes[3], *short, cv2.BORDER_CONSTANT, value=0)
    inside = cv2.resize(whole, score.shape[::-1], interpolation=cv2.INTER_AREA) > 0.5
    return np.asarray(score[inside], np.float32)
