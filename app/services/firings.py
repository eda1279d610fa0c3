"""Loads for the screen: a schedule from a table, and the cone it amounts to in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from catalog.records import Load, Segment

if TYPE_CHECKING:
    from catalog.firing.heatwork import HeatWork

__all__ = ["heat_work", "schedule_of"]


def schedule_of(rows: Sequence[Mapping[str, Any]]) -> list[Segment]:
    """Give a table's rows as segments; a row without rate or target is left out, a hold not said is none."""
    segments = []
    for row in rows:
        rate, target, hold = (_known(row.get(name)) for name in ("rate_c_per_h", "target_c", "hold_min"))
        if rate is not None and target is not None:
            segments.append(Segment(rate, target, hold or 0.0))
    return segments


def _known(cell: float | None) -> float | None:
    """Give a table's cell as a number; an empty one comes as None or as what equals nothing."""
    return None if cell is None or cell != cell else float(cell)


def heat_work(load: Load) -> HeatWork:
    """Give the cone that a load's planned schedule amounts to. Raises ScheduleError."""
    from catalog.firing.report import heatwork_report

    return heatwork_report(load.schedule)
