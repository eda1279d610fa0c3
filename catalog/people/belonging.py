"""What each row is part of, and what the tables say of rights and of the log of changes.

A row belongs to the row that its first ``ON DELETE CASCADE`` key names: a layer to its piece, a witness cone
to its load, a trial's piece to the trial and so to a piece. A row without such a key stands by itself.
A table's `info` may say

- ``belongs``: another column by which it belongs, though its key does not cascade;
- ``rights``: "keeper" (only a keeper changes it), "free" (whoever files may: it is bookkeeping), "none"
  (nobody is asked: only the catalogue itself writes it, beside what was asked for);
- ``log``: "no" (not in the log: worked out from the rest, written once, or nobody's business). On a column:
  its value is left out of the log, so that a change of it can't be taken back.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from functools import lru_cache
from typing import Any

from sqlalchemy import Column, Date, Table, inspect, select
from sqlalchemy.orm import DeclarativeBase, Session

from catalog.columns import UtcDateTime, canonical_json
from catalog.tables import Base

__all__ = [
    "column_names",
    "from_log",
    "is_logged",
    "key_of",
    "label_of",
    "logged_columns",
    "model_of",
    "note_roots",
    "parent_of",
    "rights_of",
    "root_name",
    "to_log",
]

_LABELS = ("code", "name")


@lru_cache(maxsize=256)
def parent_of(table: Table) -> tuple[str, Table] | None:
    """Give the column by which rows belong to another table's, and that table; None where they don't."""
    said = table.info.get("belongs")
    for column in table.columns:
        for key in column.foreign_keys:
            if column.name == said or (said is None and key.ondelete == "CASCADE"):
                return str(column.name), key.column.table
    return None


def rights_of(table: Table) -> str:
    """Give "keeper", "free", or "" where it depends on whose the row is."""
    return str(table.info.get("rights", ""))


def is_logged(table: Table) -> bool:
    """Tell whether changes of a table stand in the log."""
    return table.info.get("log") != "no"


@lru_cache(maxsize=256)
def logged_columns(table: Table) -> tuple[Column[Any], ...]:
    """Give the columns whose values stand in the log."""
    return tuple(column for column in table.columns if column.info.get("log") != "no")


@lru_cache(maxsize=1)
def _models() -> dict[str, type[DeclarativeBase]]:
    return {str(mapper.local_table.name): mapper.class_ for mapper in Base.registry.mappers}  # type: ignore[attr-defined]


def model_of(name: str) -> type[DeclarativeBase]:
    """Give the class of a table's rows."""
    return _models()[name]


@lru_cache(maxsize=256)
def column_names(table: Table) -> tuple[str, ...]:
    """Give the names of a table's columns, by which its rows' class names them too."""
    return tuple(str(column.name) for column in table.columns)


def key_of(table: Table, values: Mapping[str, Any]) -> str:
    """Give one text for a row's primary key."""
    return canonical_json([values[column.name] for column in table.primary_key.columns])


def root_name(session: Session, table: Table, values: Mapping[str, Any]) -> tuple[Table, dict[str, Any]]:
    """Give the table and values of the row that a row is, in the end, part of; itself where of none.

    What is above a row is asked once in a transaction: nothing moves from one thing to another.
    """
    parent = parent_of(table)
    number = None if parent is None else values.get(parent[0])
    if parent is None or number is None:
        return table, dict(values)
    known = _roots(session)
    name = (str(parent[1].name), number)
    if name not in known:
        read = _row(session, parent[1], number)
        if read is None:
            (key,) = parent[1].primary_key.columns
            return parent[1], {key.name: number}
        known[name] = root_name(session, parent[1], read)
    return known[name]


def note_roots(session: Session, rows: Iterable[tuple[Table, Mapping[str, Any]]]) -> None:
    """Keep in mind rows just written, among which others find what they are part of."""
    known = _roots(session)
    for table, values in rows:
        if parent_of(table) is None and len(table.primary_key.columns) == 1:
            (key,) = table.primary_key.columns
            known[str(table.name), values[key.name]] = (table, dict(values))


def _roots(session: Session) -> dict[tuple[str, Any], tuple[Table, dict[str, Any]]]:
    found: dict[tuple[str, Any], tuple[Table, dict[str, Any]]] = session.info.setdefault("roots", {})
    return found


def _row(session: Session, table: Table, number: Any) -> dict[str, Any] | None:
    # Only what the session holds already: a query would flush in the midst of a flush.
    row = session.identity_map.get(session.identity_key(model_of(str(table.name)), number))
    if row is not None and not inspect(row).expired_attributes:
        return {name: getattr(row, name) for name in column_names(table)}
    (key,) = table.primary_key.columns
    read = session.connection().execute(select(table).where(key == number)).mappings().first()
    return None if read is None else {str(name): value for name, value in read.items()}


def label_of(values: Mapping[str, Any]) -> str:
    """Give what a person calls a row: its code or name, empty where it has none."""
    return next((str(values[name]) for name in _LABELS if values.get(name)), "")


def to_log(value: Any) -> Any:
    """Turn a column's value into what JSON holds."""
    return value.isoformat() if isinstance(value, date | datetime) else value


def from_log(column: Column[Any], value: Any) -> Any:
    """Turn what the log holds back into a column's value."""
    if isinstance(value, str) and isinstance(column.type, UtcDateTime):
        return datetime.fromisoformat(value)
    if isinstance(value, str) and isinstance(column.type, Date):
        return date.fromisoformat(value)
    return value
