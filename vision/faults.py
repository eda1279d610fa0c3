"""Whole-piece faults: what the marks, the net and the bare patches say together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from vision.reading import Crawling, Crazing, FaultCall, Mark, MarkKind, Subject

__all__ = ["FAULT_OF_MARK", "call_faults", "mark_density"]

FAULT_OF_MARK: dict[MarkKind, str] = {
    MarkKind.PINHOLE: "pinholed",
    MarkKind.BLISTER: "blistered",
    MarkKind.CRATER: "cratered",
    MarkKind.SPECK: "specked",
}
"""The fault a piece has when it carries marks of a kind."""

_COMMON_ERROR_SHARE = 0.15
"""Chance that the marks of one kind on one photo are all wrong together (same lamp, same texture)."""


def mark_density(marks: Sequence[Mark], area_cm2: float | None) -> dict[str, float | None]:
    """Count marks of each kind per square centimetre of glaze; None without an area."""
    density: dict[str, float | None] = {}
    for kind in MarkKind:
        count = sum(m.kind is kind for m in marks)
        density[str(kind)] = None if not area_cm2 else count / area_cm2
    return density


def _any_real(marks: Sequence[Mark]) -> float:
    """Chance that at least one mark is real: independent errors, capped by errors they share."""
    none_real = 1.0
    best = 0.0
    for mark in marks:
        none_real *= 1 - mark.probability
        best = max(best, mark.probability)
    independent = 1 - none_real
    return best + (1 - _COMMON_ERROR_SHARE) * max(independent - best, 0.0)


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
    Fault calls. A fault not listed was looked for and not seen, except crazing with ``present`` None.

    Notes
    -----
    The probability is that the piece shows the fault in this photo at all. Whether one pinhole matters is
    a person's judgement: the density stands beside it.
    """
    calls = []
    for kind, fault in FAULT_OF_MARK.items():
        probability = _any_real([m for m in marks if m.kind is kind])
        if probability >= least_probability:
            calls.append(FaultCall(fault, probability))
    if crazing.present and crazing.probability is not None:
        calls.append(FaultCall("crazed", crazing.probability))
    if crawling.present:
        calls.append(FaultCall("crawled", crawling.probability))
    return tuple(sorted(calls, key=lambda c: -c.probability))
