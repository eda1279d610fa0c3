"""Asks the mark net what kind each candidate is: a small convolutional net over `squares`, run by OpenCV."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from vision.marks.candidates import Candidates, Pyramid
from vision.marks.classify import CLASSES
from vision.marks.squares import cut_squares
from vision.nets import run_net, softmax
from vision.surface import FloatImage

__all__ = ["ASKED_FROM", "BLEND_FILE", "MODEL_FILE", "Blend", "ask_net", "load_blend", "name_candidates"]

MODEL_FILE = Path(__file__).with_name("net.onnx")
BLEND_FILE = Path(__file__).with_name("blend.json")
ASKED_FROM = 0.02
"""Chance of a mark, by the trees, from which the net is asked: below it the net would change nothing."""
_LEAST = 1e-4
"""Chance that stands for none in a logarithm."""


@dataclass(frozen=True, slots=True, eq=False)
class Blend:
    """How what the trees say and what the net says make one chance (multinomial logistic regression).

    Attributes
    ----------
    trees, net : (classes, classes) float32, weight of each log chance for each class
    offset : (classes,) float32
    """

    trees: NDArray[np.float32]
    net: NDArray[np.float32]
    offset: NDArray[np.float32]

    def shares(self, trees: NDArray[np.float32], net: NDArray[np.float32]) -> NDArray[np.float32]:
        """Blend (n, classes) chances of both into (n, classes), rows sum to 1."""
        logs = np.log(np.maximum(trees, _LEAST)) @ self.trees.T + np.log(np.maximum(net, _LEAST)) @ self.net.T
        return softmax(logs + self.offset, 1)


@cache
def load_blend(path: Path = BLEND_FILE) -> Blend:
    """Load the fitted blend."""
    kept = json.loads(path.read_text(encoding="utf-8"))
    return Blend(*(np.array(kept[name], np.float32) for name in ("trees", "net", "offset")))


def name_candidates(
    candidates: Candidates,
    pyramid: Pyramid,
    blur_px: float,
    shares: NDArray[np.float32],
    factor: NDArray[np.float32],
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Let the net speak on the kind, beside the trees, where these see a mark at all.

    Parameters
    ----------
    candidates, pyramid, blur_px : of one surface
    shares : (n, classes) float32, from `classify`
    factor : (n,) float32, from `classify`

    Returns
    -------
    shares, factor : the same, kinds and sizes blended

    Notes
    -----
    Whether there is a mark stays with the trees: the net takes soft round glints, which its training renders
    lack, for blisters.
    """
    asked = np.nonzero(shares[:, -1] < 1 - ASKED_FROM)[0]
    if len(asked) == 0:
        return shares, factor
    seen, ratio = ask_net(cut_squares(candidates.take(asked), pyramid, blur_px))
    blended, sized = shares.copy(), factor.copy()
    kinds = load_blend().shares(shares[asked], seen)[:, :-1]
    kinds /= np.maximum(kinds.sum(axis=1, keepdims=True), 1e-9)
    blended[asked, :-1] = (1 - shares[asked, -1:]) * kinds
    blended[asked, -1] = 1 - blended[asked, :-1].sum(axis=1)
    sized[asked] = np.exp((np.log(factor[asked]) + ratio) / 2)
    return blended, sized


def ask_net(squares: FloatImage) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Give the chance of each class and the size correction.

    Parameters
    ----------
    squares : (n, channels, side, side) float32 from `cut_squares`

    Returns
    -------
    shares : (n, len(CLASSES)) float32, rows sum to 1
    log_ratio : (n,) float32, log of true over proposed diameter
    """
    if len(squares) == 0:
        return np.zeros((0, len(CLASSES)), np.float32), np.zeros(0, np.float32)
    out = run_net(MODEL_FILE, squares, ("scores",))[0].reshape(len(squares), -1)
    return softmax(out[:, : len(CLASSES)], 1), np.clip(out[:, -1], -1.0, 1.0)
