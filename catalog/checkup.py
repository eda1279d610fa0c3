"""Look a catalogue over: are database and photos whole, and do they agree."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from catalog.columns import UtcDateTime, now
from catalog.photos import KeptFiles
from catalog.store import Catalog
from catalog.tables import Base, PhotoRow, ReadingRow
from catalog.workshop_tables import LoadLogRow

__all__ = ["PROBLEM_KINDS", "UNFINISHED_AFTER_S", "Problem", "find_problems", "kept_files"]

PROBLEM_KINDS = (
    "database",
    "reference",
    "clock",
    "missing photo",
    "damaged photo",
    "unknown photo",
    "missing view",
    "damaged view",
    "unknown view",
    "missing log",
    "damaged log",
    "unknown log",
    "unfinished file",
)

UNFINISHED_AFTER_S = 3600.0
"""A part file older than this has no writer any more, seconds. Writing a photo takes well under a minute."""

_CLOCK_SLACK = timedelta(minutes=5)
"""Two computers that share a catalogue may differ by this much without a word."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong; `kind` is one of `PROBLEM_KINDS`, `what` names it.

    Unknown and unfinished files harm nothing: a writer stopped after the file and before its row, or a log
    was taken off its load. "clock": something is dated later than this computer's clock says it is now.
    """

    kind: str
    what: str


def kept_files(catalog: Catalog, session: Session) -> tuple[tuple[str, KeptFiles, frozenset[str]], ...]:
    """Give each folder of kept files: its word, the files, and the digests that rows point at."""
    views = select(ReadingRow.view_sha256).where(ReadingRow.view_sha256.is_not(None))
    return (
        ("photo", catalog.photos, frozenset(session.scalars(select(PhotoRow.sha256)))),
        ("view", catalog.views, frozenset(name for name in session.scalars(views) if name is not None)),
        ("log", catalog.workshop.logs, frozenset(session.scalars(select(LoadLogRow.sha256)))),
    )


def find_problems(catalog: Catalog, *, read_photos: bool = True) -> tuple[Problem, ...]:
    """Look over database, photos, views, logs and dates. Changes nothing.

    Parameters
    ----------
    read_photos : read each file and compare its digest; without, only that it is there

    Raises
    ------
    DamagedCatalogError : the database is too damaged to be looked over.
    PhotoStoreError : the store of the photos does not answer.
    """
    problems: list[Problem] = []
    with catalog.database.reading() as session:
        if catalog.database.is_sqlite:
            connection = session.connection()
            for (line,) in connection.exec_driver_sql("PRAGMA integrity_check"):
                if line != "ok":
                    problems.append(Problem("database", str(line)))
            for row in connection.exec_driver_sql("PRAGMA foreign_key_check"):
                problems.append(Problem("reference", f"{row[0]} {row[1]} points at no {row[2]}"))
        ahead = _latest_moment(session)
        folders = kept_files(catalog, session)
    if ahead is not None and ahead > now() + _CLOCK_SLACK:
        problems.append(Problem("clock", f"{ahead:%Y-%m-%d %H:%M} UTC"))
    for word, files, known in folders:
        for sha256 in sorted(known):
            fault = files.fault_of(sha256, read=read_photos)
            if fault is not None:
                problems.append(Problem(f"{fault} {word}", sha256))
        problems += [Problem(f"unknown {word}", name) for name in files.digests() if name not in known]
        problems += [
            Problem("unfinished file", name) for name in files.unfinished(older_than_s=UNFINISHED_AFTER_S)
        ]
    return tuple(problems)


def _latest_moment(session: Session) -> datetime | None:
    """Give the latest moment kept in any table."""
    found: list[datetime] = []
    for table in Base.metadata.sorted_tables:
        for column in table.columns:
            if isinstance(column.type, UtcDateTime):
                latest = session.scalar(select(func.max(column)))
                found += [] if latest is None else [latest]
    return max(found, default=None)
