"""A whole load in one table: which piece stood where, with which glaze and clay, and what that says."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from catalog.causes.exact_test import Tally
from catalog.causes.pattern_facts import looked_at, shows
from catalog.records import Piece

__all__ = ["LoadRow", "LoadTable", "load_table"]

NOT_SAID = "not said"


@dataclass(frozen=True, slots=True)
class LoadRow:
    """One piece of the load. `shows` is None where nobody and no photo has looked."""

    code: str
    shelf: str
    glaze: str
    clay: str
    shows: bool | None


@dataclass(frozen=True, slots=True)
class LoadTable:
    """All pieces by shelf, glaze and clay, and the test of each group against the rest, surest first."""

    fault: str
    rows: tuple[LoadRow, ...]
    tallies: tuple[Tally, ...]

    @property
    def affected(self) -> int:
        """How many pieces show it."""
        return sum(row.shows is True for row in self.rows)

    @property
    def seen(self) -> int:
        """How many pieces were looked at."""
        return sum(row.shows is not None for row in self.rows)

    @property
    def patterns(self) -> tuple[Tally, ...]:
        """The groups whose counts bear a pattern out."""
        return tuple(tally for tally in self.tallies if tally.is_pattern)


def load_table(pieces: Iterable[Piece], fault: str) -> LoadTable:
    """Set a load's pieces side by side for one fault.

    Parameters
    ----------
    pieces : iterable of Piece
        All pieces of the load.
    fault : str
        The fault's own name.

    Returns
    -------
    LoadTable
        Affected pieces first; a group is tested only where there are others to set it against.
    """
    rows = [
        LoadRow(
            piece.code,
            piece.shelf or NOT_SAID,
            " under ".join(layer.name for layer in piece.layers) or NOT_SAID,
            piece.body.name if piece.body is not None else NOT_SAID,
            shows(piece, fault) if looked_at(piece) else None,
        )
        for piece in pieces
    ]
    rows.sort(key=lambda row: (row.shows is not True, row.shows is None, row.shelf, row.glaze, row.code))
    seen = [row for row in rows if row.shows is not None]
    tallies = [
        *_tallies("glaze", [(row.glaze, row.shows) for row in seen]),
        *_tallies("clay", [(row.clay, row.shows) for row in seen]),
        *_tallies("shelf", [(row.shelf, row.shows) for row in seen]),
    ]
    tallies.sort(key=lambda tally: (tally.chance, tally.trait, tally.name))
    return LoadTable(fault, tuple(rows), tuple(tallies))


def _tallies(trait: str, marked: Sequence[tuple[str, bool | None]]) -> list[Tally]:
    known = [(name, bool(hit)) for name, hit in marked if name != NOT_SAID]
    names = sorted({name for name, _ in known})
    if len(names) < 2:
        return []
    affected = sum(hit for _, hit in known)
    found = []
    for name in names:
        inside = [hit for other, hit in known if other == name]
        hit = sum(inside)
        found.append(Tally(trait, name, hit, len(inside), affected - hit, len(known) - len(inside)))
    return found
