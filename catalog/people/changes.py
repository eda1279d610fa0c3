"""`Changes`: what was changed, by whom and when, and taking it back."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from catalog.bench.codes import codes_in_short
from catalog.database import Database
from catalog.people import taking_back
from catalog.people.belonging import label_of
from catalog.people.records import Person
from catalog.people.tables import ChangeGroupRow, ChangeRow, OwnedRow
from catalog.tables import Base

__all__ = ["Change", "ChangedRow", "Changes"]

_NAMED = ("piece", "load", "body", "recipe", "material", "bucket", "person")
"""Tables whose rows a person calls by a code or name."""

_GLAZED = "glazing"
"""A batch is called by the codes of its pieces."""


@dataclass(frozen=True, slots=True)
class ChangedRow:
    """One row of a change.

    Attributes
    ----------
    table, kind : which table; "added", "changed" or "removed"
    thing, label : the table of what the row is part of (often itself), and what a person calls that
    before, after : its columns as they were and became, only those that changed
    called : what a person calls the things that columns point at, by column and number
    """

    table: str
    kind: str
    thing: str
    label: str
    before: Mapping[str, Any]
    after: Mapping[str, Any]
    called: Mapping[tuple[str, int], str]


@dataclass(frozen=True, slots=True)
class Change:
    """What one transaction changed.

    Attributes
    ----------
    number : by which it can be taken back
    made_at, who : UTC; the name as it was then, empty where nobody was asked
    takes_back : number of the change that this one took back, None where it is a change of its own
    is_back : whether it was taken back and stands no more
    counts : rows by table and kind, such as {"piece added": 2}
    rows : empty where there were too many (`watching.MOST_ROWS`)
    mine : whether it concerns only what the person who asks may change
    """

    number: int
    made_at: datetime
    who: str
    takes_back: int | None
    is_back: bool
    counts: Mapping[str, int]
    rows: tuple[ChangedRow, ...]
    mine: bool = True

    @property
    def may_go_back(self) -> bool:
        """Tell whether taking it back can be offered; something newer may still rest on it."""
        people = any(row.table == "person" for row in self.rows)
        return self.mine and self.takes_back is None and not self.is_back and bool(self.rows) and not people


class Changes:
    """The log of changes. Made by `Catalog`."""

    def __init__(self, database: Database) -> None:
        self.database = database

    def list(
        self,
        *,
        limit: int = 50,
        before: int | None = None,
        who: str | None = None,
        about: str | None = None,
    ) -> tuple[Change, ...]:
        """Give changes, the newest first.

        Parameters
        ----------
        limit, before : how many, and only those with a lower number (for the next page)
        who : only by this person; "" gives those of nobody
        about : only of things whose code or name holds this text, in any case
        """
        query = select(ChangeGroupRow).order_by(ChangeGroupRow.id.desc()).limit(limit)
        if before is not None:
            query = query.where(ChangeGroupRow.id < before)
        if who is not None:
            query = query.where(ChangeGroupRow.who == who)
        with self.database.reading() as session:
            if about is not None and about.strip():
                roots = _roots_named(session, about)
                query = query.where(
                    ChangeGroupRow.id.in_(select(ChangeRow.group_id).where(ChangeRow.root.in_(roots)))
                )
            groups = session.scalars(query).all()
            gone = taking_back.dropped(session)
            numbers = [group.id for group in groups]
            rows = session.scalars(
                select(ChangeRow).where(ChangeRow.group_id.in_(numbers)).order_by(ChangeRow.id)
            ).all()
            pointed = {point: root for row in rows for point, root in _pointed_at(row)}
            labels = _labels(session, {row.root for row in rows} | set(pointed.values()))
            called = {point: labels.get(root, "") for point, root in pointed.items()}
            made = tuple(_record(group, rows, labels, called, gone) for group in groups)
            others = _others(session, self.database.actor, rows)
        return tuple(replace(change, mine=change.number not in others) for change in made)

    def people(self) -> tuple[str, ...]:
        """Give the names that stand on changes, "" for nobody's."""
        with self.database.reading() as session:
            return tuple(sorted(session.scalars(select(ChangeGroupRow.who).distinct())))

    def take_back(self, number: int) -> Change:
        """Take a change back, if nothing newer rests on it; gives the change that does so.

        What was added goes the catalogue's way: a piece is taken off the shelf, a word taken back; nothing
        photographed is erased. Taking back a taking back makes the change again.

        Raises
        ------
        CannotTakeBackError, NotAllowedError
        """
        with self.database.writing() as session:
            taking_back.take_back(session, number)
        with self.database.reading() as session:
            query = select(ChangeGroupRow.id).where(ChangeGroupRow.undoes_id == number)
            made = session.scalar(query.order_by(ChangeGroupRow.id.desc()))
        return self.list(limit=1, before=(made or number) + 1)[0]


