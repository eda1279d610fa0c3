"""New pieces: the next free code, and a row that holds nothing yet."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy.orm import Session

from catalog import pieces, values
from catalog.columns import now
from catalog.tables import PieceRow

__all__ = ["free_code", "new_row"]


def free_code(session: Session, kind: str) -> str:
    """Give the next code of this kind that no kept piece has. Raises InvalidRecordError."""
    (code,) = pieces.next_codes(session, 1, kind)
    while pieces.find_row(session, code) is not None:
        (code,) = pieces.next_codes(session, 1, kind)
    return code


def new_row(
    session: Session,
    code: str,
    kind: str,
    *,
    body_id: int | None = None,
    load_id: int | None = None,
    shelf: str | None = None,
    facts: Mapping[str, Any] | None = None,
    notes: str = "",
) -> PieceRow:
    """Add the row of a piece without layers, readings or judgements; the caller flushes."""
    row = PieceRow(
        code=code,
        code_key=values.code_key(code),
        kind=kind,
        body_id=body_id,
        load_id=load_id,
        shelf=(shelf or "").strip() or None,
        facts=dict(facts or {}),
        notes=notes.strip(),
        filed_at=now(),
        deleted_at=None,
        layers=[],
        readings=[],
        judgements=[],
    )
    session.add(row)
    return row
