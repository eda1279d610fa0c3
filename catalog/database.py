"""The database behind the catalogue: engine, settings of SQLite, transactions, and errors in our words."""

from __future__ import annotations

import errno
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from copy import copy
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar, Self

from sqlalchemy import Engine, create_engine, event
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DatabaseError, NoSuchModuleError
from sqlalchemy.orm import Session
from sqlalchemy.sql.dml import UpdateBase

from catalog.errors import (
    CatalogError,
    CatalogFullError,
    CatalogLockedError,
    DamagedCatalogError,
    DatabaseAddressError,
    ReadOnlyCatalogError,
)

if TYPE_CHECKING:
    from catalog.people.records import Person

__all__ = ["APPLICATION_ID", "BUSY_TIMEOUT_S", "Database", "WritingSession", "translated"]

BUSY_TIMEOUT_S = 15.0
"""How long a writer waits for another before it gives up, seconds. One filing takes well under one."""

APPLICATION_ID = 0x474C4F53
"""Mark in the head of the SQLite file ("GLOS"), by which a catalogue is told from any other database."""


class WritingSession(Session):
    """A session that may change something.

    `info` says in whose hands it is: "actor", "signer" and "who", as `Database` has them.

    A statement that changes rows goes by way of `watch`. SQLAlchemy's own event for it is heard at every
    query as well, which made a filing 3 % slower.
    """

    watch: ClassVar[Callable[[Session, UpdateBase, Callable[[], Any]], Any] | None] = None

    def execute(self, statement: Any, *values: Any, **options: Any) -> Any:
        """Run a statement, watched where it changes rows."""
        run = super().execute
        watch = type(self).watch
        if watch is None or not isinstance(statement, UpdateBase):
            return run(statement, *values, **options)
        return watch(self, statement, lambda: run(statement, *values, **options))

    def scalar(self, statement: Any, *values: Any, **options: Any) -> Any:
        """Give one value of a query; a statement that changes rows belongs to `execute`."""
        return super().scalar(_only_asks(statement), *values, **options)

    def scalars(self, statement: Any, *values: Any, **options: Any) -> Any:
        """Give the first column of a query; a statement that changes rows belongs to `execute`."""
        return super().scalars(_only_asks(statement), *values, **options)


def _only_asks(statement: Any) -> Any:
    if isinstance(statement, UpdateBase):
        msg = "a statement that changes rows goes through execute(), where it is watched"
        raise TypeError(msg)
    return statement


class Database:
    """One database with its pool of connections. Safe to share between threads.

    `actor` is the person whose rights hold for what is written; None where nobody is asked who they are. Then
    `who` may still name who is written on changes, and `signer` be that person: what is made is theirs.

    Parameters
    ----------
    url : SQLAlchemy address, or the path of an SQLite file
    busy_timeout_s : wait for another writer, seconds
    """

    def __init__(self, url: str | Path, *, busy_timeout_s: float = BUSY_TIMEOUT_S) -> None:
        self.busy_timeout_s = busy_timeout_s
        self.engine = _make_engine(url, busy_timeout_s)
        self._writer = self.engine.execution_options(glostbook_write=True)
        self.where = self.engine.url.database or self.engine.url.render_as_string(hide_password=True)
        self.actor: Person | None = None
        self.signer: Person | None = None
        self.who = ""

    def acting_as(self, person: Person | None) -> Self:
        """Give the same database, its connections shared, in the hands of a person."""
        other = copy(self)
        other.actor = other.signer = person
        other.who = "" if person is None else person.name
        return other

    def signed_by(self, who: str, signer: Person | None) -> Self:
        """Give the same database with a name on what is changed, and nobody's rights asked."""
        other = copy(self)
        other.actor, other.signer, other.who = None, signer, who
        return other

    @property
    def is_sqlite(self) -> bool:
        """Tell whether this is an SQLite file."""
        return self.engine.dialect.name == "sqlite"

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """Give a session that sees one state of the catalogue and changes nothing."""
        with (
            translated(self.where, self.busy_timeout_s),
            Session(self.engine, autoflush=False) as session,
        ):
            yield session

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """Give a session whose changes are kept together at the end, or not at all.

        The write lock is taken at the start, so that nothing read here can change before the end: SQLite's
        own, or on PostgreSQL one that all programs of this catalogue take (a killed one lets go of it).
        """
        with (
            translated(self.where, self.busy_timeout_s),
            WritingSession(self._writer, expire_on_commit=False, info=self._hands()) as session,
            session.begin(),
        ):
            yield session

    def _hands(self) -> dict[str, Any]:
        return {"actor": self.actor, "signer": self.signer, "who": self.who}

    def leave_wal(self) -> None:
        """Go back to a rollback journal: the other kind needs memory that a network drive cannot share."""
        with translated(self.where, self.busy_timeout_s):
            raw: Any = self.engine.raw_connection()
            try:
                raw.execute("PRAGMA journal_mode = DELETE")
            finally:
                raw.close()

    def close(self) -> None:
        """Close all connections."""
        self.engine.dispose()


