"""Who may change what, asked of every row that is written.

A keeper may do everything, a reader nothing. A member files new things, and changes or removes what is their
own: a piece, load, clay, glaze or material they made, with all that belongs to it. What has no owner, such
as all that was filed before there were people, is the keeper's.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import Table, select
from sqlalchemy.orm import Session

from catalog.people.belonging import label_of, rights_of, root_name
from catalog.people.errors import NotAllowedError
from catalog.people.records import Person
from catalog.people.tables import OwnedRow, PersonRow

__all__ = ["check_row", "has_owner", "note_owner", "owner_of"]

_OWN_PERSON = frozenset({"passphrase_hash"})
"""What somebody may change of their own record."""


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
    if person.is_keeper:
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
    owner = owner_of(session, found["uid"]) if has_owner(root) and "uid" in found else None
    if owner is None or owner[0] != person.id:
        whose = None if owner is None else owner[1]
        raise NotAllowedError(person.name, person.role, str(root.name), label_of(found), whose)
