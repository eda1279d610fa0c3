"""Whole-piece faults: what the marks, the net and the bare patches say together."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from vision.reading import Crawling, Crazing, FaultCall, Mark, MarkKind, Subject

__all__ = ["FAULT_OF_MARK", "LINE_FILE", "call_faults", "mark_density", "mark_figures"]

FAULT_OF_MARK: dict[MarkKind, str] = {
    MarkKind.PINHOLE: "pinholed",
    MarkKind.BLISTER: "blistered",
    MarkKind.CRATER: "cratered",
    MarkKind.SPECK: "specked",
}
"""The fault a piece has when it carries marks of a kind."""

LINE_FILE = Path(__file__).with_name("faults.json")
_LEAST = 0.02
"""Chance that stands for none, and one less it for sure, in log odds."""


def mark_density(marks: Sequence[Mark], area_cm2: float | None) -> dict[str, float | None]:
    """Count marks of each kind per square centimetre of glaze; None without an area."""
    density: dict[str, float | None] = {}
    for kind in MarkKind:
        count = sum(m.kind is kind for m in marks)
        density[str(kind)] = None if not area_cm2 else count / area_cm2
    return density


def mark_figures(marks: Sequence[Mark]) -> NDArray[np.float64]:
    """Say how far the marks of one kind, at least one, speak for a fault of the piece.

    Returns
    -------
    (3,): 1; log odds of the surest; log of how many there are
    """
    best = float(np.clip(max(mark.probability for mark in marks), _LEAST, 1 - _LEAST))
    return np.array([1.0, np.log(best / (1 - best)), np.log(len(marks))])


@cache
def _weights(path: Path = LINE_FILE) -> NDArray[np.float64]:
    return np.array(json.loads(path.read_text(encoding="utf-8"))["weight"], np.float64)


def _mark_fault(marks: Sequence[Mark]) -> float:
    """Chance that marks of one kind are a fault of the piece: a logistic model of `mark_figures`."""
    return float(1 / (1 + np.exp(-_weights() @ mark_figures(marks)))) if marks else 0.0


def call_faults(
    subject: Subject,
    marks: Sequence[Mark],
    crazing: Crazing,
    crawling: Crawling,
    area_cm2: float | None,
    density: Mapping[str, float | None] | None = None,
    *,
    least_probability: float = 0.5,
) -> tuple[FaultCall, ...]:
    """Name the faults of a piece, most probable first.

    Parameters
    ----------
    subject : tile, ware or patch
    marks : the located marks
    crazing, crawling : their readings
    area_cm2 : glazed area, None without scale
    density : marks per cm² of each kind, None values without scale; worked out from the area when not given
    least_probability : a fault is named from this probability, 0..1

    Returns
    -------
    Fault calls. One not listed was looked for and hardly or not seen (``crazing.present`` None: unknown).

    Notes
    -----
    The probability is that the piece shows the fault in this photo at all. A single mark of its kind is most
    often another kind misnamed (on held-out renders in 23 of 27), so that one alone hardly names a fault; it
    stays among the marks. How many matter is a person's judgement: the density stands beside it.
    """
    calls = []
    for kind, fault in FAULT_OF_MARK.items():
        probability = _mark_fault([mark for mark in marks if mark.kind is kind])
        if probability >= least_probability:
            calls.append(FaultCall(fault, probability))
    if crazing.present and crazing.probability is not None:
        calls.append(FaultCall("crazed", crazing.probability))
    if crawling.present:
        calls.append(FaultCall("crawled", crawling.probability))
    return tuple(sorted(calls, key=lambda c: -c.probability))
