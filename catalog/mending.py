"""Mend what `catalog.checkup` finds. What is taken out of its place is put aside, never deleted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from catalog.checkup import Problem, find_problems, kept_files
from catalog.database import translated
from catalog.errors import PhotoDamagedError, PhotoMissingError
from catalog.photos import KeptFiles, PhotoFiles
from catalog.store import Catalog

__all__ = ["Mending", "mend"]


@dataclass(frozen=True, slots=True)
class Mending:
    """What was found, what is still wrong after mending, and where files were put aside (None: none were)."""

    found: tuple[Problem, ...]
    left: tuple[Problem, ...]
    aside: Path | None


def mend(catalog: Catalog, *, backup: Path | None = None, read_photos: bool = True) -> Mending:
    """Mend a catalogue: strays go aside, damaged files give way to whole ones, indices are made anew.

    Parameters
    ----------
    backup : a backup's folder (`catalog.backup`), from which missing and damaged files are put back
    read_photos : as `find_problems`

    Raises
    ------
    DamagedCatalogError, CatalogLockedError, CatalogFullError, ReadOnlyCatalogError, PhotoStoreError
    """
    found = find_problems(catalog, read_photos=read_photos)
    if not found:
        return Mending((), (), None)
    aside = catalog.home.folder / "aside" / datetime.now(UTC).strftime("%Y%m%dT%H%M%S%fZ")
    with translated(str(catalog.home.folder)):
        # Under the write lock: a filing that has kept its file but not its row yet keeps it again.
        with catalog.database.writing() as session:
            for word, files, known in kept_files(catalog, session):
                source = None if backup is None else PhotoFiles(backup / f"{word}s")
                _mend_files(word, files, known, found, source, aside / f"{word}s")
        if any(problem.kind == "database" for problem in found) and catalog.database.is_sqlite:
            with catalog.database.writing() as session:
                session.connection().exec_driver_sql("REINDEX")
    left = find_problems(catalog, read_photos=read_photos)
    return Mending(found, left, aside if aside.is_dir() else None)


def _mend_files(
    word: str,
    files: KeptFiles,
    known: frozenset[str],
    problems: Sequence[Problem],
    source: KeptFiles | None,
    aside: Path,
) -> None:
    for problem in problems:
        fault, _, what = problem.kind.partition(" ")
        if problem.kind == "unfinished file":
            files.put_aside(problem.what, aside / Path(problem.what).name)
            continue
        if what != word:
            continue
        sha256 = problem.what
        if fault == "unknown" and sha256 not in known:
            files.put_aside(sha256, aside / sha256)
        elif fault in ("missing", "damaged") and source is not None:
            try:
                whole = source.read(sha256)
            except (PhotoMissingError, PhotoDamagedError):
                continue
            if fault == "damaged":
                files.put_aside(sha256, aside / sha256)
            files.keep(whole)
