"""One mark a place: chooses among judged candidates that overlap, and lets them vote on the kind."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from vision.marks.candidates import Candidates
from vision.marks.classify import CLASSES
from vision.reading import Mark, MarkKind
from vision.settings import MarkSettings

__all__ = ["marks_of", "one_a_place"]


def marks_of(
    candidates: Candidates,
    shares: NDArray[np.float32],
    factor: NDArray[np.float32],
    smallest: float,
    scale: float | None,
    settings: MarkSettings,
) -> tuple[Mark, ...]:
    """Choose the marks among judged candidates: one a place, most probable first.

    Parameters
    ----------
    candidates : n candidates
    shares : (n, len(CLASSES)), chance of each kind and of nothing
    factor : (n,) true over proposed diameter
    smallest : diameter under which nothing is reported, pixels
    scale : millimetres per pixel, None without
    settings : thresholds
    """
    anything = 1 - shares[:, -1]
    diameter = np.asarray(2 * candidates.radius_px * factor, np.float32)
    chosen = np.nonzero((anything >= settings.least_probability) & (diameter >= smallest))[0]
    chosen = chosen[np.argsort(-anything[chosen], kind="stable")]
    kept = one_a_place(
        candidates.x_px[chosen], candidates.y_px[chosen], np.asarray(diameter[chosen] / 2, np.float32)
    )
    marks = []
    for i in chosen[kept]:
        votes = _kind_shares(candidates, shares, diameter, int(i), settings)
        kind = int(np.argmax(votes))
        x, y, d = float(candidates.x_px[i]), float(candidates.y_px[i]), float(diameter[i])
        marks.append(
            Mark(
                kind=MarkKind(CLASSES[kind]),
                x_px=x,
                y_px=y,
                diameter_px=d,
                probability=float(anything[i] * votes[kind]),
                x_mm=None if scale is None else x * scale,
                y_mm=None if scale is None else y * scale,
                diameter_mm=None if scale is None else d * scale,
            )
        )
    return tuple(marks)


def _kind_shares(
    candidates: Candidates,
    shares: NDArray[np.float32],
    diameter: NDArray[np.float32],
    chosen: int,
    settings: MarkSettings,
) -> NDArray[np.float32]:
    """Let all candidates that stand for the same mark vote on its kind; gives (4,) shares that sum to 1."""
    away = np.hypot(candidates.x_px - candidates.x_px[chosen], candidates.y_px - candidates.y_px[chosen])
    same = away < settings.vote_reach * diameter[chosen] / 2
    same &= np.abs(np.log(diameter / diameter[chosen])) < np.log(settings.vote_size)
    same[chosen] = True
    # shares of kinds times the chance to be a mark at all: doubtful candidates count little
    votes = (shares[same, :-1] * (1 - shares[same, -1:])).sum(axis=0)
    return np.asarray(votes / max(float(votes.sum()), 1e-9), np.float32)


def one_a_place(x: NDArray[np.float32], y: NDArray[np.float32], r: NDArray[np.float32]) -> NDArray[np.intp]:
    """Keep the first of any that overlap, given best first: centres nearer than the larger radius."""
    kept: list[int] = []
    for i in range(len(x)):
        k = np.array(kept, np.intp)
        if len(k) == 0 or bool(np.all(np.hypot(x[k] - x[i], y[k] - y[i]) >= np.maximum(r[k], r[i]))):
            kept.append(i)
    return np.array(kept, np.intp)
