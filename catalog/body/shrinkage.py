"""Shrinkage from a potter's own bars: marks pressed into wet clay, measured again dry and fired.

Common practice, no source: a bar with two marks 100 mm apart. Drying shrinkage is counted on the wet
length, firing shrinkage on the dry length, total on the wet length, so that
1 - total = (1 - drying) (1 - firing).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite
from statistics import fmean, stdev

from catalog.body.errors import MeasurementError

__all__ = ["Shrinkage", "ShrinkageBar", "shrinkage_of"]

_MOST_PCT = 40.0
"""More than this in one step is taken for a slip of the ruler (handbook ranges end at 18 % in all)."""

_READ_TO_MM = 0.5
"""A ruler is read to half a millimetre (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class ShrinkageBar:
    """One bar: distance of its marks wet, bone dry and fired, in mm; None where not measured."""

    wet_mm: float | None = None
    dry_mm: float | None = None
    fired_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Step:
    """Shrinkage in one step: mean and doubt (one standard deviation) in per cent, and how many bars."""

    pct: float
    doubt_pct: float
    bars: int


@dataclass(frozen=True, slots=True)
class Shrinkage:
    """Shrinkage of a clay; a step nobody measured is None.

    Attributes
    ----------
    drying : Step or None
        Wet to bone dry, of the wet length.
    firing : Step or None
        Bone dry to fired, of the dry length.
    total : Step or None
        Wet to fired, of the wet length.
    """

    drying: Step | None = None
    firing: Step | None = None
    total: Step | None = None


def shrinkage_of(bars: Sequence[ShrinkageBar]) -> Shrinkage:
    """Give a clay's shrinkage from bars.

    Parameters
    ----------
    bars : sequence of ShrinkageBar
        Of one clay, fired alike. Steps may come from different bars; where drying and firing are known and
        no bar has both ends, the total follows from them, and likewise a missing step from the other two.

    Raises
    ------
    MeasurementError
        A length that is not above zero, or a change of more than 40 %.
    """
    pairs = [(b.wet_mm, b.dry_mm) for b in bars], [(b.dry_mm, b.fired_mm) for b in bars]
    drying, firing = (_step(name, steps) for name, steps in zip(("drying", "firing"), pairs, strict=True))
    total = _step("total", [(b.wet_mm, b.fired_mm) for b in bars])
    if total is None and drying is not None and firing is not None:
        total = _joined(drying, firing)
    elif drying is None and total is not None and firing is not None:
        drying = _parted(total, firing)
    elif firing is None and total is not None and drying is not None:
        firing = _parted(total, drying)
    return Shrinkage(drying, firing, total)


def _step(name: str, steps: Sequence[tuple[float | None, float | None]]) -> Step | None:
    found, reading = [], []
    for before, after in steps:
        for value in (before, after):
            if value is not None and not (isfinite(value) and value > 0.0):
                raise MeasurementError("shrinkage bar", f"{value:g} mm; wanted: a length above zero")
        if before is None or after is None:
            continue
        pct = 100.0 * (1.0 - after / before)
        if abs(pct) > _MOST_PCT:
            raise MeasurementError(
                "shrinkage bar",
                f"{before:g} to {after:g} mm is {pct:.0f} % ({name}); wanted: one pair of marks, all in mm",
            )
        found.append(pct)
        reading.append(100.0 * _READ_TO_MM / before)
    if not found:
        return None
    ruler = fmean(reading) / len(found) ** 0.5
    spread = stdev(found) if len(found) > 1 else 0.0
    return Step(fmean(found), max(ruler, spread), len(found))


def _joined(first: Step, second: Step) -> Step:
    left = (1.0 - first.pct / 100.0) * (1.0 - second.pct / 100.0)
    doubt = (first.doubt_pct**2 + second.doubt_pct**2) ** 0.5
    return Step(100.0 * (1.0 - left), doubt, min(first.bars, second.bars))


def _parted(total: Step, known: Step) -> Step:
    left = (1.0 - total.pct / 100.0) / (1.0 - known.pct / 100.0)
    doubt = (total.doubt_pct**2 + known.doubt_pct**2) ** 0.5
    return Step(100.0 * (1.0 - left), doubt, min(total.bars, known.bars))
