"""How often signing in may be tried, kept in the database: another window or process counts too."""

from __future__ import annotations

import hashlib
from datetime import datetime, timedelta

from sqlalchemy import delete
from sqlalchemy.dialects.postgresql import insert as postgresql_insert
from sqlalchemy.dialects.sqlite import insert as sqlite_insert
from sqlalchemy.orm import Session

from catalog.people.errors import TooManyTriesError
from catalog.people.tables import AttemptRow

__all__ = ["FREE_TRIES", "FREE_TRIES_IN_ALL", "LOCKED_AT", "clear", "count", "forget"]

FREE_TRIES = 5
"""Wrong passphrases under one name before a wait is set. The wait then doubles with each further one, as
the OWASP authentication cheat sheet advises (exponential lockout; from memory; the figures are ours)."""

FIRST_WAIT = timedelta(seconds=30)
LONGEST_WAIT = timedelta(hours=1)

LOCKED_AT = 100
"""Wrong passphrases in a row after which none is tried any more until a keeper sets a new one: NIST SP
800-63B-4, 3.2.2 (5.2.2 in revision 3) allows no more than 100 on one account (from memory)."""

FREE_TRIES_IN_ALL = 30
"""Failures under any names within `REMEMBERED` before everybody waits (our own figure)."""

FIRST_WAIT_OF_ALL = timedelta(seconds=2)
LONGEST_WAIT_OF_ALL = timedelta(minutes=1)
REMEMBERED = timedelta(hours=1)
KEPT = timedelta(days=30)

_ALL = "all"


def _digest(name_key: str) -> str:
    """Names that nobody has may be passphrases typed into the wrong field: only a digest is kept."""
    return hashlib.sha256(name_key.encode()).hexdigest()


def _row(session: Session, who: str, at: datetime) -> AttemptRow:
    insert = sqlite_insert if session.get_bind().dialect.name == "sqlite" else postgresql_insert
    fresh = {"who": who, "failures": 0, "last_at": at, "free_at": at}
    session.execute(insert(AttemptRow).values(**fresh).on_conflict_do_nothing())
    return session.get_one(AttemptRow, who, with_for_update=True)


def _wait(failures: int, free: int, first: timedelta, longest: timedelta) -> timedelta:
    if failures < free:
        return timedelta(0)
    doubled: timedelta = first * int(2 ** min(failures - free, 30))
    return min(doubled, longest)


def count(session: Session, name_key: str, at: datetime) -> None:
    """Count a try as failed before it is made, so that many at once cannot slip through.

    Raises
    ------
    TooManyTriesError : it may not be made now; it was not counted.
    """
    everybody = _row(session, _ALL, at)
    mine = _row(session, _digest(name_key), at)
    if everybody.last_at < at - REMEMBERED:
        everybody.failures = 0
    if mine.failures >= LOCKED_AT:
        raise TooManyTriesError(None)
    free_at = max(everybody.free_at, mine.free_at)
    if free_at > at:
        # A clock that went back must not lock anybody out for longer than the wait could be.
        longest = LONGEST_WAIT if mine.free_at >= everybody.free_at else LONGEST_WAIT_OF_ALL
        raise TooManyTriesError(min(free_at - at, longest).total_seconds())
    for row, free, first, longest in (
        (everybody, FREE_TRIES_IN_ALL, FIRST_WAIT_OF_ALL, LONGEST_WAIT_OF_ALL),
        (mine, FREE_TRIES, FIRST_WAIT, LONGEST_WAIT),
    ):
        row.failures += 1
        row.last_at = at
        row.free_at = at + _wait(row.failures, free, first, longest)
    session.execute(delete(AttemptRow).where(AttemptRow.last_at < at - KEPT))


def clear(session: Session, name_key: str, at: datetime) -> None:
    """Take back the count of a try that was right, and forget the wrong ones before it."""
    everybody = _row(session, _ALL, at)
    everybody.failures = max(everybody.failures - 1, 0)
    if everybody.failures < FREE_TRIES_IN_ALL:
        everybody.free_at = at
    forget(session, name_key)


def forget(session: Session, name_key: str) -> None:
    """Forget what was tried under a name: a keeper has set a new passphrase."""
    session.execute(delete(AttemptRow).where(AttemptRow.who == _digest(name_key)))
