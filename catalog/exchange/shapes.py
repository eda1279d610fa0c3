"""Which tables travel in a package, under which names, and how their rows point at each other.

Numbers that only this database knows (``id``) stay at home: rows are named by their ``uid``, photos by their
digest. What can be worked out from the rest (search keys, a recipe's digest) is worked out anew.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from sqlalchemy import JSON, Column, Table, UniqueConstraint

from catalog.exchange.cells import kind_of
from catalog.store import Catalog as _Catalog  # noqa: F401 (with it every table is known)
from catalog.tables import Base

__all__ = ["FILE_FOLDERS", "PERSONAL", "STAYS", "Field", "Shape", "shape_of", "shapes"]

STAYS = {"piece_fault": "worked out anew from readings and words"}
"""Tables that never travel, and why. A table may also say so itself: ``info={"travels": "no"}``."""

PERSONAL = frozenset({"piece_holder"})
"""Tables that may name people outside the studio; they travel only with the originals."""

FILE_FOLDERS = ("photos", "views", "logs")

_DERIVED = {("recipe", "content")}
_KEYS = {"name_key": "name", "code_key": "code"}


@dataclass(frozen=True, slots=True)
class Field:
    """One column: its name in the package, its column, its kind, and the table its value points at."""

    name: str
    column: str
    kind: str
    nullable: bool
    target: str | None = None


@dataclass(frozen=True, slots=True)
class Shape:
    """One table.

    `key` names the fields by which a row is known; `numbered` says whether the database gives it a number
    that stays at home; `owner` is the field that names the record a row is part of, for lists that belong to
    one record (a recipe's lines).
    """

    table: Table
    fields: tuple[Field, ...]
    key: tuple[str, ...]
    numbered: bool
    owner: str | None

    @property
    def name(self) -> str:
        """Give the table's name."""
        return str(self.table.name)

    def field(self, name: str) -> Field:
        """Give a field by its name."""
        return next(field for field in self.fields if field.name == name)


@lru_cache(maxsize=1)
def shapes() -> tuple[Shape, ...]:
    """Give the tables that travel, each after those it points at."""
    return tuple(
        _shape(table)
        for table in Base.metadata.sorted_tables
        if table.name not in STAYS and table.info.get("travels") != "no"
    )


def shape_of(name: str) -> Shape:
    """Give one table's shape by its name."""
    return next(shape for shape in shapes() if shape.name == name)


def _shape(table: Table) -> Shape:
    names = set(table.columns.keys())
    numbered = "id" in names
    fields = tuple(
        _field(column)
        for column in table.columns
        if not (numbered and column.name == "id")
        and _KEYS.get(column.name) not in names
        and (table.name, column.name) not in _DERIVED
    )
    by_column = {field.column: field.name for field in fields}
    key = tuple(by_column[name] for name in _key_columns(table, numbered) if name in by_column)
    owner = next(
        (f.name for f in fields if f.target is not None and f.name in key and "position" in names), None
    )
    return Shape(table, fields, key, numbered, owner)


def _key_columns(table: Table, numbered: bool) -> list[str]:
    if "uid" in table.columns:
        return ["uid"]
    if not numbered:
        return [column.name for column in table.primary_key.columns]
    unique = [c for c in table.constraints if isinstance(c, UniqueConstraint)]
    if unique:
        return [column.name for column in unique[0].columns]
    plain = (c for c in table.columns if not isinstance(c.type, JSON) and not c.nullable)
    return [column.name for column in plain if column.name != "id"]


def _field(column: Column[Any]) -> Field:
    target = next(iter(column.foreign_keys), None)
    if target is None or target.column.name != "id":
        points = None if target is None else str(target.column.table.name)
        return Field(column.name, column.name, kind_of(column), bool(column.nullable), points)
    name = f"{column.name.removesuffix('_id')}_uid"
    return Field(name, column.name, "string", bool(column.nullable), str(target.column.table.name))
