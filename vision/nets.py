"""Runs small ONNX nets by OpenCV: loaded once a thread, scores turned into chances."""

from __future__ import annotations

import threading
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

__all__ = ["load_net", "softmax"]

_kept = threading.local()


def load_net(path: Path) -> cv2.dnn.Net:
    """Load a net, once for each thread: an OpenCV net is not to be shared."""
    nets: dict[Path, cv2.dnn.Net] = _kept.__dict__.setdefault("nets", {})
    if path not in nets:
        nets[path] = cv2.dnn.readNetFromONNX(str(path))
    return nets[path]


def softmax(scores: NDArray[np.floating], axis: int) -> NDArray[np.float32]:
    """Turn scores into chances that sum to 1 along an axis."""
    odds = np.exp(scores - scores.max(axis=axis, keepdims=True))
    return np.asarray(odds / odds.sum(axis=axis, keepdims=True), dtype=np.float32)
