"""`SignIns`: who is signed in. A browser holds a random token, the catalogue only its digest."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Callable
from datetime import datetime, timedelta

from sqlalchemy import delete, select, update
from sqlalchemy.orm import Session

from catalog.columns import now
from catalog.database import Database
from catalog.people import tries
from catalog.people.errors import WrongSignInError
from catalog.people.passphrase import PassphraseHasher
from catalog.people.records import Person
from catalog.people.tables import PersonRow, SignInRow

__all__ = ["ABSOLUTE", "IDLE", "SignIns", "end_all"]

IDLE = timedelta(hours=1)
"""Unused for this long, a sign-in is over. NIST SP 800-63B-4, 2.2.3 names one hour for its second level, the
OWASP session cheat sheet 15 to 30 minutes for low-risk screens (both from memory): a kiln takes longer to
unload than to read about, so we take the longer."""

ABSOLUTE = timedelta(hours=12)
"""After this long it is over whatever was done: a day in the studio. NIST's limit for that level is 24 hours
(12 in revision 3), OWASP's 4 to 8 for a day in an office (from memory)."""

_SEEN_EVERY = timedelta(minutes=1)
_KEPT = timedelta(days=30)
_TOKEN_BYTES = 32
"""256 random bits; OWASP asks for 64 bits of entropy or more (from memory)."""


class SignIns:
    """Sign-ins of a catalogue. Made by `Catalog`.

    Parameters
    ----------
    clock : gives this moment, with its time zone
    """

    def __init__(
        self, database: Database, hasher: PassphraseHasher, clock: Callable[[], datetime] = now
    ) -> None:
        self.database = database
        self.hasher = hasher
        self.clock = clock

    def by_passphrase(self, name: str, passphrase: str) -> str:
        """Sign in; gives the token for the browser to keep.

        A name nobody has, somebody who left and a wrong passphrase take the same steps and as long.

        Raises
        ------
        WrongSignInError, TooManyTriesError
        """
        key = " ".join(name.split()).casefold()
        with self.database.writing() as session:
            tries.count(session, key, self.clock())
            row = session.scalar(
                select(PersonRow).where(PersonRow.name_key == key, PersonRow.left_at.is_(None))
            )
            person_id, kept = (None, None) if row is None else (row.id, row.passphrase_hash)
        if not self.hasher.fits(kept, passphrase) or person_id is None or kept is None:
            raise WrongSignInError
        with self.database.writing() as session:
            person = session.get(PersonRow, person_id, with_for_update=True)
            if person is None or person.left_at is not None or person.passphrase_hash != kept:
                raise WrongSignInError  # changed in the moment since
            tries.clear(session, key, self.clock())
            if self.hasher.is_old(kept):
                person.passphrase_hash = self.hasher.make(passphrase)
            return self._signed_in(session, person_id)

    def by_email(self, email: str) -> str:
        """Sign in somebody whom a sign-in service vouches for by address. Raises WrongSignInError."""
        with self.database.writing() as session:
            person_id = session.scalar(
                select(PersonRow.id).where(
                    PersonRow.email_key == email.strip().casefold(), PersonRow.left_at.is_(None)
                )
            )
            if person_id is None:
                raise WrongSignInError
            return self._signed_in(session, person_id)

    def _signed_in(self, session: Session, person_id: int) -> str:
        at = self.clock()
        token = secrets.token_urlsafe(_TOKEN_BYTES)
        session.execute(delete(SignInRow).where(SignInRow.made_at < at - _KEPT))
        session.add(
            SignInRow(person_id=person_id, token_digest=_digest(token), made_at=at, seen_at=at, ended_at=None)
        )
        return token

    def person_of(self, token: str) -> Person | None:
        """Give who holds a token, None where it is unknown, ended or too old; it counts as use."""
        from catalog.people.people import person_record

        at = self.clock()
        with self.database.reading() as session:
            found = session.execute(
                select(SignInRow, PersonRow)
                .join(PersonRow, PersonRow.id == SignInRow.person_id)
                .where(SignInRow.token_digest == _digest(token))
            ).one_or_none()
            if found is None:
                return None
            row, person = found
            over = at - row.made_at > ABSOLUTE or at - row.seen_at > IDLE
            if over or row.ended_at is not None or person.left_at is not None:
                return None
            number, seen_at, record = row.id, row.seen_at, person_record(person)
        if abs(at - seen_at) > _SEEN_EVERY:
            with self.database.writing() as session:
                session.execute(update(SignInRow).where(SignInRow.id == number).values(seen_at=at))
        return record

    def end(self, token: str) -> None:
        """Sign out."""
        mine = SignInRow.token_digest == _digest(token)
        with self.database.writing() as session:
            session.execute(
                update(SignInRow).where(mine, SignInRow.ended_at.is_(None)).values(ended_at=self.clock())
            )


def end_all(session: Session, person_id: int) -> None:
    """End every sign-in of somebody, in the caller's transaction."""
    mine = SignInRow.person_id == person_id
    session.execute(update(SignInRow).where(mine, SignInRow.ended_at.is_(None)).values(ended_at=now()))


def _digest(token: str) -> str:
    """Give a token's digest. It needs no salt and no slow hash: nobody can try all random tokens."""
    return hashlib.sha256(token.encode()).hexdigest()
