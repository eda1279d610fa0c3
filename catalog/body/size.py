"""Sizes wet, dry and fired, each from any other, with the potter's own shrinkage."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from math import isfinite

from catalog.body.errors import MeasurementError
from catalog.body.shrinkage import Shrinkage, Step

__all__ = ["ClayState", "Size", "size_in"]


class ClayState(IntEnum):
    """When a size is measured, in order."""

    WET = 0
    DRY = 1
    FIRED = 2


@dataclass(frozen=True, slots=True)
class Size:
    """A length with its range, one standard deviation of the bars either way."""

    mm: float
    low_mm: float
    high_mm: float


def size_in(size_mm: float, have: ClayState, want: ClayState, shrinkage: Shrinkage) -> Size:
    """Give a length in another state of the clay.

    Parameters
    ----------
    size_mm : float
        Any length of the piece (diameter, height), above zero. Pieces shrink less evenly than bars.
    have, want : ClayState
    shrinkage : Shrinkage

    Raises
    ------
    MeasurementError
        A size that is not above zero, or a step of shrinkage nobody measured.
    """
    if not (isfinite(size_mm) and size_mm > 0.0):
        raise MeasurementError("size", f"{size_mm:g} mm; wanted: a length above zero")
    if have == want:
        return Size(size_mm, size_mm, size_mm)
    early, late = sorted((have, want))
    step = _step(early, late, shrinkage)
    least, most = (1.0 - (step.pct + sign * step.doubt_pct) / 100.0 for sign in (1.0, -1.0))
    left = 1.0 - step.pct / 100.0
    if have < want:
        return Size(size_mm * left, size_mm * least, size_mm * most)
    return Size(size_mm / left, size_mm / most, size_mm / least)


def _step(early: ClayState, late: ClayState, shrinkage: Shrinkage) -> Step:
    names = {
        (ClayState.WET, ClayState.DRY): ("drying", shrinkage.drying),
        (ClayState.DRY, ClayState.FIRED): ("firing", shrinkage.firing),
        (ClayState.WET, ClayState.FIRED): ("total", shrinkage.total),
    }
    name, step = names[(early, late)]
    if step is None:
        raise MeasurementError(
            f"{name} shrinkage", "nobody has measured it; wanted: a bar measured before and after"
        )
    return step
