"""Pieces found without a label, and the planned pieces that they may be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.services.unload_filing import codes_said
from catalog.records import Piece
from catalog.store import Catalog
from catalog.unloading.records import UnloadingPhoto

__all__ = ["Unnamed", "expected_pieces", "name_in_order", "name_piece", "unnamed_pieces"]


@dataclass(frozen=True, slots=True)
class Unnamed:
    """A piece without a code: its photo with its number on the screen, and which piece of it."""

    number: int
    photo: UnloadingPhoto
    index: int


def unnamed_pieces(numbered: Sequence[tuple[int, UnloadingPhoto]]) -> list[Unnamed]:
    """Give the ticked pieces without a code, in the order of the photos."""
    return [
        Unnamed(number, photo, index)
        for number, photo in numbered
        for index, row in enumerate(photo.said)
        if row["file"] and not row["code"]
    ]


def expected_pieces(catalog: Catalog, load_id: int | None, photos: Sequence[UnloadingPhoto]) -> list[Piece]:
    """Give the planned pieces of a load that have no photo and whose codes nothing here bears yet.

    Those that the person who has the catalogue in hands may not change are left out.
    """
    if load_id is None:
        return []
    said = {code.strip().casefold() for code in codes_said(photos)}
    planned = catalog.unloadings.expected(load_id)
    others = catalog.not_mine([piece.code for piece in planned])
    return [piece for piece in planned if piece.code.casefold() not in said and piece.code not in others]


def name_piece(catalog: Catalog, one: Unnamed, code: str) -> None:
    """Give a piece its code."""
    said = [dict(row) for row in catalog.unloadings.photo(one.photo.id).said]
    said[one.index]["code"] = code
    catalog.unloadings.say(one.photo.id, said)


def name_in_order(catalog: Catalog, unnamed: Sequence[Unnamed], expected: Sequence[Piece]) -> None:
    """Give the pieces the codes in the order both stand in, as far as they reach."""
    for one, piece in zip(unnamed, expected, strict=False):
        name_piece(catalog, one, piece.code)
