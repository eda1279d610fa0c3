"""Asks the mark net what kind each place is: a small convolutional net over `squares`."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from vision.marks.classify import CLASSES
from vision.nets import run_net, softmax
from vision.surface import FloatImage

__all__ = ["MODEL_FILE", "ask_net"]

MODEL_FILE = Path(__file__).with_name("net.onnx")


def ask_net(squares: FloatImage) -> NDArray[np.float32]:
    """Give the chance of each class.

    Parameters
    ----------
    squares : (n, channels, side, side) float32 from `cut_squares`

    Returns
    -------
    (n, len(CLASSES)) float32, rows sum to 1
    """
    if len(squares) == 0:
        return np.zeros((0, len(CLASSES)), np.float32)
    return softmax(run_net(MODEL_FILE, squares, ("scores",))[0].reshape(len(squares), -1), 1)
