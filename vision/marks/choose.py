"""One mark a place: chooses among judged candidates that overlap, and lets them vote on the kind."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from vision.marks.candidates import Candidates
from vision.marks.classify import CLASSES
from vision.reading import Mark, MarkKind
from vision.settings import MarkSettings

__all__ = ["kind_votes", "mark_at", "marks_of", "one_a_place"]


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
        votes = kind_votes(candidates.x_px, candidates.y_px, diameter, shares, int(i), settings)
        kind = int(np.argmax(votes))
        x, y, d = float(candidates.x_px[i]), float(candidates.y_px[i]), float(diameter[i])
        marks.append(mark_at(CLASSES[kind], x, y, d, float(anything[i] * votes[kind]), scale))
    return tuple(marks)


def mark_at(kind: str, x: float, y: float, d: float, probability: float, scale: float | None) -> Mark:
    """Give a mark of this kind, place and diameter (pixels); millimetres where the scale (mm/px) is known."""
    return Mark(
        kind=MarkKind(kind),
        x_px=x,
        y_px=y,
        diameter_px=d,
        probability=probability,
        x_mm=None if scale is None else x * scale,
        y_mm=None if scale is None else y * scale,
        diameter_mm=None if scale is None else d * scale,
    )


def kind_votes(
    x: NDArray[np.float32],
    y: NDArray[np.float32],
    diameter: NDArray[np.float32],
    shares: NDArray[np.float32],
    chosen: int,
    settings: MarkSettings,
) -> NDArray[np.float32]:
    """Let all that stands for the same mark vote on its kind.

    Parameters
    ----------
    x, y, diameter : (n,) pixels
    shares : (n, len(CLASSES)), chance of each kind and of nothing
    chosen : index of the one kept

    Returns
    -------
    (kinds,) shares that sum to 1
    """
    same = np.hypot(x - x[chosen], y - y[chosen]) < settings.vote_reach * diameter[chosen] / 2
    same &= np.abs(np.log(diameter / diameter[chosen])) < np.log(settings.vote_size)
    same[chosen] = True
    # shares of kinds times the chance to be a mark at all: what is doubtful counts little
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
