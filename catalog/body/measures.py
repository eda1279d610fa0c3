"""What is kept of a clay's measurements: figures as typed, checked, and what follows from them.

Figures by kind:

- "ranges": `bisque_low`, `bisque_high`, `glaze_low`, `glaze_high`, cones as text, each may be missing
- "expansion": `per_k_1e6` (linear, 1e-6/K), `plus_minus_1e6` or missing, `temperature_range` as printed
- "absorption": `weighings`, rows of dry, soaked and (or None) hung weight in grams; or `pct` as printed
- "shrinkage": `bars`, rows of wet, dry and fired length in mm, None where not measured
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import isfinite
from typing import Any

from catalog.body.absorption import Absorption, Weighing, absorption_of
from catalog.body.errors import MeasurementError
from catalog.body.shrinkage import Shrinkage, ShrinkageBar, shrinkage_of
from catalog.firing.cones import cone_position, parse_cone
from catalog.glaze.fit import BodyExpansion
from catalog.workshop_records import MEASURE_KINDS, BodyMeasure

__all__ = ["BodyKnowledge", "body_knowledge", "checked_figures"]

_RANGE_ENDS = ("bisque_low", "bisque_high", "glaze_low", "glaze_high")
_EXPANSION_1E6 = (0.2, 25.0)
"""Fused silica has 0.5, the steepest bodies with talc or cristobalite under 15 (handbooks, recalled)."""


@dataclass(frozen=True, slots=True)
class BodyKnowledge:
    """What the newest measurements of a clay say; None where nothing was measured.

    `ranges` holds cones by the names of `_RANGE_ENDS`.
    """

    ranges: Mapping[str, str]
    expansion: BodyExpansion | None
    absorption: Absorption | None
    shrinkage: Shrinkage | None


def checked_figures(kind: str, figures: Mapping[str, Any]) -> dict[str, Any]:
    """Give figures ready to keep.

    Raises
    ------
    MeasurementError
        An unknown kind, a figure that cannot be, or nothing measured.
    UnknownConeError
    """
    match kind:
        case "ranges":
            return _ranges(figures)
        case "expansion":
            return _expansion(figures)
        case "absorption":
            if figures.get("pct") is not None:
                pct = _number("absorption", figures["pct"])
                if not 0.0 <= pct <= 100.0:
                    raise MeasurementError("absorption", f"{pct:g} %; wanted: 0 to 100")
                return {"pct": pct}
            rows = [_row(row, 3) for row in figures.get("weighings", ())]
            absorption_of(_weighings(rows))
            return {"weighings": rows}
        case "shrinkage":
            rows = [_row(row, 3) for row in figures.get("bars", ())]
            found = shrinkage_of(_bars(rows))
            if found == Shrinkage():
                raise MeasurementError("shrinkage bar", "no bar has two lengths; wanted: before and after")
            return {"bars": rows}
    raise MeasurementError("measurement", f"{kind!r}; wanted: {', '.join(MEASURE_KINDS)}")


def body_knowledge(measures: Iterable[BodyMeasure]) -> BodyKnowledge:
    """Give what the newest measure of each kind says.

    Parameters
    ----------
    measures : iterable of BodyMeasure
        Of one clay.
    """
    newest: dict[str, BodyMeasure] = {}
    for measure in measures:
        if measure.kind not in newest or measure.id > newest[measure.kind].id:
            newest[measure.kind] = measure
    figures = {kind: measure.figures for kind, measure in newest.items()}
    return BodyKnowledge(
        ranges=dict(figures.get("ranges", {})),
        expansion=_body_expansion(figures["expansion"]) if "expansion" in figures else None,
        absorption=_absorption(figures["absorption"]) if "absorption" in figures else None,
        shrinkage=shrinkage_of(_bars(figures["shrinkage"]["bars"])) if "shrinkage" in figures else None,
    )


def _ranges(figures: Mapping[str, Any]) -> dict[str, Any]:
    kept = {name: parse_cone(figures[name]) for name in _RANGE_ENDS if figures.get(name)}
    if not kept:
        raise MeasurementError("cone range", "no cone given; wanted: one end at least")
    for what in ("bisque", "glaze"):
        low, high = kept.get(f"{what}_low"), kept.get(f"{what}_high")
        if low is not None and high is not None and cone_position(low) > cone_position(high):
            raise MeasurementError(
                "cone range", f"{what} from cone {low} to {high}; wanted: cooler end first"
            )
    return kept


def _expansion(figures: Mapping[str, Any]) -> dict[str, Any]:
    value = _number("expansion", figures.get("per_k_1e6"))
    low, high = _EXPANSION_1E6
    if not low <= value <= high:
        raise MeasurementError("expansion", f"{value:g} millionths per °C; wanted: {low:g} to {high:g}")
    kept: dict[str, Any] = {
        "per_k_1e6": value,
        "temperature_range": str(figures.get("temperature_range") or "").strip(),
    }
    if figures.get("plus_minus_1e6") is not None:
        doubt = _number("expansion", figures["plus_minus_1e6"])
        if doubt < 0.0:
            raise MeasurementError("expansion", f"doubt {doubt:g}; wanted: zero or more")
        kept["plus_minus_1e6"] = doubt
    return kept


def _body_expansion(figures: Mapping[str, Any]) -> BodyExpansion:
    doubt = figures.get("plus_minus_1e6")
    return BodyExpansion(
        per_k=figures["per_k_1e6"] * 1e-6,
        plus_minus_per_k=None if doubt is None else doubt * 1e-6,
        temperature_range=figures.get("temperature_range", ""),
    )


def _absorption(figures: Mapping[str, Any]) -> Absorption:
    if "pct" in figures:
        return Absorption(figures["pct"], None, 0, None, None)
    return absorption_of(_weighings(figures["weighings"]))


def _weighings(rows: Sequence[Sequence[float | None]]) -> list[Weighing]:
    if any(row[0] is None or row[1] is None for row in rows):
        raise MeasurementError("absorption", "a weight is missing; wanted: dry and soaked of each piece")
    return [Weighing(float(row[0] or 0.0), float(row[1] or 0.0), row[2]) for row in rows]


def _bars(rows: Sequence[Sequence[float | None]]) -> list[ShrinkageBar]:
    return [ShrinkageBar(*row) for row in rows]


def _row(row: Sequence[float | None], count: int) -> list[float | None]:
    cells = [None if cell is None or cell != cell else _number("measurement", cell) for cell in row]
    return (cells + [None] * count)[:count]


def _number(what: str, value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value):
        raise MeasurementError(what, f"{value!r}; wanted: a number")
    return float(value)
