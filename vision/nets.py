"""Runs small ONNX nets by OpenCV, and turns scores into chances."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path
from queue import Empty, SimpleQueue

import cv2
import numpy as np
from numpy.typing import NDArray

__all__ = ["run_net", "softmax"]

_idle: defaultdict[Path, SimpleQueue[cv2.dnn.Net]] = defaultdict(SimpleQueue)
"""Loaded nets that nobody is asking: an OpenCV net answers one thread at a time."""


def run_net(path: Path, planes: NDArray[np.float32], outputs: Sequence[str]) -> list[NDArray[np.float32]]:
    """Ask a net; any number of threads may.

    Parameters
    ----------
    path : the ONNX file; loaded once for each thread that asks at the same time
    planes : (n, channels, rows, cols) float32
    outputs : names of the answers wanted

    Returns
    -------
    The answers, float32
    """
    try:
        net = _idle[path].get_nowait()
    except Empty:
        net = cv2.dnn.readNetFromONNX(str(path))
    net.setInput(planes)
    answers = [np.array(answer, dtype=np.float32) for answer in net.forward(list(outputs))]
    _idle[path].put(net)
    return answers


def softmax(scores: NDArray[np.floating], axis: int) -> NDArray[np.float32]:
    """Turn scores into chances that sum to 1 along an axis."""
    odds = np.exp(scores - scores.max(axis=axis, keepdims=True))
    return np.asarray(odds / odds.sum(axis=axis, keepdims=True), dtype=np.float32)
