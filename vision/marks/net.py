"""Asks the mark net what kind each candidate is: a small convolutional net over `squares`, run by OpenCV."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from vision.marks.classify import CLASSES
from vision.nets import run_net, softmax
from vision.surface import FloatImage

__all__ = ["MODEL_FILE", "ask_net"]

MODEL_FILE = Path(__file__).with_name("net.onnx")


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
