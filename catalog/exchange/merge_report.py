"""What a package brings or would bring: rows by table, what a person should know, files needed."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

from catalog.exchange.shapes import FILE_FOLDERS

__all__ = ["Counts", "MergeNote", "MergeReport"]


@dataclass(slots=True)
class Counts:
    """Of one table: rows added, known already, and other than here (where the word here stands)."""

    added: int = 0
    known: int = 0
    ours: int = 0


@dataclass(frozen=True, slots=True)
class MergeNote:
    """Something a person should see: `kind` is "renamed" (`told`: its new name) or "ours stands"."""

    kind: str
    table: str
    what: str
    told: str = ""


@dataclass(slots=True)
class MergeReport:
    """What a package brings: rows by table, notes, and the digests of the files needed, by folder."""

    counts: dict[str, Counts] = field(default_factory=lambda: defaultdict(Counts))
    notes: list[MergeNote] = field(default_factory=list)
    files: dict[str, set[str]] = field(default_factory=lambda: {name: set() for name in FILE_FOLDERS})

    @property
    def added(self) -> int:
        """Count all rows added."""
        return sum(count.added for count in self.counts.values())
