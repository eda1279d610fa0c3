"""Runs small ONNX nets by OpenCV, and turns scores into chances."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from queue import Empty, SimpleQueue

import cv2
import numpy as np
from numpy.typing import NDArray

__all__ = ["run_in_strips", "run_net", "softmax"]

_idle: defaultdict[tuple[Path, int], SimpleQueue[cv2.dnn.Net]] = defaultdict(SimpleQueue)
"""Loaded nets that nobody is asking: an OpenCV net answers one thread at a time."""


@contextmanager
def _borrowed(path: Path, engine: int) -> Iterator[cv2.dnn.Net]:
    """Give a net to ask; it is kept with the layers of its last picture, which are dear to make room for."""
    try:
        net = _idle[path, engine].get_nowait()
    except Empty:
        net = cv2.dnn.readNetFromONNX(str(path), engine)
    yield net
    _idle[path, engine].put(net)


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
    with _borrowed(path, cv2.dnn.ENGINE_AUTO) as net:
        net.setInput(planes)
        return [np.array(answer, dtype=np.float32) for answer in net.forward(list(outputs))]


def run_in_strips(
    path: Path, planes: Sequence[NDArray[np.float32]], output: str, *, reach: int, stride: int, most_px: int
) -> NDArray[np.float32]:
    """Ask a net about one picture, a strip at a time: its layers then hold a strip, not the picture.

    Parameters
    ----------
    path : the ONNX file
    planes : the channels, each (rows, cols) float32; zeros stand beyond the picture up to a multiple of
        `stride`
    output : name of the answer, a map of the picture
    reach : rows or columns from which a pixel may still change an answer, a multiple of `stride`; strips
        overlap by as much, and so answer as the whole picture does
    stride : pixels between the places of the net's coarsest layer
    most_px : pixels of a strip without its overlap, about

    Returns
    -------
    (channels, rows / k, cols / k) float32 of the padded picture, k a divisor of `stride`
    """
    sides = [-(-side // stride) * stride for side in planes[0].shape]
    axis = int(sides[1] > sides[0])
    strips = max(1, round(sides[0] * sides[1] / most_px))
    core = -(-sides[axis] // (strips * stride)) * stride
    parts = []
    # as fast on strips as OpenCV's newer engine, it holds half as much
    with _borrowed(path, cv2.dnn.ENGINE_CLASSIC) as net:
        for start in range(0, sides[axis], core):
            end = min(start + core, sides[axis])
            first, last = max(0, start - reach), min(sides[axis], end + reach)
            size = list(sides)
            size[axis] = last - first
            strip = np.zeros((1, len(planes), *size), np.float32)
            for held, plane in zip(strip[0], planes, strict=True):
                taken = _cut(plane, axis, first, last)
                held[: taken.shape[0], : taken.shape[1]] = taken
            net.setInput(strip)
            answer = net.forward([output])[0][0]
            shrunk = size[0] // answer.shape[1]
            inner = _cut(answer, axis, (start - first) // shrunk, (end - first) // shrunk)
            parts.append(np.array(inner, np.float32))
    return np.concatenate(parts, axis=axis + 1)


def _cut(picture: NDArray[np.float32], axis: int, first: int, last: int) -> NDArray[np.float32]:
    """Give some of the rows (axis 0) or columns (axis 1) of (..., rows, cols)."""
    return picture[..., first:last, :] if axis == 0 else picture[..., first:last]


def softmax(scores: NDArray[np.floating], axis: int) -> NDArray[np.float32]:
    """Turn scores into chances that sum to 1 along an axis."""
    odds = np.exp(scores - scores.max(axis=axis, keepdims=True))
    return np.asarray(odds / odds.sum(axis=axis, keepdims=True), dtype=np.float32)
