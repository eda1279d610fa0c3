"""`People`: who works with this catalogue, in which role."""

from __future__ import annotations

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from catalog import values
from catalog.columns import now
from catalog.database import Database
from catalog.errors import InvalidRecordError, NameTakenError
from catalog.people import tries
from catalog.people.errors import LastKeeperError, PersonNotFoundError
from catalog.people.passphrase import PassphraseHasher, checked_passphrase
from catalog.people.records import KEEPER, ROLES, Person
from catalog.people.sign_in import end_all
from catalog.people.tables import PersonRow

__all__ = ["People", "checked_person_name", "person_record", "person_row"]

_LONGEST_NAME = 80


class People:
    """The people of a catalogue. Made by `Catalog`; each method is one transaction.

    As long as there are none, the catalogue is one potter's own and asks nobody who they are.
    """

    def __init__(self, database: Database, hasher: PassphraseHasher) -> None:
        self.database = database
        self.hasher = hasher

    def list(self, *, left_too: bool = False) -> tuple[Person, ...]:
        """Give the people by name; with `left_too` those who left as well."""
        query = select(PersonRow).order_by(PersonRow.name_key)
        if not left_too:
            query = query.where(PersonRow.left_at.is_(None))
        with self.database.reading() as session:
            return tuple(person_record(row) for row in session.scalars(query))

    def any(self) -> bool:
        """Tell whether there ever were people: then the catalogue wants to know who works with it."""
        with self.database.reading() as session:
            return session.scalar(select(PersonRow.id).limit(1)) is not None

    def named(self, name: str) -> Person:
        """Give one person by name. Raises PersonNotFoundError."""
        with self.database.reading() as session:
            return person_record(person_row(session, name))

    def add(self, name: str, role: str, *, passphrase: str | None = None, email: str | None = None) -> Person:
        """Add somebody; one who left comes back. The first must be a keeper.

        Parameters
        ----------
        role : one of `ROLES`
        passphrase : to sign in by; `SHORTEST` characters or more
        email : the address by which a sign-in service names them. One of the two is needed.

        Raises
        ------
        InvalidRecordError, NameTakenError, LastKeeperError, NotAllowedError
        """
        name = checked_person_name(name)
        values.checked_choice("role", role, ROLES)
        address = _checked_email(email)
        if passphrase is None and address is None:
            raise InvalidRecordError(
                "passphrase", "nothing", "a passphrase, or an email for a sign-in service"
            )
        hashed = None if passphrase is None else self.hasher.make(checked_passphrase(passphrase, name))
        with self.database.writing() as session:
            if role != KEEPER and not _keepers(session):
                raise LastKeeperError(name)
            row = session.scalar(select(PersonRow).where(PersonRow.name_key == name.casefold()))
            if row is not None and row.left_at is None:
                raise NameTakenError("person", row.name)
            _refuse_email_of_another(session, address, row)
            if row is None:
                row = PersonRow(name_key=name.casefold(), created_at=now())
                session.add(row)
            row.name, row.role, row.passphrase_hash, row.left_at = name, role, hashed, None
            row.email, row.email_key = address, None if address is None else address.casefold()
            tries.forget(session, row.name_key)
            session.flush()
            return person_record(row)

    def set_role(self, name: str, role: str) -> Person:
        """Change somebody's role; they have to sign in again. Raises LastKeeperError, PersonNotFoundError."""
        values.checked_choice("role", role, ROLES)
        with self.database.writing() as session:
            row = person_row(session, name)
            if row.role == KEEPER and role != KEEPER and _keepers(session) == 1:
                raise LastKeeperError(row.name)
            row.role = role
            session.flush()
            end_all(session, row.id)
            return person_record(row)

    def set_passphrase(self, name: str, passphrase: str) -> Person:
        """Give somebody a new passphrase; wherever they are signed in they have to sign in again.

        Raises
        ------
        InvalidRecordError, PersonNotFoundError, NotAllowedError
        """
        with self.database.reading() as session:
            kept = person_row(session, name).name
        hashed = self.hasher.make(checked_passphrase(passphrase, kept))
        with self.database.writing() as session:
            row = person_row(session, name)
            row.passphrase_hash = hashed
            session.flush()
            tries.forget(session, row.name_key)
            end_all(session, row.id)
            return person_record(row)

    def leave(self, name: str) -> Person:
        """Let somebody go: they can't sign in any more, their name stays on what they did.

        Raises
        ------
        LastKeeperError, PersonNotFoundError
        """
        with self.database.writing() as session:
            row = person_row(session, name)
            if row.role == KEEPER and _keepers(session) == 1:
                raise LastKeeperError(row.name)
            row.left_at, row.passphrase_hash = now(), None
            session.flush()
            end_all(session, row.id)
            return person_record(row)


def person_row(session: Session, name: str) -> PersonRow:
    """Give the row of somebody who has not left, by name."""
    key = " ".join(name.split()).casefold()
    row = session.scalar(select(PersonRow).where(PersonRow.name_key == key, PersonRow.left_at.is_(None)))
    if row is None:
        known = select(PersonRow.name).where(PersonRow.left_at.is_(None)).order_by(PersonRow.name_key)
        raise PersonNotFoundError(name, tuple(session.scalars(known)))
    return row


def person_record(row: PersonRow) -> Person:
    """Give the record of a person."""
    has = row.passphrase_hash is not None
    return Person(row.id, row.uid, row.name, row.role, row.email, has, row.created_at, row.left_at)


def _keepers(session: Session) -> int:
    query = select(func.count()).select_from(PersonRow)
    return session.scalar(query.where(PersonRow.role == KEEPER, PersonRow.left_at.is_(None))) or 0


def checked_person_name(name: str) -> str:
    """Give a name in one line without needless blanks. Raises InvalidRecordError."""
    text = " ".join(values.checked_name("name", name).split())
    if len(text) > _LONGEST_NAME:
        raise InvalidRecordError("name", text[:20] + "...", f"at most {_LONGEST_NAME} characters")
    return text


def _checked_email(email: str | None) -> str | None:
    text = (email or "").strip()
    if not text:
        return None
    before, at, after = text.partition("@")
    if not (before and at and after) or " " in text:
        raise InvalidRecordError("email", text, "an address such as ana@example.org")
    return text


def _refuse_email_of_another(session: Session, address: str | None, mine: PersonRow | None) -> None:
    if address is None:
        return
    holder = session.scalar(select(PersonRow).where(PersonRow.email_key == address.casefold()))
    if holder is not None and holder is not mine:
        raise NameTakenError("person with this email", holder.name)
