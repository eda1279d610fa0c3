"""Which pieces of a load still wait for a photo, and which load pieces are of. In the caller's session."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import exists, select
from sqlalchemy.orm import Session

from catalog import piece_search, values
from catalog.records import Piece
from catalog.tables import PieceRow, ReadingRow

__all__ = ["expected", "loads_of"]


def expected(session: Session, load_id: int) -> tuple[Piece, ...]:
    """Give the pieces of a load that have no photo yet, by code."""
    photographed = exists().where(
        ReadingRow.piece_id == PieceRow.id,
        ReadingRow.superseded_by_id.is_(None) | (ReadingRow.superseded_by_id != ReadingRow.id),
    )
    ids = session.scalars(
        select(PieceRow.id).where(PieceRow.load_id == load_id, PieceRow.deleted_at.is_(None), ~photographed)
    ).all()
    found = piece_search.pieces_by_id(session, ids)
    return tuple(sorted(found.values(), key=lambda piece: piece.code))


def loads_of(session: Session, codes: Sequence[str]) -> dict[str, int]:
    """Give the load of each piece that is known and has one, by code key."""
    keys = [values.code_key(code) for code in codes]
    query = select(PieceRow.code_key, PieceRow.load_id).where(
        PieceRow.code_key.in_(keys), PieceRow.deleted_at.is_(None), PieceRow.load_id.is_not(None)
    )
    return {key: load_id for key, load_id in session.execute(query) if load_id is not None}
