"""Facts from the Bench: bucket, gravity, wiping, overlap, drying, and when a crack first showed.

They come after what a piece's layers say, and before what was recorded or answered as a fact of it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from catalog.bench.records import Glazing
from catalog.causes.fact import Fact, Origin, show_value
from catalog.causes.vocabulary import field
from catalog.records import FactValue, Piece
from catalog.store import Catalog

__all__ = ["BenchKnowledge", "bench_facts", "bench_knowledge"]

_NEW_BUCKET_CERTAINTY = 0.7
"""The first glazing kept from a bucket: more may have been glazed that nobody kept (judgement)."""

_DAYS_CERTAINTY = 0.7
"""Hours of drying counted from two days, up to a day off (judgement)."""

_CRACKS = ("crack_making", "dunt")

_FIRST_SHOWN: Mapping[str, str] = {
    "made": "in_raw",
    "drying": "in_raw",
    "bone_dry": "in_raw",
    "bisqued": "after_bisque",
    "glazed": "after_bisque",
    "fired": "at_unload",
    "out": "at_unload",
}


@dataclass(frozen=True, slots=True)
class BenchKnowledge:
    """What the Bench knows about one piece.

    Attributes
    ----------
    glazings : the first first
    first_from_bucket : whether the last was the first from its bucket, None where no bucket is known
    crack : stage at which a crack was first seen
    """

    glazings: tuple[Glazing, ...] = ()
    first_from_bucket: bool | None = None
    crack: str | None = None


def bench_knowledge(catalog: Catalog, piece: Piece) -> BenchKnowledge:
    """Gather what the Bench knows about a piece."""
    glazings = catalog.bench.glazings_of(piece.code)
    first = None
    if glazings and glazings[-1].layers[-1].bucket is not None:
        first = catalog.bench.first_from_bucket(glazings[-1])
    said = catalog.bench.progress([piece.code]).get(piece.code)
    return BenchKnowledge(glazings, first, None if said is None else said.crack)


def bench_facts(known: BenchKnowledge, fault: str, fired_on: date | None = None) -> dict[str, Fact]:
    """Give the facts that the Bench answers about a fault on a piece.

    Parameters
    ----------
    known : what the Bench knows
    fault : its own name (`knowledge.fault_of`); when a crack showed is a fact of cracks only
    fired_on : day of the piece's glaze load, for the time the coat dried
    """
    facts: list[Fact] = []

    def add(
        key: str, value: FactValue | None, where: str = "as said on the Bench", sure: float = 1.0
    ) -> None:
        if value is not None:
            told = f"{field(key).label}, {where}: {show_value(key, value)}"
            facts.append(Fact(key, value, Origin.RECORDED, told, sure))

    if known.glazings:
        last = known.glazings[-1]
        outer = last.layers[-1]
        methods = {layer.method for each in known.glazings for layer in each.layers if layer.method}
        add("application.method_mix", len(methods) > 1 if methods else None)
        add("application.bisque_wiped", known.glazings[0].bisque_wiped)
        add("application.overlap", last.overlap)
        add("application.foot_margin_mm", last.foot_gap_mm)
        add("firing.stacked_or_nested", last.touches)
        where = "of the bucket" if outer.bucket is None else f"of bucket {outer.bucket}"
        add("application.sg", outer.gravity, where)
        coats = [
            layer.coats for each in known.glazings for layer in each.layers[:-1] if layer.kind != "glaze"
        ]
        if coats and all(count is not None for count in coats):
            add("application.colour_coats", float(sum(count or 0 for count in coats)))
        sure = _NEW_BUCKET_CERTAINTY if known.first_from_bucket else 1.0
        add("recipe.batch_new", known.first_from_bucket, "by what was glazed from it before", sure)
        days = None if fired_on is None else (fired_on - last.glazed_on).days
        if days is not None and days >= 1:
            add("application.dry_hours", 24.0 * days, "by the days of glazing and firing", _DAYS_CERTAINTY)
    if known.crack is not None and fault in _CRACKS:
        add("history.appears", _FIRST_SHOWN[known.crack])
    return {fact.key: fact for fact in facts}
