"""What follows from rows that came in: which faults stand on a piece, which codes are given."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from sqlalchemy import delete
from sqlalchemy.orm import Session

from catalog import piece_search, pieces
from catalog.faults import effective_faults
from catalog.tables import PieceFaultRow

__all__ = ["derive"]

_AT_ONCE = 500


def derive(session: Session, piece_ids: Sequence[int]) -> None:
    """Say anew which faults stand on these pieces, and let generated codes go on after theirs."""
    session.flush()
    session.expire_all()
    for start in range(0, len(piece_ids), _AT_ONCE):
        found = piece_search.pieces_by_id(session, piece_ids[start : start + _AT_ONCE])
        session.execute(delete(PieceFaultRow).where(PieceFaultRow.piece_id.in_(found)))
        session.add_all(
            PieceFaultRow(piece_id=piece.id, fault=fault.fault, probability=fault.probability)
            for piece in found.values()
            for fault in effective_faults(piece)
        )
        session.flush()
        for code in _last_of_each_kind(piece.code for piece in found.values()):
            pieces.note_code(session, code)
    if piece_ids:
        pieces.bump(session, "colours")


def _last_of_each_kind(codes: Iterable[str]) -> list[str]:
    """Give of numbered codes that begin alike the one with the highest number."""
    last: dict[str, tuple[int, str]] = {}
    for code in codes:
        start, _, digits = code.rpartition("-")
        if digits.isdecimal():
            last[start.casefold()] = max(last.get(start.casefold(), (-1, "")), (int(digits), code))
    return [code for _, code in last.values()]
