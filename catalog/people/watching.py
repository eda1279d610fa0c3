"""Every transaction that writes is watched: each changed row is checked for rights and put into the log.

Rows changed through their objects are seen in the session's flushes, those changed by a statement at the
statement. What a database takes along by itself (ON DELETE) is looked up before. At the end one group of
changes is written in the same transaction: who, when, which rows, before and after. Imported by `store`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Delete, Insert, Table, Update, event, insert, inspect, select
from sqlalchemy.orm import Session
from sqlalchemy.orm.base import PASSIVE_NO_INITIALIZE

from catalog.columns import new_uid, now
from catalog.database import WritingSession
from catalog.people.belonging import (
    column_names,
    is_logged,
    key_of,
    logged_columns,
    note_roots,
    parent_of,
    rights_of,
    root_name,
    to_log,
)
from catalog.people.records import Person
from catalog.people.rights import check_row, has_owner, note_owner
from catalog.people.tables import ChangeGroupRow, ChangeRow, OwnedRow
from catalog.tables import Base

__all__ = ["ADDED", "CHANGED", "MOST_ROWS", "REMOVED", "undoing"]

MOST_ROWS = 1000
"""A transaction that changes more rows than this (a package taken in) is logged as counts, and can't be taken
back row by row."""

ADDED, CHANGED, REMOVED = "added", "changed", "removed"


@dataclass(slots=True)
class _Change:
    """One row's way through a transaction: its columns before and after, None where it was not there."""

    table: Table
    key: str
    before: dict[str, Any] | None
    after: dict[str, Any] | None
    root: str


@dataclass(slots=True)
class _Watch:
    """What a session has changed so far.

    `undoes` is the group that this one takes back, `owned` whose the new things are, by uid.
    """

    changes: dict[tuple[str, str], _Change] = field(default_factory=dict)
    before: dict[int, tuple[Any, dict[str, Any], bool]] = field(default_factory=dict)
    undoes: int | None = None
    owned: dict[str, int] = field(default_factory=dict)


_OWNED, _GROUP, _ROW = (
    insert(Base.metadata.tables[made.__tablename__]) for made in (OwnedRow, ChangeGroupRow, ChangeRow)
)
"""Made once: making a statement anew for each filing takes longer than running it."""


def _watch(session: Session) -> _Watch:
    found: _Watch | None = session.info.get("watch")
    if found is None:
        found = session.info["watch"] = _Watch()
    return found


def undoing(session: Session, group_id: int) -> None:
    """Say that what this session changes takes back a group of changes."""
    _watch(session).undoes = group_id


def _table(row: Any) -> Table:
    return type(row).__table__  # type: ignore[no-any-return]


def _actor(session: Session) -> Person | None:
    return session.info.get("actor")


def _signer(session: Session) -> Person | None:
    """Give whose the things are that are made."""
    return session.info.get("signer")


def _concerns(session: Session, table: Table) -> bool:
    if table is OwnedRow.__table__:
        return False  # written by ourselves beside what it is about
    actor = _actor(session)
    return is_logged(table) or (actor is not None and not actor.is_keeper)


# --- rows changed as objects


@event.listens_for(WritingSession, "before_flush")
def _look_before(session: Session, _context: object, _instances: object) -> None:
    watch, signer = _watch(session), _signer(session)
    watch.before = {}
    going = {id(row): row for row in session.deleted}
    for row in session.dirty:
        table = _table(row)
        going.update({id(part): part for part in _let_go(row)})
        if _concerns(session, table) and session.is_modified(row, include_collections=False):
            watch.before[id(row)] = (row, _values_before(session, row, table), False)
    for row in going.values():
        table = _table(row)
        if _concerns(session, table) and inspect(row).persistent:
            values = _values_before(session, row, table)
            watch.before[id(row)] = (row, values, True)
            _note_dependents(session, table, [values])
    if signer is None or watch.undoes is not None:
        return  # what is brought back is whose it was
    for row in list(session.new):
        table = _table(row)
        if parent_of(table) is None and has_owner(table):
            row.uid = row.uid or new_uid()
            watch.owned[row.uid] = signer.id
            note_owner(session, row.uid, signer)


def _let_go(row: Any) -> list[Any]:
    """Give the parts that a row has let go of, which are removed with the flush."""
    state = inspect(row)
    return [
        part
        for relation in state.mapper.relationships
        if relation.cascade.delete_orphan
        for part in state.get_history(relation.key, PASSIVE_NO_INITIALIZE).deleted
        if part is not None
    ]


def _values_before(session: Session, row: Any, table: Table) -> dict[str, Any]:
    """Give a row's columns as they were; what the session has not loaded is read."""
    state = inspect(row)
    found: dict[str, Any] = {}
    for attribute in state.mapper.column_attrs:
        history = state.get_history(attribute.key, PASSIVE_NO_INITIALIZE)
        if history.deleted:
            found[attribute.key] = history.deleted[0]
        elif history.unchanged:
            found[attribute.key] = history.unchanged[0]
    if len(found) < len(table.columns):
        keys = [c == v for c, v in zip(table.primary_key.columns, state.identity or (), strict=True)]
        read = session.connection().execute(select(table).where(*keys)).mappings().first()
        found = {**(dict(read) if read is not None else {}), **found}
    return found


def _values_now(row: Any) -> dict[str, Any]:
    return {name: getattr(row, name) for name in column_names(_table(row))}


@event.listens_for(WritingSession, "after_flush")
def _look_after(session: Session, _context: object) -> None:
    watch = _watch(session)
    added = [(_table(row), row) for row in session.new]
    fresh = [(table, _values_now(row)) for table, row in added if _concerns(session, table)]
    note_roots(session, fresh)
    for table, values in fresh:
        _note(session, table, None, values)
    for row, before, gone in watch.before.values():
        _note(session, _table(row), before, None if gone else _values_now(row))
    watch.before = {}


