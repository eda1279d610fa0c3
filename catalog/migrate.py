"""Bring a catalogue's tables to this version's format: a copy kept first, all steps in one transaction."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, inspect

from catalog.database import APPLICATION_ID, Database, translated
from catalog.errors import DamagedCatalogError, NewerCatalogError
from catalog.home import Home
from catalog.photos import sync_folder

if TYPE_CHECKING:
    from alembic.config import Config

__all__ = ["HEAD", "KNOWN", "alembic_config", "copy_database", "format_of", "migrate"]

KNOWN = ("0001", "0002", "0003", "0004", "0005", "0006", "0007", "0008")
"""Every format this version can open, in order. Stated here so that opening needs no Alembic; tested."""

HEAD = KNOWN[-1]


def migrate(database: Database, home: Home) -> None:
    """Upgrade to `HEAD` if needed. Of two programs that start together one works, the other waits.

    Raises
    ------
    NewerCatalogError : a later version wrote the catalogue; it is left untouched.
    DamagedCatalogError : the database is not a catalogue, or a step would leave broken references.
    CatalogLockedError, ReadOnlyCatalogError, CatalogFullError : see `catalog.errors`.
    """
    with translated(database.where, database.busy_timeout_s):
        with database.engine.connect() as connection:
            found = _checked_format(connection, database)
        if found == HEAD:
            return
        with _upgrading(database) as connection:
            found = _checked_format(connection, database)
            if found == HEAD:
                return
            if found is not None and home.database_file is not None:
                keep_copy(home.database_file, home.copies, found)
            _run(connection)
            if database.is_sqlite:
                broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
                if broken:
                    reason = f"the upgrade from {found} left {len(broken)} broken references"
                    raise DamagedCatalogError(database.where, reason)
                connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")


def format_of(connection: Connection) -> str | None:
    """Give the format a database is in; None if it holds no tables at all."""
    names = inspect(connection).get_table_names()
    if not names:
        return None
    if "alembic_version" not in names:
        return ""
    found = connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar()
    return None if found is None and len(names) == 1 else str(found or "")


def _checked_format(connection: Connection, database: Database) -> str | None:
    found = format_of(connection)
    if found is None or found in KNOWN:
        return found
    if found == "":
        raise DamagedCatalogError(database.where, "it is a database of another kind")
    raise NewerCatalogError(database.where, found, HEAD)


@contextmanager
def _upgrading(database: Database) -> Iterator[Connection]:
    """Give a connection that holds the write lock, with SQLite's foreign keys off.

    A batch step rebuilds a table; with foreign keys on, dropping the old one would take every row that
    points at it along (ON DELETE CASCADE). The switch only works outside a transaction.
    """
    with database.engine.execution_options(glostbook_write=True).connect() as connection:
        raw: Any = connection.connection.dbapi_connection
        if database.is_sqlite:
            raw.execute("PRAGMA journal_mode = WAL")
            raw.execute("PRAGMA foreign_keys = OFF")
        try:
            with connection.begin():
                yield connection
        finally:
            if database.is_sqlite:
                raw.execute("PRAGMA foreign_keys = ON")


def _run(connection: Connection) -> None:
    from alembic import command

    config = alembic_config()
    config.attributes["connection"] = connection
    command.upgrade(config, "head")


def alembic_config() -> Config:
    """Give Alembic's settings, made here and not read from a file."""
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations").replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config


def keep_copy(database_file: Path, folder: Path, found: str) -> Path:
    """Copy an SQLite file, whole even while others read it, and force the copy to the disk."""
    folder.mkdir(parents=True, exist_ok=True)
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%S%fZ")
    place = folder / f"{database_file.stem}-format-{found}-{stamp}{database_file.suffix}"
    unfinished = place.with_suffix(".part")
    copy_database(database_file, unfinished)
    unfinished.replace(place)
    sync_folder(folder)
    return place


def copy_database(database_file: Path, place: Path) -> None:
    """Copy an SQLite file by its backup API, as one state of it, and force the copy to the disk."""
    with (
        closing(sqlite3.connect(f"{database_file.as_uri()}?mode=ro", uri=True)) as source,
        closing(sqlite3.connect(place)) as target,
    ):
        source.backup(target)
        target.execute("PRAGMA journal_mode = DELETE")
    with place.open("rb+") as file:
        os.fsync(file.fileno())
