"""Who may change what, asked of every row that is written.

A keeper may do everything, a reader nothing. A member files new things, and changes or removes what is their
own: a piece, load, clay, glaze or material they made, with all that belongs to it. What has no owner, such
as all that was filed before there were people, is the keeper's.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Table, select
from sqlalchemy.orm import Session

from catalog.people.belonging import label_of, parent_of, rights_of, root_name
from catalog.people.errors import NotAllowedError
from catalog.people.records import Person
from catalog.people.tables import OwnedRow, PersonRow
from catalog.tables import Base, PieceRow
from catalog.values import code_key

__all__ = [
    "Permission",
    "check_brought_back",
    "check_row",
    "has_owner",
    "not_mine",
    "note_owner",
    "owner_of",
    "permission",
]

_OWN_PERSON = frozenset({"passphrase_hash"})
"""What somebody may change of their own record."""


@dataclass(frozen=True, slots=True)
class Permission:
    """Whether somebody may change a thing, and who else may.

    Attributes
    ----------
    allowed : they may
    is_reader : they may change nothing at all
    owner : whose the thing is, None where it is nobody's own: then it is the keeper's
    """

    allowed: bool
    is_reader: bool = False
    owner: str | None = None


def permission(session: Session, person: Person | None, name: str, number: int | None) -> Permission:
    """Tell whether a person may change a thing, or make one.

    Parameters
    ----------
    person : None where nobody is asked who they are
    name : of the thing's table, such as "piece", "load", "recipe" or "setting"
    number : its primary key; None asks about a new one
    """
    if person is None or person.is_keeper:
        return Permission(True)
    if not person.may_write:
        return Permission(False, is_reader=True)
    table = Base.metadata.tables[name]
    if rights_of(table) == "keeper":
        return Permission(False)
    if number is None:
        return Permission(True)
    uid = session.scalar(select(table.c.uid).where(table.c.id == number))
    owner = None if uid is None else owner_of(session, uid)
    return Permission(owner is not None and owner[0] == person.id, owner=None if owner is None else owner[1])


def not_mine(session: Session, person: Person, codes: Sequence[str]) -> dict[str, Permission]:
    """Give those of the pieces with these codes that a person, no keeper, may not change."""
    whose = (
        select(PieceRow.code, OwnedRow.person_id, PersonRow.name)
        .outerjoin(OwnedRow, OwnedRow.uid == PieceRow.uid)
        .outerjoin(PersonRow, PersonRow.id == OwnedRow.person_id)
        .where(PieceRow.code_key.in_({code_key(code) for code in codes}), PieceRow.deleted_at.is_(None))
        .order_by(PieceRow.code)
    )
    return {
        code: Permission(False, not person.may_write, name)
        for code, owner, name in session.execute(whose)
        if owner != person.id or not person.may_write
    }


def has_owner(table: Table) -> bool:
    """Tell whether rows of a table that stand by themselves can be somebody's own."""
    return "uid" in table.columns and rights_of(table) != "keeper"


def owner_of(session: Session, uid: str) -> tuple[int, str] | None:
    """Give number and name of who owns the thing with this uid, None where it is nobody's own."""
    known: dict[str, tuple[int, str]] = session.info.setdefault("owners", {})
    if uid in known:
        return known[uid]
    query = select(PersonRow.id, PersonRow.name).join(OwnedRow, OwnedRow.person_id == PersonRow.id)
    found = session.connection().execute(query.where(OwnedRow.uid == uid)).first()
    return None if found is None else (found[0], found[1])


def note_owner(session: Session, uid: str, person: Person) -> None:
    """Keep in mind for this transaction whose a thing is that was just made."""
    session.info.setdefault("owners", {})[uid] = (person.id, person.name)


def check_row(
    session: Session,
    person: Person,
    table: Table,
    values: Mapping[str, Any],
    *,
    added: bool,
    changed: frozenset[str] = frozenset(),
) -> None:
    """Refuse a change that a person may not make.

    Parameters
    ----------
    values : the row's columns
    added : the row is new
    changed : names of the columns that change, where they are known

    Raises
    ------
    NotAllowedError
    """
    if person.is_keeper or rights_of(table) == "none":
        return
    name = str(table.name)
    if name == "person" and not added and values["id"] == person.id and changed and changed <= _OWN_PERSON:
        return
    if not person.may_write or rights_of(table) == "keeper":
        raise NotAllowedError(person.name, person.role, name, label_of(values))
    if rights_of(table) == "free":
        return
    root, found = root_name(session, table, values)
    if root is table and added:
        return
    _refuse_others(session, person, root, found)


def check_brought_back(session: Session, person: Person, table: Table, values: Mapping[str, Any]) -> None:
    """Refuse to bring back a removed thing that was not the person's own. Raises NotAllowedError."""
    if not person.is_keeper and parent_of(table) is None:
        _refuse_others(session, person, table, values)


def _refuse_others(session: Session, person: Person, root: Table, found: Mapping[str, Any]) -> None:
    owner = owner_of(session, found["uid"]) if has_owner(root) and "uid" in found else None
    if owner is None or owner[0] != person.id:
        whose = None if owner is None else owner[1]
        raise NotAllowedError(person.name, person.role, str(root.name), label_of(found), whose)