def _make_engine(url: str | Path, busy_timeout_s: float) -> Engine:
    try:
        # A path may hold "?" or "#", which an address could not.
        parsed = URL.create("sqlite", database=str(url)) if isinstance(url, Path) else make_url(url)
        if parsed.get_backend_name() == "sqlite":
            engine = create_engine(
                parsed, connect_args={"timeout": busy_timeout_s, "check_same_thread": False}
            )
            _tell_sqlite(engine)
        else:
            engine = create_engine(parsed, pool_pre_ping=True)
            if parsed.get_backend_name() == "postgresql":
                _take_turns(engine, busy_timeout_s)
    except (ArgumentError, NoSuchModuleError) as error:
        raise DatabaseAddressError(_without_password(url), "not a database address") from error
    except ImportError as error:
        raise DatabaseAddressError(
            _without_password(url), f"its driver is not installed ({error})"
        ) from error
    return engine


def _without_password(url: str | Path) -> str:
    if isinstance(url, Path):
        return str(url)
    try:
        return make_url(url).render_as_string(hide_password=True)
    except ArgumentError:
        return url.split(":", 1)[0] + ":..."


def _tell_sqlite(engine: Engine) -> None:
    @event.listens_for(engine, "connect")
    def on_connect(connection: Any, _record: object) -> None:
        # The driver's own transaction handling begins late and skips DDL; ours begins in "begin" below.
        connection.isolation_level = None
        cursor = connection.cursor()
        cursor.execute("PRAGMA foreign_keys = ON")
        cursor.execute("PRAGMA synchronous = FULL")
        cursor.close()
        # SQLite's own lower() knows ASCII only; a search for "möwe" should find "Möwe".
        connection.create_function("lower", 1, _lower, deterministic=True)

    @event.listens_for(engine, "begin")
    def on_begin(connection: Any) -> None:
        writes = connection.get_execution_options().get("glostbook_write", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _take_turns(engine: Engine, busy_timeout_s: float) -> None:
    """Let one program at a time write: codes are counted on, and two must not count on from one number."""

    @event.listens_for(engine, "begin")
    def on_begin(connection: Any) -> None:
        if connection.get_execution_options().get("glostbook_write", False):
            connection.exec_driver_sql(f"SET LOCAL lock_timeout = {max(1, int(1000 * busy_timeout_s))}")
            connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({APPLICATION_ID})")


def _lower(value: object) -> str | None:
    return None if value is None else str(value).lower()


@contextmanager
def translated(where: str, busy_timeout_s: float = BUSY_TIMEOUT_S) -> Iterator[None]:
    """Turn what the database or the disk complains of into the catalogue's errors; the rest passes."""
    try:
        yield
    except (DatabaseError, sqlite3.DatabaseError) as error:
        ours = _our_error(error, where, busy_timeout_s)
        if ours is None:
            raise
        raise ours from error
    except OSError as error:
        if error.errno in (errno.ENOSPC, errno.EDQUOT):
            raise CatalogFullError(where) from error
        if error.errno in (errno.EACCES, errno.EROFS, errno.EPERM, errno.EEXIST, errno.ENOTDIR):
            raise ReadOnlyCatalogError(str(error.filename or where), error.strerror or "") from error
        raise


_NO_CONNECTION = (
    "connection failed",
    "could not connect",
    "connection refused",
    "server closed the connection",
)
"""How a database server's driver says that it cannot be reached, or does not let one in."""


def _our_error(error: Exception, where: str, busy_timeout_s: float) -> CatalogError | None:
    text = str(getattr(error, "orig", None) or error).lower()
    if any(words in text for words in _NO_CONNECTION):
        return DatabaseAddressError(where, "no connection: " + text.split("\n", 1)[0])
    if (
        "database is locked" in text
        or "database table is locked" in text
        or "database schema is locked" in text
        or "due to lock timeout" in text
    ):
        return CatalogLockedError(where, busy_timeout_s)
    if "readonly" in text:
        return ReadOnlyCatalogError(where, text)
    if "unable to open database file" in text:
        return ReadOnlyCatalogError(where, text)
    if "disk is full" in text:
        return CatalogFullError(where)
    if "not a database" in text or "malformed" in text or "disk image" in text:
        return DamagedCatalogError(where, text)
    return None
