"""Runs small ONNX nets by ONNX Runtime, and turns scores into chances.

Beside a net `x.onnx` may lie `x.int8.onnx`, the same net in whole numbers of eight bits (`nets_quicken.py`),
two to three times as fast. It is asked in place of the net while it names the net's digest: a net fitted anew
is never answered for by the old one.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from vision.errors import NetUnusableError

if TYPE_CHECKING:
    from onnxruntime import InferenceSession

__all__ = ["MADE_FROM", "load_net", "quick_file", "run_in_strips", "run_net", "softmax"]

MADE_FROM = "sha256 of the net"
"""Key, in the description of a net in whole numbers, of the digest of the net it was made from."""
_loading = Lock()


def load_net(path: Path) -> InferenceSession:
    """Load this very file; any number of threads may ask the net at once.

    Raises
    ------
    NetUnusableError : the file is missing or damaged, or ONNX Runtime is.
    """
    with _loading:
        return _loaded(path)


@cache
def _loaded(path: Path) -> InferenceSession:
    try:
        import onnxruntime  # not above: it takes a tenth of a second
    except ImportError as error:
        raise NetUnusableError(path.name, f"the package onnxruntime does not load: {error}") from error
    how = onnxruntime.SessionOptions()
    how.intra_op_num_threads = how.inter_op_num_threads = 1  # who asks shares the work out
    how.enable_cpu_mem_arena = False  # else the layers of the largest picture are held for ever
    how.log_severity_level = 3
    try:
        return onnxruntime.InferenceSession(path.read_bytes(), how, providers=["CPUExecutionProvider"])
    except Exception as error:  # each fault of a file has a class of its own there, without a common base
        raise NetUnusableError(path.name, " ".join(str(error).split())[:120]) from error


@cache
def quick_file(path: Path) -> Path:
    """Give the file to ask in place of a net: its twin in whole numbers, where one was made from this net."""
    quick = path.with_suffix(".int8.onnx")
    if not quick.is_file():
        return path
    made_from = load_net(quick).get_modelmeta().custom_metadata_map.get(MADE_FROM)
    return quick if made_from == hashlib.sha256(path.read_bytes()).hexdigest() else path


def run_net(
    path: Path, planes: NDArray[np.float32], outputs: Sequence[str], *, quick: bool = True
) -> list[NDArray[np.float32]]:
    """Ask a net; any number of threads may.

    Parameters
    ----------
    path : the ONNX file, of one input
    planes : (n, channels, rows, cols) float32
    outputs : names of the answers wanted
    quick : ask its twin in whole numbers, where there is one

    Returns
    -------
    The answers, float32
    """
    net = load_net(quick_file(path) if quick else path)
    answers: list[NDArray[np.float32]] = net.run(list(outputs), {net.get_inputs()[0].name: planes})
    return answers


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
    for start in range(0, sides[axis], core):
        end = min(start + core, sides[axis])
        first, last = max(0, start - reach), min(sides[axis], end + reach)
        size = list(sides)
        size[axis] = last - first
        strip = np.empty((1, len(planes), *size), np.float32)
        for held, plane in zip(strip[0], planes, strict=True):
            taken = _cut(plane, axis, first, last)
            rows, cols = taken.shape
            held[:rows, :cols] = taken
            held[rows:], held[:rows, cols:] = 0, 0
        answer = run_net(path, strip, (output,))[0][0]
        shrunk = size[0] // answer.shape[1]
        parts.append(_cut(answer, axis, (start - first) // shrunk, (end - first) // shrunk))
    return parts[0] if len(parts) == 1 else np.concatenate(parts, axis=axis + 1)


def _cut(picture: NDArray[np.float32], axis: int, first: int, last: int) -> NDArray[np.float32]:
    """Give some of the rows (axis 0) or columns (axis 1) of (..., rows, cols)."""
    return picture[..., first:last, :] if axis == 0 else picture[..., first:last]


def softmax(scores: NDArray[np.floating], axis: int) -> NDArray[np.float32]:
    """Turn scores into chances that sum to 1 along an axis."""
    odds = np.exp(scores - scores.max(axis=axis, keepdims=True))
    return np.asarray(odds / odds.sum(axis=axis, keepdims=True), dtype=np.float32)
