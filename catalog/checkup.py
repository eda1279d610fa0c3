"""Look a catalogue over: are database and photos whole, and do they agree."""

from __future__ import annotations

import time
from dataclasses import dataclass

from sqlalchemy import select

from catalog.store import Catalog
from catalog.tables import PhotoRow, ReadingRow
from catalog.workshop_tables import LoadLogRow

__all__ = ["Problem", "find_problems"]

UNFINISHED_AFTER_S = 3600.0
"""A part file older than this has no writer any more, seconds. Writing a photo takes well under a minute."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong.

    `kind` is "database", "reference", "missing photo", "damaged photo", "missing view", "damaged view",
    "missing log", "damaged log", "unknown photo", "unknown view", "unknown log" or "unfinished file"; `what`
    names it. Unknown and unfinished files harm nothing: a writer stopped after the file and before its row,
    or a log was taken off its load.
    """

    kind: str
    what: str


def find_problems(catalog: Catalog, *, read_photos: bool = True) -> tuple[Problem, ...]:
    """Look over database, photos and views. Changes nothing.

    Parameters
    ----------
    read_photos : read each file and compare its digest; without, only that it is there
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
        photos = set(session.scalars(select(PhotoRow.sha256)))
        views = set(
            session.scalars(select(ReadingRow.view_sha256).where(ReadingRow.view_sha256.is_not(None)))
        )
        logs = set(session.scalars(select(LoadLogRow.sha256)))
    for files, known, word in (
        (catalog.photos, photos, "photo"),
        (catalog.views, views, "view"),
        (catalog.workshop.logs, logs, "log"),
    ):
        for sha256 in sorted(name for name in known if name is not None):
            fault = files.fault_of(sha256, read=read_photos)
            if fault is not None:
                problems.append(Problem(f"{fault} {word}", sha256))
        problems += [Problem(f"unknown {word}", name) for name in files.digests() if name not in known]
        problems += [
            Problem("unfinished file", str(path))
            for path in files.unfinished()
            if time.time() - path.stat().st_mtime > UNFINISHED_AFTER_S
        ]
    return tuple(problems)
