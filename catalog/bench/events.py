"""Stages, first cracks and losses of pieces. Each function runs in the caller's session."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from sqlalchemy import Select, select
from sqlalchemy.orm import Session

from catalog import pieces, studio, values
from catalog.bench.glazing import made_pieces
from catalog.bench.records import EVENT_KINDS, LOSS_REASONS, STAGES, Loss, Progress
from catalog.bench.tables import PieceEventRow
from catalog.columns import new_uid, now
from catalog.errors import InvalidRecordError, NothingToUndoError
from catalog.people.tables import OwnedRow
from catalog.tables import PieceRow

__all__ = ["keep_event", "last_codes", "make_pieces", "progress_of", "undo_event"]


def keep_event(
    session: Session,
    kind: str,
    codes: Sequence[str],
    stage: str,
    *,
    on: date | None = None,
    reason: str = "",
    note: str = "",
) -> None:
    """Keep what happened to pieces on a day, said of all of them together.

    Raises
    ------
    PieceNotFoundError, InvalidRecordError : nothing is kept then.
    """
    if not codes:
        raise InvalidRecordError("pieces", (), "codes of pieces")
    values.checked_choice("kind", kind, EVENT_KINDS)
    if kind == "loss":
        values.checked_choice("reason", reason, LOSS_REASONS)
    rows = [pieces.piece_row(session, code) for code in codes]
    _add(session, kind, rows, stage, on=on, reason=reason, note=note)


def make_pieces(
    session: Session, count: int, kind: str, body_id: int | None, stage: str, on: date | None
) -> tuple[str, ...]:
    """Make new pieces at a stage; gives their codes."""
    if body_id is not None:
        studio.body_row(session, body_id)
    rows = made_pieces(session, kind, body_id, count=count)
    _add(session, "stage", rows, stage, on=on, made=True)
    return tuple(row.code for row in rows)


def _add(
    session: Session,
    kind: str,
    rows: Sequence[PieceRow],
    stage: str,
    *,
    on: date | None,
    reason: str = "",
    note: str = "",
    made: bool = False,
) -> None:
    values.checked_choice("stage", stage, STAGES)
    entry, day = new_uid(), values.checked_day("on", on) or now().date()
    session.add_all(
        PieceEventRow(
            piece_id=row.id,
            kind=kind,
            stage=stage,
            happened_on=day,
            reason=reason,
            note=note.strip(),
            made=made,
            entry=entry,
            glazing_id=None,
            said_at=now(),
            removed_at=None,
        )
        for row in rows
    )
    session.flush()


def progress_of(
    session: Session, piece_ids: Iterable[int] | Select[int] | None = None
) -> dict[str, Progress]:
    """Give how far pieces are, by code; all on the shelf of which something was said, if none are named."""
    columns = (PieceEventRow.kind, PieceEventRow.stage, PieceEventRow.happened_on)
    query = (
        select(PieceRow.code, *columns, PieceEventRow.reason, PieceEventRow.note)
        .join(PieceRow, PieceRow.id == PieceEventRow.piece_id)
        .where(PieceEventRow.removed_at.is_(None), PieceRow.deleted_at.is_(None))
        .order_by(PieceEventRow.id)
    )
    if piece_ids is not None:
        wanted = piece_ids if isinstance(piece_ids, Select) else list(piece_ids)
        query = query.where(PieceEventRow.piece_id.in_(wanted))
    events: dict[str, list[Any]] = {}
    for event in session.execute(query):
        events.setdefault(event.code, []).append(event)
    return {code: _progress(code, mine) for code, mine in events.items()}


def _progress(code: str, events: Sequence[Any]) -> Progress:
    stages = [event for event in events if event.kind == "stage"]
    cracks = [event for event in events if event.kind == "crack"]
    losses = [event for event in events if event.kind == "loss"]
    return Progress(
        code=code,
        stage=stages[-1].stage if stages else None,
        days={event.stage: event.happened_on for event in stages},
        crack=cracks[-1].stage if cracks else None,
        loss=Loss(losses[-1].stage, losses[-1].reason, losses[-1].happened_on, losses[-1].note)
        if losses
        else None,
    )


def _last_entry(session: Session, kind: str, owner_id: int | None) -> list[PieceEventRow]:
    standing = select(PieceEventRow).where(
        PieceEventRow.kind == kind, PieceEventRow.removed_at.is_(None), PieceEventRow.glazing_id.is_(None)
    )
    if owner_id is not None:
        mine = select(PieceRow.id).join(OwnedRow, OwnedRow.uid == PieceRow.uid)
        others = select(PieceEventRow.entry).where(
            PieceEventRow.piece_id.not_in(mine.where(OwnedRow.person_id == owner_id))
        )
        standing = standing.where(PieceEventRow.entry.not_in(others))
    last = session.scalars(standing.order_by(PieceEventRow.id.desc()).limit(1)).first()
    if last is None:
        return []
    return list(session.scalars(standing.where(PieceEventRow.entry == last.entry).order_by(PieceEventRow.id)))


def last_codes(session: Session, kind: str, owner_id: int | None = None) -> tuple[str, ...]:
    """Give the codes of what `undo_event` would take back; none where nothing stands."""
    ids = [event.piece_id for event in _last_entry(session, kind, owner_id)]
    found = session.execute(select(PieceRow.id, PieceRow.code).where(PieceRow.id.in_(ids)))
    codes = {row.id: row.code for row in found}
    return tuple(codes[number] for number in ids)


def undo_event(session: Session, kind: str, owner_id: int | None = None) -> tuple[str, ...]:
    """Take back what was said last of this kind, for all pieces it was said of; gives their codes.

    With `owner_id` it is the last of what was said only of this person's pieces. Pieces made with it go off
    the shelf, unless they were glazed or photographed since.
    """
    values.checked_choice("kind", kind, EVENT_KINDS)
    codes = last_codes(session, kind, owner_id)
    events = _last_entry(session, kind, owner_id)
    if not events:
        raise NothingToUndoError(kind)
    for event in events:
        event.removed_at = now()
        piece = session.get_one(PieceRow, event.piece_id)
        if event.made and not piece.readings and not piece.layers:
            piece.deleted_at = piece.deleted_at or now()
    session.flush()
    return codes
