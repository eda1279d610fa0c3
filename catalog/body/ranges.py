"""Handbook ranges of shrinkage and absorption, to stand beside a potter's own figures."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from catalog.package_data import read_rows

__all__ = ["HandbookRange", "absorption_words", "handbook_ranges"]


@dataclass(frozen=True, slots=True)
class HandbookRange:
    """A range as handbooks give it; an end not given is None. `basis` is "read" or "memory"."""

    topic: str
    item: str
    low: float | None
    high: float | None
    unit: str
    source: str
    basis: str

    def holds(self, value: float) -> bool:
        """Say whether a value lies in the range, its upper end left out."""
        return (self.low is None or value >= self.low) and (self.high is None or value < self.high)


@cache
def handbook_ranges(topic: str) -> tuple[HandbookRange, ...]:
    """Give the ranges of a topic: "shrinkage", "absorption", "absorption test" or "firing step" (in °C)."""
    return tuple(
        HandbookRange(
            topic=row["topic"],
            item=row["item"],
            low=float(row["low"]) if row["low"] else None,
            high=float(row["high"]) if row["high"] else None,
            unit=row["unit"],
            source=row["source"],
            basis=row["basis"],
        )
        for row in read_rows("catalog.body", "body_ranges.csv")
        if row["topic"] == topic
    )


def absorption_words(absorption_pct: float) -> tuple[str, ...]:
    """Give the names whose range an absorption lies in; several trades cut it differently."""
    return tuple(
        found.item
        for found in handbook_ranges("absorption")
        if found.holds(absorption_pct) and not (found.low is None and found.high is None)
    )
