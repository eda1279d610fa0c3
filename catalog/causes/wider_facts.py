"""Facts about who else shows it beyond one load: by bucket, clay lot, layers together, shelf.

Each group is set against its like: a bucket against other buckets of the same glaze, a clay lot against
other lots of the same clay, layers together against the same glaze in other company, a shelf against other
shelves of the same kiln. A pattern is claimed as `exact_test.Tally` says; the opposite ("not worse here")
where the group is as large as the fewest for a pattern and shows the fault no more often than the rest.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from catalog.causes.exact_test import FEWEST_AFFECTED, Tally
from catalog.causes.fact import Fact, Origin

__all__ = ["Traits", "tallies_of", "wider_facts"]

KEYS: Mapping[str, str] = {
    "bucket": "spread.bucket_worse",
    "clay lot": "spread.clay_lot_worse",
    "layers": "spread.layers_worse",
    "shelf": "spread.shelf_worse",
}
"""The fact that each trait answers."""

_FEWEST_ELSE = 3
"""Fewer others than this say nothing (our choice)."""


@dataclass(frozen=True, slots=True)
class Traits:
    """What a piece shares with others; names are casefolded, None where not said.

    `glazes` are all its layers from the clay outward.
    """

    piece_id: int
    load_id: int | None
    kiln: str | None
    shelf: str | None
    clay: str | None
    glazes: tuple[str, ...]
    bucket: str | None
    clay_lot: str | None
    shows: bool

    @property
    def glaze(self) -> str | None:
        """The outermost glaze."""
        return self.glazes[-1] if self.glazes else None


def tallies_of(piece: Traits, others: Iterable[Traits]) -> tuple[Tally, ...]:
    """Count how often each group that a piece belongs to shows its fault, and how often its like does.

    Parameters
    ----------
    piece : Traits
    others : iterable of Traits
        Looked-at pieces of the catalogue; the piece itself may be among them.

    Returns
    -------
    tuple of Tally
        Only groups with others to set them against.
    """
    counts = {trait: [0, 0, 0, 0] for trait in KEYS}
    loads: set[int] = set()
    for other in [piece, *(o for o in others if o.piece_id != piece.piece_id)]:
        if piece.glaze is not None and other.glaze == piece.glaze:
            if piece.bucket is not None and other.bucket is not None:
                _count(counts["bucket"], other, other.bucket == piece.bucket)
            if len(piece.glazes) > 1:
                _count(counts["layers"], other, other.glazes == piece.glazes)
        if piece.clay_lot is not None and other.clay == piece.clay and other.clay_lot is not None:
            _count(counts["clay lot"], other, other.clay_lot == piece.clay_lot)
        if piece.shelf is not None and piece.kiln and other.kiln == piece.kiln and other.shelf is not None:
            _count(counts["shelf"], other, other.shelf == piece.shelf)
            if other.load_id is not None:
                loads.add(other.load_id)
    names = {
        "bucket": piece.bucket,
        "clay lot": piece.clay_lot,
        "layers": " under ".join(piece.glazes),
        "shelf": piece.shelf,
    }
    return tuple(
        Tally(trait, str(names[trait]), *numbers)
        for trait, numbers in counts.items()
        if numbers[3] > 0 and (trait != "shelf" or len(loads) > 1)
    )


def _count(numbers: list[int], other: Traits, inside: bool) -> None:
    at = 0 if inside else 2
    numbers[at] += other.shows
    numbers[at + 1] += 1


def wider_facts(tallies: Iterable[Tally]) -> dict[str, Fact]:
    """Give the facts that the counts bear out, each with its counts in the sentence."""
    found = {}
    for tally in tallies:
        rate, rate_else = tally.hit / tally.seen, tally.hit_else / tally.seen_else
        enough = tally.seen >= FEWEST_AFFECTED and tally.seen_else >= _FEWEST_ELSE
        if not tally.is_pattern and not (enough and rate <= rate_else):
            continue
        text = f"{tally.trait.capitalize()} {tally.name}, over all loads: {tally.text()}"
        key = KEYS[tally.trait]
        found[key] = Fact(key, tally.is_pattern, Origin.INFERRED, text)
    return found