# --- rows changed by a statement


def _look_at_statement(session: Session, statement: Any, run: Callable[[], Any]) -> Any:
    if not isinstance(statement, Delete | Update | Insert):
        return run()
    table = statement.table
    if not isinstance(table, Table) or not _concerns(session, table):
        return run()
    actor = _actor(session)
    if actor is not None and not is_logged(table) and rights_of(table) == "free":
        check_row(session, actor, table, {}, added=isinstance(statement, Insert))
        return run()
    if isinstance(statement, Insert):
        result = run()
        _note_inserted(session, table, result)
        return result
    session.flush()
    where = () if statement.whereclause is None else (statement.whereclause,)
    before = [dict(row) for row in session.connection().execute(select(table).where(*where)).mappings()]
    if isinstance(statement, Delete):
        _note_dependents(session, table, before)
        for values in before:
            _note(session, table, values, None)
        return run()
    result = run()
    for values in before:
        keys = [column == values[column.name] for column in table.primary_key.columns]
        after = session.connection().execute(select(table).where(*keys)).mappings().first()
        _note(session, table, values, None if after is None else dict(after))
    return result


WritingSession.watch = _look_at_statement


def _note_inserted(session: Session, table: Table, result: Any) -> None:
    numbers = result.inserted_primary_key
    keys = [c == value for c, value in zip(table.primary_key.columns, numbers or (), strict=False)]
    row = session.connection().execute(select(table).where(*keys)).mappings().first() if keys else None
    if row is not None:
        values = dict(row)
        signer = _signer(session)
        if signer is not None and parent_of(table) is None and has_owner(table):
            _watch(session).owned[values["uid"]] = signer.id
            note_owner(session, values["uid"], signer)
        _note(session, table, None, values)


def _note_dependents(session: Session, table: Table, gone: Iterable[Mapping[str, Any]]) -> None:
    """Note what the database takes along, or unties, when rows go. They follow their row: no rights asked."""
    rows = list(gone)
    if not rows or len(table.primary_key.columns) != 1:
        return
    (primary,) = table.primary_key.columns
    numbers = [row[primary.name] for row in rows]
    for other in Base.metadata.sorted_tables:
        if not is_logged(other):
            continue
        for key in other.foreign_keys:
            if key.column.table is not table or key.ondelete not in ("CASCADE", "SET NULL"):
                continue
            query = select(other).where(key.parent.in_(numbers))
            found = [dict(row) for row in session.connection().execute(query).mappings()]
            if key.ondelete == "CASCADE":
                _note_dependents(session, other, found)
            for values in found:
                after = None if key.ondelete == "CASCADE" else {**values, key.parent.name: None}
                _note(session, other, values, after, asked=False)


# --- what was changed


def _note(
    session: Session,
    table: Table,
    before: dict[str, Any] | None,
    after: dict[str, Any] | None,
    *,
    asked: bool = True,
) -> None:
    """Check a row's change for rights, and put it together with what happened to that row before."""
    actor = _actor(session)
    values = after if after is not None else before
    if values is None:
        return
    if actor is not None and asked:
        changed = _differing(before, after)
        if changed or before is None or after is None:
            check_row(session, actor, table, before or values, added=before is None, changed=changed)
    if not is_logged(table):
        return
    watch, key = _watch(session), key_of(table, values)
    known = watch.changes.get((str(table.name), key))
    if known is not None:
        known.after = after
        return
    root, found = root_name(session, table, values)
    name = f"{root.name}:{key_of(root, found)}"
    watch.changes[str(table.name), key] = _Change(table, key, before, after, name)


def _differing(before: Mapping[str, Any] | None, after: Mapping[str, Any] | None) -> frozenset[str]:
    if before is None or after is None:
        return frozenset()
    return frozenset(name for name in after if before.get(name) != after[name])


@event.listens_for(WritingSession, "before_commit")
def _write_down(session: Session) -> None:
    session.flush()
    watch = _watch(session)
    if watch.owned:
        whose = [{"uid": uid, "person_id": number} for uid, number in watch.owned.items()]
        session.connection().execute(_OWNED, whose)
        watch.owned = {}
    rows = [row for change in watch.changes.values() if (row := _row(change)) is not None]
    watch.changes = {}
    if not rows:
        return
    signer = _signer(session)
    whole = len(rows) <= MOST_ROWS
    group = {
        "made_at": now(),
        "person_id": None if signer is None else signer.id,
        "who": session.info.get("who", ""),
        "undoes_id": watch.undoes,
        "whole": whole,
        "counts": dict(Counter(f"{row['table_name']} {row['kind']}" for row in rows)),
    }
    number = session.connection().execute(_GROUP, group).inserted_primary_key
    if whole and number is not None:
        session.connection().execute(_ROW, [{"group_id": number[0], **row} for row in rows])


def _row(change: _Change) -> dict[str, Any] | None:
    """Give what the log keeps of a change, None where nothing is different in the end."""
    columns = logged_columns(change.table)
    before, after = change.before, change.after
    if before is None and after is None:
        return None
    kind = ADDED if before is None else REMOVED
    if before is not None and after is not None:
        if not _differing(before, after):
            return None
        kind = CHANGED
        columns = tuple(column for column in columns if before.get(column.name) != after.get(column.name))

    def told(values: Mapping[str, Any] | None) -> dict[str, Any]:
        return {} if values is None else {c.name: to_log(values.get(c.name)) for c in columns}

    return {
        "table_name": str(change.table.name),
        "row_key": change.key,
        "root": change.root,
        "kind": kind,
        "before": told(before),
        "after": told(after),
    }