def _record(
    group: ChangeGroupRow,
    rows: Iterable[ChangeRow],
    labels: Mapping[str, str],
    called: Mapping[tuple[str, str, int], str],
    gone: frozenset[int],
) -> Change:
    return Change(
        number=group.id,
        made_at=group.made_at,
        who=group.who,
        takes_back=group.undoes_id,
        is_back=group.id in gone,
        counts=dict(group.counts),
        rows=tuple(
            ChangedRow(
                row.table_name,
                row.kind,
                row.root.partition(":")[0],
                labels.get(row.root) or label_of(row.after) or label_of(row.before),
                row.before,
                row.after,
                {
                    (name, number): words
                    for (table, name, number), words in called.items()
                    if table == row.table_name and words
                },
            )
            for row in rows
            if row.group_id == group.id
        ),
    )


def _pointed_at(row: ChangeRow) -> Iterator[tuple[tuple[str, str, int], str]]:
    """Give what a row's columns point at: table, column and number, and the root of what is there."""
    for values in (row.before, row.after):
        for name, number in values.items():
            for key in Base.metadata.tables[row.table_name].c[name].foreign_keys:
                if isinstance(number, int) and key.column.table.name in _NAMED:
                    yield (row.table_name, name, number), f"{key.column.table.name}:[{number}]"


def _labels(session: Session, roots: Iterable[str]) -> dict[str, str]:
    """Give what people call things now, by their root."""
    wanted: dict[str, set[Any]] = {}
    for root in roots:
        name, _, key = root.partition(":")
        if name in _NAMED:
            wanted.setdefault(name, set()).add(json.loads(key)[0])
    found = {}
    for name, numbers in wanted.items():
        table = Base.metadata.tables[name]
        for row in session.execute(select(table).where(table.c.id.in_(numbers))).mappings():
            found[f"{name}:[{row['id']}]"] = label_of({str(key): value for key, value in row.items()})
    batches = [json.loads(root.partition(":")[2])[0] for root in roots if root.startswith(f"{_GLAZED}:")]
    for number, codes in _codes_glazed(session, batches).items():
        found[f"{_GLAZED}:[{number}]"] = codes_in_short(codes)
    return found


def _others(session: Session, actor: Person | None, rows: Sequence[ChangeRow]) -> set[int]:
    """Give the changes with a row that the person may not change."""
    if actor is None or actor.is_keeper:
        return set()
    things = [row for row in rows if row.root == f"{row.table_name}:{row.row_key}"]
    told = {row.root: row.after.get("uid") or row.before.get("uid") for row in things}
    uids = {root: uid for root, uid in told.items() if uid}
    asked: dict[str, set[Any]] = {}
    for root in {row.root for row in rows} - set(uids):
        name, _, key = root.partition(":")
        if "uid" in Base.metadata.tables[name].c:
            asked.setdefault(name, set()).add(json.loads(key)[0])
    for name, numbers in asked.items():
        table = Base.metadata.tables[name]
        found = session.execute(select(table.c.id, table.c.uid).where(table.c.id.in_(numbers)))
        uids |= {f"{name}:[{number}]": uid for number, uid in found}
    owned = select(OwnedRow.uid).where(OwnedRow.person_id == actor.id, OwnedRow.uid.in_(uids.values()))
    mine = set(session.scalars(owned)) if actor.may_write else set()
    return {row.group_id for row in rows if uids.get(row.root) not in mine}


def _codes_glazed(session: Session, batches: Sequence[int]) -> dict[int, list[str]]:
    piece, part = Base.metadata.tables["piece"], Base.metadata.tables["glazing_piece"]
    query = select(part.c.glazing_id, piece.c.code).join(piece, piece.c.id == part.c.piece_id)
    found: dict[int, list[str]] = {}
    for number, code in session.execute(
        query.where(part.c.glazing_id.in_(batches)).order_by(part.c.position)
    ):
        found.setdefault(number, []).append(code)
    return found


def _roots_named(session: Session, about: str) -> Sequence[str]:
    plain = about.strip().casefold()
    for sign in "\\%_":
        plain = plain.replace(sign, "\\" + sign)
    found: list[str] = []
    for name in _NAMED:
        table = Base.metadata.tables[name]
        keys = [table.c[key] for key in ("code_key", "name_key", "code", "name") if key in table.c]
        query = select(table.c.id).where(or_(*(key.ilike(f"%{plain}%", escape="\\") for key in keys)))
        numbers = session.scalars(query).all()
        found += [f"{name}:[{number}]" for number in numbers]
        if name == "piece":
            part = Base.metadata.tables["glazing_piece"].c
            batches = select(part.glazing_id).where(part.piece_id.in_(query)).distinct()
            found += [f"{_GLAZED}:[{number}]" for number in session.scalars(batches)]
    return found
