"""Places in the kiln for the screen: a load's plan as rows, what came out where as rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from app.services.colours import hex_of
from app.words.choices import number
from app.words.measures import difference_words, lab_words
from catalog.piece_search import PieceFilter
from catalog.records import Load, Piece
from catalog.store import Catalog
from catalog.ware.by_place import PlaceFigures, by_place

__all__ = ["changed_places", "place_rows", "place_words", "plan_rows", "shelves_of", "with_places"]

_SHELVES = ("top", "middle", "bottom")
_FAULTS_SHOWN = 3


def shelves_of(load: Load, pieces: Sequence[Piece]) -> list[str]:
    """Give the shelves to choose among: the usual three, those of the load's cones, those in use."""
    named = [*_SHELVES, *(cone.shelf for cone in load.cones), *(piece.shelf or "" for piece in pieces)]
    return [shelf for shelf in dict.fromkeys(named) if shelf]


def plan_rows(pieces: Sequence[Piece], sides: Mapping[str, str]) -> list[dict[str, Any]]:
    """Give a load's pieces as rows: code, what it is, shelf, side."""
    return [
        {
            "code": piece.code,
            "what": ", ".join(
                [*(layer.name for layer in piece.layers), *([piece.body.name] if piece.body else [])]
            ),
            "shelf": piece.shelf,
            "side": sides.get(piece.code),
        }
        for piece in pieces
    ]


def changed_places(
    before: Sequence[Mapping[str, Any]], after: Sequence[Mapping[str, Any]]
) -> dict[str, tuple[str | None, str | None]]:
    """Give the places that a person changed in the table, by code."""
    return {
        str(new["code"]): (_word(new["shelf"]), _word(new["side"]))
        for old, new in zip(before, after, strict=True)
        if (_word(old["shelf"]), _word(old["side"])) != (_word(new["shelf"]), _word(new["side"]))
    }


def _word(cell: Any) -> str | None:
    """Give a table's cell as text; an empty one comes as None or as what equals nothing."""
    return str(cell) if isinstance(cell, str) and cell.strip() else None


def with_places(
    catalog: Catalog, filters: PieceFilter, kiln: str | None, *, with_side: bool
) -> tuple[PlaceFigures, ...]:
    """Set the places of a kiln side by side over all its loads."""
    pieces = [piece for piece in catalog.pieces(**filters) if piece.load is not None]
    if kiln is not None:
        pieces = [piece for piece in pieces if piece.load is not None and piece.load.kiln == kiln]
    return by_place(pieces, catalog.ware.sides(), with_side=with_side)


def place_words(place: PlaceFigures) -> str:
    """Name a place."""
    shelf = "shelf not said" if place.shelf is None else f"{place.shelf} shelf"
    return shelf if place.side is None else f"{shelf}, {place.side}"


def place_rows(
    places: Sequence[PlaceFigures], *, with_colour: bool = True
) -> list[tuple[str, str | None, str, str, str, str]]:
    """Give each place as (name, hex colour or None, colour, gloss, faults, pieces) in words.

    Without `with_colour` the colours of several glazes are not mixed into one.
    """
    rows = []
    for place in places:
        lab = place.lab if with_colour else None
        colour = "not measured" if with_colour else "choose a glaze"
        if lab is not None:
            colour = f"{lab_words(lab)} ({place.measured} measured)"
        if lab is not None and place.delta_e_00 is not None:
            away = number(place.delta_e_00, 1)
            colour += f"; ΔE00 {away} from all together, {difference_words(place.delta_e_00)}"
        gloss = "not measured" if place.gloss is None else f"{number(place.gloss, 2)} of 1"
        faults = ", ".join(f"{name} {count}" for name, count in place.faults[:_FAULTS_SHOWN])
        told = f"{place.faulty} of {place.pieces}" + (f" ({faults})" if faults else "")
        loads = "1 load" if place.loads == 1 else f"{place.loads} loads"
        swatch = None if lab is None else hex_of(lab)
        rows.append((place_words(place), swatch, colour, gloss, told, f"{place.pieces} from {loads}"))
    return rows
