"""Clays for the screen: what was measured of them, beside handbook ranges, and sizes both ways."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from app.words.choices import chosen, degrees_unit, figure, length, number
from catalog.records import Body
from catalog.shown_units import shown_c
from catalog.store import Catalog

if TYPE_CHECKING:
    from catalog.body.measures import BodyKnowledge
    from catalog.body.shrinkage import Shrinkage, Step

__all__ = [
    "STATES",
    "bar_rows",
    "handbook_rows",
    "known_rows",
    "range_words",
    "size_words",
    "table_cells",
    "weighing_rows",
]

STATES = ("wet", "bone dry", "fired")


def table_cells(rows: Sequence[Mapping[str, Any]], names: Sequence[str]) -> list[list[float | None]]:
    """Give a table's rows as lists of cells; rows with nothing in them are left out."""
    found = []
    for row in rows:
        cells = [row.get(name) for name in names]
        known = [None if cell is None or cell != cell else float(cell) for cell in cells]
        if any(cell is not None for cell in known):
            found.append(known)
    return found


def bar_rows(catalog: Catalog, body: Body) -> list[list[float | None]]:
    """Give the bars measured last of a clay."""
    return _newest(catalog, body, "shrinkage", "bars")


def weighing_rows(catalog: Catalog, body: Body) -> list[list[float | None]]:
    """Give the weighings made last of a clay."""
    return _newest(catalog, body, "absorption", "weighings")


def _newest(catalog: Catalog, body: Body, kind: str, field: str) -> list[list[float | None]]:
    for measure in catalog.workshop.body_measures(body.id):
        if measure.kind == kind:
            return list(measure.figures.get(field, []))
    return []


def known_rows(body: Body, known: BodyKnowledge) -> list[tuple[str, str]]:
    """Give what is known of a clay, a row each."""
    rows = []
    if body.rated_cone:
        rows.append(("Matures at", f"cone {body.rated_cone}"))
    for what in ("bisque", "glaze"):
        words = range_words(known.ranges.get(f"{what}_low"), known.ranges.get(f"{what}_high"))
        if words:
            rows.append((f"{what.capitalize()} firing", words))
    shrinkage = known.shrinkage
    if shrinkage is not None:
        rows += [
            (f"Shrinks {name}", _step(step))
            for name, step in (
                ("drying", shrinkage.drying),
                ("in the fire, of the dry length", shrinkage.firing),
                ("in all, of the wet length", shrinkage.total),
            )
            if step is not None
        ]
    absorption = known.absorption
    if absorption is not None:
        spread = "" if absorption.spread_pct is None else f" ± {number(absorption.spread_pct, 1)}"
        rows.append(("Takes up water", f"{number(absorption.pct, 1)}{spread} % of its dry weight"))
        if absorption.open_porosity_pct is not None:
            rows.append(("Open pores", f"{number(absorption.open_porosity_pct, 1)} % of its volume"))
    elif body.absorption_pct is not None:
        rows.append(("Takes up water", f"{figure(body.absorption_pct)} % of its dry weight, as typed"))
    if known.expansion is not None:
        told = known.expansion
        words = f"{number(told.per_k * 1e6, 2)} millionths per °C"
        rows.append(("Expands", f"{words}, {told.temperature_range}" if told.temperature_range else words))
    return rows


def _step(step: Step) -> str:
    bars = "1 bar" if step.bars == 1 else f"{step.bars} bars"
    return f"{number(step.pct, 1)} ± {number(step.doubt_pct, 1)} % ({bars})"


def range_words(low: str | None, high: str | None) -> str:
    """Give a range of cones in words, "" where neither end is known."""
    if low and high:
        return f"cone {low}" if low == high else f"cone {low} to {high}"
    if low:
        return f"from cone {low}"
    return f"up to cone {high}" if high else ""


def handbook_rows(topic: str) -> list[dict[str, str]]:
    """Give the handbook ranges of a topic, for a table."""
    from catalog.body.ranges import handbook_ranges

    rows = []
    for each in handbook_ranges(topic):
        heat = each.unit == "C"
        shown = number if heat else figure
        known = [end for end in (each.low, each.high) if end is not None]
        ends = [shown(shown_c(end, chosen().temperature) if heat else end) for end in known]
        words = " to ".join(ends)
        if each.low is None:
            words = f"up to {words}"
        elif each.high is None:
            words = f"{words} or more"
        rows.append(
            {
                "What": each.item,
                "Range": f"{words} {degrees_unit() if heat else each.unit}",
                "Source": each.source,
            }
        )
    return rows


def size_words(size_mm: float, have: str, shrinkage: Shrinkage) -> list[tuple[str, str]]:
    """Give a length in the other two states of the clay, with its range. Raises MeasurementError."""
    from catalog.body.errors import MeasurementError
    from catalog.body.size import ClayState, size_in

    rows = []
    for state, name in enumerate(STATES):
        if name == have:
            continue
        try:
            size = size_in(size_mm, ClayState(STATES.index(have)), ClayState(state), shrinkage)
        except MeasurementError as error:
            rows.append((name.capitalize(), str(error)))
            continue
        rows.append(
            (
                name.capitalize(),
                f"{length(size.mm)} (between {length(size.low_mm)} and {length(size.high_mm)})",
            )
        )
    return rows
