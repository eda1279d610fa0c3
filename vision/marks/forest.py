"""Boosted trees as plain arrays: fitted with scikit-learn, kept without pickle, walked with numpy.

The file is an ``.npz`` of numbers, read with ``allow_pickle=False``: opening one can run no code, loads in
milliseconds and needs no scikit-learn at reading time.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

__all__ = ["Forest", "fitted_arrays", "forest_from_arrays", "forest_to_arrays", "join_trees"]

_ROWS_AT_ONCE = 512


@dataclass(frozen=True, slots=True, eq=False)
class Forest:
    """Trees that vote on one or more outputs.

    Attributes
    ----------
    feature : (nodes,) int16, column a node looks at
    threshold : (nodes,) float32, a row goes left at or below it; +inf in leaves
    left, right : (nodes,) int32, next node; a leaf points at itself
    value : (nodes,) float32, what a leaf adds
    roots : (trees,) int32
    output : (trees,) int16, which output a tree adds to
    start : (outputs,) float32, sum before the first tree
    depth : longest way from a root to a leaf
    """

    feature: NDArray[np.int16]
    threshold: NDArray[np.float32]
    left: NDArray[np.int32]
    right: NDArray[np.int32]
    value: NDArray[np.float32]
    roots: NDArray[np.int32]
    output: NDArray[np.int16]
    start: NDArray[np.float32]
    depth: int

    def beginning(self, trees: int) -> Forest:
        """Give the forest of the first `trees` trees: a rough answer for a fraction of the time."""
        return replace(self, roots=self.roots[:trees], output=self.output[:trees])

    def sums(self, rows: NDArray[np.float32]) -> NDArray[np.float32]:
        """Add up the leaves each row falls into.

        Parameters
        ----------
        rows : (n, features) float32

        Returns
        -------
        (n, outputs) float32, raw sums (log odds or the regressed value)
        """
        out = np.empty((len(rows), len(self.start)), np.float32)
        choose = np.zeros((len(self.roots), len(self.start)), np.float32)
        choose[np.arange(len(self.roots)), self.output] = 1
        for begin in range(0, len(rows), _ROWS_AT_ONCE):
            block = rows[begin : begin + _ROWS_AT_ONCE]
            flat = np.ascontiguousarray(block).ravel()
            base = (np.arange(len(block), dtype=np.int64) * block.shape[1])[:, None]
            node = np.broadcast_to(self.roots, (len(block), len(self.roots)))
            for _ in range(self.depth):
                go_left = flat[base + self.feature[node]] <= self.threshold[node]
                node = np.where(go_left, self.left[node], self.right[node])
            out[begin : begin + _ROWS_AT_ONCE] = self.value[node] @ choose + self.start
        return out


def forest_to_arrays(forest: Forest, name: str) -> dict[str, NDArray[np.generic]]:
    """Give the forest's arrays under keys that begin with `name`, for ``np.savez_compressed``."""
    keys = ("feature", "threshold", "left", "right", "value", "roots", "output", "start")
    arrays: dict[str, NDArray[np.generic]] = {f"{name}_{key}": getattr(forest, key) for key in keys}
    arrays[f"{name}_depth"] = np.array(forest.depth, np.int16)
    return arrays


def fitted_arrays(path: Path, feature_names: Sequence[str]) -> dict[str, NDArray[np.generic]]:
    """Read a file of fitted numbers; no pickle is read.

    Parameters
    ----------
    path : ``.npz`` with `feature_names` in it
    feature_names : what is measured now, in order

    Raises
    ------
    ValueError : the file was fitted on other features.
    """
    with np.load(path, allow_pickle=False) as file:
        arrays = {key: file[key] for key in file.files}
    if tuple(str(name) for name in arrays["feature_names"]) != tuple(feature_names):
        msg = f"{path.name} was fitted on other features than are measured now; fit it again"
        raise ValueError(msg)
    return arrays


def forest_from_arrays(arrays: Mapping[str, NDArray[np.generic]], name: str) -> Forest:
    """Read back what `forest_to_arrays` gave.

    Raises
    ------
    KeyError : the file holds no forest of that name.
    """
    return Forest(
        feature=np.asarray(arrays[f"{name}_feature"], np.int16),
        threshold=np.asarray(arrays[f"{name}_threshold"], np.float32),
        left=np.asarray(arrays[f"{name}_left"], np.int32),
        right=np.asarray(arrays[f"{name}_right"], np.int32),
        value=np.asarray(arrays[f"{name}_value"], np.float32),
        roots=np.asarray(arrays[f"{name}_roots"], np.int32),
        output=np.asarray(arrays[f"{name}_output"], np.int16),
        start=np.asarray(arrays[f"{name}_start"], np.float32),
        depth=int(np.asarray(arrays[f"{name}_depth"])),
    )


def join_trees(trees: Iterable[tuple[int, NDArray[np.void]]], start: NDArray[np.float64]) -> Forest:
    """Join fitted trees into one forest.

    Parameters
    ----------
    trees : (output, nodes) of each tree; nodes is a structured array with the fields ``value``,
        ``feature_idx``, ``num_threshold``, ``left``, ``right``, ``is_leaf`` and ``depth``, which is how
        scikit-learn's histogram boosting keeps them
    start : (outputs,) sum before the first tree
    """
    parts: list[NDArray[np.void]] = []
    roots, outputs, offsets = [], [], []
    total = 0
    for output, nodes in trees:
        parts.append(nodes)
        roots.append(total)
        outputs.append(output)
        offsets.append(np.full(len(nodes), total, np.int64))
        total += len(nodes)
    nodes = np.concatenate(parts)
    offset = np.concatenate(offsets)
    leaf = nodes["is_leaf"].astype(bool)
    own = np.arange(total)
    return Forest(
        feature=np.where(leaf, 0, nodes["feature_idx"]).astype(np.int16),
        threshold=np.where(leaf, np.inf, nodes["num_threshold"]).astype(np.float32),
        left=np.where(leaf, own, nodes["left"] + offset).astype(np.int32),
        right=np.where(leaf, own, nodes["right"] + offset).astype(np.int32),
        value=np.where(leaf, nodes["value"], 0).astype(np.float32),
        roots=np.array(roots, np.int32),
        output=np.array(outputs, np.int16),
        start=np.asarray(start, np.float32).ravel(),
        depth=int(nodes["depth"].max()),
    )
