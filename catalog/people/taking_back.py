"""Taking a change back: every row as it was before, in one transaction, or a plain refusal."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from sqlalchemy import Table, inspect, select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from catalog import pieces
from catalog.columns import now
from catalog.people.belonging import from_log, label_of, logged_columns, model_of, to_log
from catalog.people.errors import CannotTakeBackError
from catalog.people.records import Person
from catalog.people.rights import check_brought_back
from catalog.people.tables import ChangeGroupRow, ChangeRow
from catalog.people.watching import ADDED, CHANGED, REMOVED, undoing
from catalog.tables import Base, PieceRow

__all__ = ["dropped", "take_back"]

_TAKEN_BACK_BY = ("deleted_at", "removed_at")
"""Columns that say that a row was taken back: such a row is never erased."""


def dropped(session: Session) -> frozenset[int]:
    """Give the changes that stand no more: those taken back, and the takings back themselves.

    From the newest on: one that stands and takes another back cancels out with it. So a taking back that was
    itself taken back lets the change stand again.
    """
    gone: set[int] = set()
    for number, undoes in _takings_back(session):
        if number not in gone:
            gone.update((number, undoes))
    return frozenset(gone)


def _takings_back(session: Session) -> list[tuple[int, int]]:
    query = select(ChangeGroupRow.id, ChangeGroupRow.undoes_id).where(ChangeGroupRow.undoes_id.is_not(None))
    rows = session.execute(query.order_by(ChangeGroupRow.id.desc()))
    return [(number, undoes) for number, undoes in rows if undoes is not None]


def _was_taken_back(session: Session, number: int) -> bool:
    gone: set[int] = set()
    for later, undoes in _takings_back(session):
        if later > number and later not in gone:
            gone.update((later, undoes))
    return number in gone


def take_back(session: Session, number: int) -> None:
    """Undo one group of changes in the caller's transaction. Raises CannotTakeBackError."""
    group = session.get(ChangeGroupRow, number, with_for_update=True)
    if group is None:
        raise CannotTakeBackError(number, "unknown")
    if _was_taken_back(session, number):
        raise CannotTakeBackError(number, "back already")
    if not group.whole:
        raise CannotTakeBackError(number, "too much")
    query = select(ChangeRow).where(ChangeRow.group_id == number).order_by(ChangeRow.id)
    rows = session.scalars(query).all()
    for row in rows:
        _refuse_unknown_values(number, row)
        _refuse_newer(session, number, row)
    undoing(session, number)
    try:
        _apply(session, number, rows)
        session.flush()
        _derive(session, rows)
    except IntegrityError as error:
        raise CannotTakeBackError(number, "in use") from error


def _refuse_unknown_values(number: int, row: ChangeRow) -> None:
    table = Base.metadata.tables[row.table_name]
    if row.table_name == "person":
        raise CannotTakeBackError(number, "people")
    hidden = len(logged_columns(table)) < len(table.columns)
    if (row.kind == REMOVED and hidden) or (row.kind == CHANGED and not row.before):
        raise CannotTakeBackError(number, "not kept")


def _refuse_newer(session: Session, number: int, row: ChangeRow) -> None:
    """Refuse where a later change that stands touches the same columns, or a thing that would go."""
    concerned = (ChangeRow.table_name == row.table_name) & (ChangeRow.row_key == row.row_key)
    if row.kind == ADDED and _is_thing(row):
        concerned = concerned | (ChangeRow.root == row.root)
    gone = dropped(session)
    for later in session.scalars(select(ChangeRow).where(concerned, ChangeRow.group_id > number)):
        if later.group_id in gone:
            continue
        same_columns = (set(later.before) | set(later.after)) & set(row.after)
        if later.kind != CHANGED or row.kind != CHANGED or same_columns:
            label = label_of(row.after) or label_of(row.before)
            raise CannotTakeBackError(number, "newer", later.group_id, label)


def _is_thing(row: ChangeRow) -> bool:
    """Tell whether a row stands by itself, and is no part of another."""
    return row.root == f"{row.table_name}:{row.row_key}"


def _apply(session: Session, number: int, rows: Sequence[ChangeRow]) -> None:
    order = {str(table.name): at for at, table in enumerate(Base.metadata.sorted_tables)}
    added = sorted((row for row in rows if row.kind == ADDED), key=lambda row: -order[row.table_name])
    removed = sorted((row for row in rows if row.kind == REMOVED), key=lambda row: order[row.table_name])
    # A thing that is only marked as taken back keeps its parts.
    kept = {row.root for row in added if _is_thing(row) and _mark(row) is not None}
    for row in added:
        if _is_thing(row) or row.root not in kept:
            _remove(session, number, row)
            session.flush()
    actor: Person | None = session.info.get("actor")
    for row in removed:
        made: Any = model_of(row.table_name)
        table = Base.metadata.tables[row.table_name]
        before = _values(table, row.before)
        if actor is not None:
            check_brought_back(session, actor, table, before)
        session.add(made(**before))
        session.flush()
    for row in (row for row in rows if row.kind == CHANGED):
        found = _present(session, number, row)
        for name, value in _values(Base.metadata.tables[row.table_name], row.before).items():
            setattr(found, name, value)


def _mark(row: ChangeRow) -> str | None:
    return next((name for name in _TAKEN_BACK_BY if name in row.after), None)


def _remove(session: Session, number: int, row: ChangeRow) -> None:
    """Take an added row back: marked where its table can say so, else removed."""
    found = _present(session, number, row)
    mark = _mark(row)
    if mark is not None:
        setattr(found, mark, now())
    elif row.table_name == "reading":
        found.superseded_by_id = found.id
    else:
        session.delete(found)


def _present(session: Session, number: int, row: ChangeRow) -> Any:
    """Give a row as it is; refuse where it is not as the change left it."""
    table = Base.metadata.tables[row.table_name]
    told = zip(table.primary_key.columns, json.loads(row.row_key), strict=True)
    found = session.get(model_of(row.table_name), tuple(from_log(column, value) for column, value in told))
    if found is None:
        raise CannotTakeBackError(number, "newer")
    for name, value in row.after.items():
        if to_log(getattr(found, name)) != value:
            raise CannotTakeBackError(number, "newer", None, label_of(row.after))
    return found


def _values(table: Table, told: dict[str, Any]) -> dict[str, Any]:
    return {name: from_log(table.columns[name], value) for name, value in told.items()}


def _derive(session: Session, rows: Sequence[ChangeRow]) -> None:
    """Work out anew what follows from the rows: which faults stand, which colours are searched."""
    numbers = {json.loads(row.root.partition(":")[2])[0] for row in rows if row.root.startswith("piece:")}
    for number in sorted(numbers):
        piece = session.get(PieceRow, number)
        if piece is not None:
            session.expire(piece, [relation.key for relation in inspect(PieceRow).relationships])
            if piece.deleted_at is None:
                pieces.refreshed(session, piece)
    if numbers:
        pieces.bump(session, "colours")
