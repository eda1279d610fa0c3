"""Pieces that go with one that failed: the same load, the same glaze, the same clay. Listed for recall."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from catalog.records import Piece

__all__ = ["Sister", "sisters"]


@dataclass(frozen=True, slots=True)
class Sister:
    """A piece that shares something with the failed one. `shares` holds "load", "glaze", "clay"."""

    code: str
    shares: tuple[str, ...]

    def text(self) -> str:
        """Give it as words: "T-0042: same load, same glaze"."""
        return f"{self.code}: " + ", ".join(f"same {what}" for what in self.shares)


def _glazes(piece: Piece) -> frozenset[tuple[str, object]]:
    """Give the glazes of a piece: the recipe's revision where known, else the name."""
    return frozenset(
        ("recipe", layer.recipe_id) if layer.recipe_id is not None else ("name", layer.name.casefold())
        for layer in piece.layers
    )


def sisters(piece: Piece, pieces: Iterable[Piece]) -> tuple[Sister, ...]:
    """Give the pieces to look at or call back when a piece fails.

    Parameters
    ----------
    piece : Piece
        The one that failed.
    pieces : iterable of Piece
        All of the catalogue.

    Returns
    -------
    tuple of Sister
        Those that share the load and a glaze, or a glaze and the clay, or the load; most shared first.
        A glaze alone on another clay in another load is left out.
    """
    found = []
    glazes = _glazes(piece)
    for other in pieces:
        if other.id == piece.id:
            continue
        shares = []
        if piece.load is not None and other.load is not None and piece.load.id == other.load.id:
            shares.append("load")
        if glazes & _glazes(other):
            shares.append("glaze")
        if piece.body is not None and other.body is not None and piece.body.id == other.body.id:
            shares.append("clay")
        if "load" in shares or ("glaze" in shares and "clay" in shares):
            found.append(Sister(other.code, tuple(shares)))
    return tuple(sorted(found, key=lambda sister: (-len(sister.shares), sister.code)))
