"""Results of release tests set beside the figures of a region, with the document they stand in.

The figures are those of `data/leach_limits.csv`, each with its source; some are recalled and say so. They
change and differ by place: the text in force counts. A result belongs to one glaze, clay, coat and firing.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cache

from catalog.package_data import read_rows

__all__ = [
    "ELEMENTS",
    "REGIONS",
    "UNITS",
    "WARE_CLASSES",
    "LeachResult",
    "Limit",
    "limit_for",
    "method_names",
]

REGIONS = ("us", "eu", "iso", "california")
WARE_CLASSES = ("flat", "hollow", "small_hollow", "large_hollow", "cup", "pitcher", "storage", "cooking")
ELEMENTS = ("lead", "cadmium")
UNITS = ("mg/L", "mg/dm2")

_WIDER = {
    "cup": ("small_hollow", "hollow"),
    "pitcher": ("large_hollow", "hollow"),
    "small_hollow": ("hollow",),
    "large_hollow": ("hollow",),
    "storage": ("cooking", "large_hollow", "hollow"),
    "cooking": ("large_hollow", "hollow"),
    "hollow": ("large_hollow",),
    "flat": (),
}
"""Classes that hold for a ware class where a document does not name it (for hollow ware the stricter one)."""


@dataclass(frozen=True, slots=True)
class LeachResult:
    """One figure of a laboratory's report.

    Attributes
    ----------
    element : "lead" or "cadmium" (or another, which no limit here covers)
    amount : released amount, 0 or more; for "less than", the reporting limit
    unit : "mg/L" or "mg/dm2"
    method : as the report names it, such as "ASTM C738"
    laboratory : its name
    accredited : whether the report says the laboratory is accredited for this test
    tested_on : the day of the test
    below_reporting_limit : the report says "less than"
    same_make : glaze, clay, coat and firing of the piece are those of the tested ware
    """

    element: str
    amount: float
    unit: str
    method: str
    laboratory: str
    accredited: bool
    tested_on: date
    below_reporting_limit: bool = False
    same_make: bool = True

    def text(self) -> str:
        """Give the result as words with method, laboratory and date."""
        less = "less than " if self.below_reporting_limit else ""
        return (
            f"{self.element} {less}{self.amount:g} {self.unit} by {self.method}, "
            f"{self.laboratory}, {self.tested_on.isoformat()}"
        )


@dataclass(frozen=True, slots=True)
class Limit:
    """One figure of a region's document for a class of ware (a row of `data/leach_limits.csv`)."""

    region: str
    document: str
    ware: str
    ware_in_document: str
    element: str
    limit: float
    unit: str
    criterion: str
    source: str
    basis: str

    def text(self) -> str:
        """Give the figure as words, saying when it is recalled and not read."""
        recalled = "" if self.basis == "read" else "; recalled, not read: look it up"
        what = f"{self.document}, {self.ware_in_document}"
        return f"{what}: {self.limit:g} {self.unit} ({self.criterion}{recalled})"


@cache
def _limits() -> tuple[Limit, ...]:
    return tuple(
        Limit(
            row["region"],
            row["document"],
            row["ware"],
            row["ware_in_document"],
            row["element"],
            float(row["limit"]),
            row["unit"],
            row["criterion"],
            row["source"],
            row["basis"],
        )
        for row in read_rows("catalog.ware", "leach_limits.csv")
    )


def limit_for(region: str, ware: str, element: str) -> Limit | None:
    """Give a region's figure for a class of ware, None where none is kept here.

    Where the document does not name the class, the class that holds it counts.
    """
    for name in (ware, *_WIDER.get(ware, ())):
        for limit in _limits():
            if (limit.region, limit.ware, limit.element) == (region, name, element):
                return limit
    return None


@cache
def method_names() -> tuple[str, ...]:
    """Give the release tests by name, to hand to a laboratory."""
    return tuple(row["method"] for row in read_rows("catalog.ware", "leach_methods.csv"))
