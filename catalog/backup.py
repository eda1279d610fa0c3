"""Backups: a copy of the database for each day it was asked for, and every photo once.

A backup's folder holds ``photos/``, ``views/`` and ``logs/``, files named by digest as in the catalogue, and
``copies/NUMBER-TIME/`` with one copy of the database and ``contents.json``, which names the digests it
needs. A copy stands under its name only when all of it is on the disk.
"""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import tempfile
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from catalog.database import translated
from catalog.errors import (
    BackupDamagedError,
    BackupNotFoundError,
    BackupPlaceError,
    CatalogLockedError,
    DatabaseElsewhereError,
    PhotoDamagedError,
    PhotoMissingError,
)
from catalog.home import Home
from catalog.migrate import copy_database
from catalog.photo_store import local_folder
from catalog.photos import PhotoFiles, digest_of, sync_folder
from catalog.store import Catalog

__all__ = [
    "KEPT_USUALLY",
    "BackupCopy",
    "BackupReport",
    "back_up",
    "backup_copies",
    "checked_database",
    "own_folders",
]

KEPT_USUALLY = 10
"""How many copies of the database stay where nobody says otherwise."""

CONTENTS, DATABASE, COPIES = "contents.json", "catalogue.sqlite3", "copies"
FOLDERS = ("photos", "views", "logs")
_WAIT_S = 60.0
_DIGESTS = {
    "photos": "SELECT sha256 FROM photo",
    "views": "SELECT DISTINCT view_sha256 FROM reading WHERE view_sha256 IS NOT NULL",
    "logs": "SELECT DISTINCT sha256 FROM load_log",
}


@dataclass(frozen=True, slots=True)
class BackupCopy:
    """One copy in a backup: `files` by folder (`FOLDERS`), `lost` those that the catalogue lacked then."""

    name: str
    folder: Path
    made_at: str
    catalogue_format: str
    database_sha256: str
    pieces: int
    files: Mapping[str, tuple[str, ...]]
    lost: Mapping[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class BackupReport:
    """What a backup did: the copy made, files copied and found there already, copies kept and let go.

    `lost` names files that the catalogue no longer has whole (as "photos/DIGEST") and that no earlier backup
    had either. `same_disk`: the backup lies on the catalogue's own disk and would be lost with it.
    """

    copy: BackupCopy
    copied: int
    there: int
    kept: tuple[BackupCopy, ...]
    dropped: tuple[str, ...]
    lost: tuple[str, ...]
    same_disk: bool


def back_up(
    catalog: Catalog,
    folder: Path,
    *,
    keep: int = KEPT_USUALLY,
    read_all: bool = True,
    progress: Callable[[int, int], None] | None = None,
) -> BackupReport:
    """Copy the catalogue while it is in use, and read back what was copied.

    Parameters
    ----------
    folder : the backup's own folder, made if there is none; outside the catalogue's
    keep : how many copies of the database stay, 1 or more; files that none of them names go with the others
    read_all : also read through the files copied earlier, and copy a damaged one anew
    progress : told (files done, files in all)

    Raises
    ------
    BackupPlaceError : the folder lies in the catalogue's, or holds something else.
    DatabaseElsewhereError : the database is not a file; its own tools back it up.
    CatalogFullError, ReadOnlyCatalogError, CatalogLockedError, DamagedCatalogError, PhotoStoreError
    """
    folder = folder.expanduser().absolute()
    file = catalog.home.database_file
    if file is None:
        raise DatabaseElsewhereError("backed up")
    _check_place(folder, catalog.home)
    with translated(str(folder)):
        folder.mkdir(parents=True, exist_ok=True)
        with _alone(folder), tempfile.TemporaryDirectory(prefix="glostbook-") as passing:
            # SQLite's own copy is made on this computer's disk: its locks mean nothing on a network drive.
            local = Path(passing) / DATABASE
            copy_database(file, local)
            data = local.read_bytes()
            found = checked_database(local)
            wanted = {name: found.digests[name] for name in FOLDERS}
            copied, there, lost = _copy_files(catalog, folder, wanted, read_all, progress)
            made = _write_copy(folder, data, found, wanted, lost)
            kept, dropped = _let_go(folder, max(1, keep))
    told = tuple(f"{name}/{sha256}" for name in FOLDERS for sha256 in lost[name])
    same_disk = folder.stat().st_dev == file.parent.stat().st_dev
    return BackupReport(made, copied, there, kept, dropped, told, same_disk)


def backup_copies(folder: Path) -> tuple[BackupCopy, ...]:
    """Give the copies of a backup, the newest first.

    Raises
    ------
    BackupNotFoundError : there is no backup in this folder.
    BackupDamagedError : a copy's list of contents cannot be read.
    """
    place = folder.expanduser().absolute() / COPIES
    if not place.is_dir():
        raise BackupNotFoundError(str(folder))
    names = sorted((p for p in place.iterdir() if not p.name.startswith(".")), reverse=True)
    return tuple(_read_contents(path) for path in names if path.is_dir())


@dataclass(frozen=True, slots=True)
class FoundDatabase:
    """What a copied database says of itself."""

    catalogue_format: str
    pieces: int
    digests: Mapping[str, tuple[str, ...]]


def checked_database(file: Path) -> FoundDatabase:
    """Read a copied database through.

    Raises
    ------
    BackupDamagedError : it is no catalogue, or not whole.
    """
    try:
        with closing(sqlite3.connect(f"{file.as_uri()}?mode=ro", uri=True)) as database:
            told = [row[0] for row in database.execute("PRAGMA integrity_check")]
            if told != ["ok"]:
                raise BackupDamagedError(str(file), str(told[0]))
            (found,) = database.execute("SELECT version_num FROM alembic_version").fetchone()
            (pieces,) = database.execute("SELECT count(*) FROM piece WHERE deleted_at IS NULL").fetchone()
            tables = {row[0] for row in database.execute("SELECT name FROM sqlite_master")}
            digests = {
                name: tuple(sorted(row[0] for row in database.execute(query)))
                if query.split(" FROM ")[1].split()[0] in tables
                else ()
                for name, query in _DIGESTS.items()
            }
    except (sqlite3.DatabaseError, TypeError) as error:
        raise BackupDamagedError(str(file), str(error)) from error
    return FoundDatabase(str(found), int(pieces), digests)


def own_folders(home: Home) -> tuple[Path, ...]:
    """Give the folders on this computer that hold the catalogue."""
    photos = None if home.photos_url is None else local_folder(home.photos_url)
    return (home.folder,) if photos is None else (home.folder, photos)


def _check_place(folder: Path, home: Home) -> None:
    if any(folder.is_relative_to(own) or own.is_relative_to(folder) for own in own_folders(home)):
        raise BackupPlaceError(str(folder), "it lies in the catalogue's own folder and would be lost with it")
    if folder.is_dir():
        names = {path.name for path in folder.iterdir() if not path.name.startswith(".")}
        if names - {*FOLDERS, COPIES}:
            raise BackupPlaceError(str(folder), f"it holds other things ({min(names - {*FOLDERS, COPIES})})")
    elif folder.is_file():
        raise BackupPlaceError(str(folder), "it is a file")


@contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """Let one backup at a time work in a folder: another could let files go that this one counts on."""
    from filelock import FileLock, Timeout

    lock = FileLock(folder / ".lock", timeout=_WAIT_S)
    try:
        with lock:
            yield
    except Timeout as error:
        raise CatalogLockedError(str(folder), _WAIT_S) from error


def _copy_files(
    catalog: Catalog,
    folder: Path,
    wanted: Mapping[str, tuple[str, ...]],
    read_all: bool,
    progress: Callable[[int, int], None] | None,
) -> tuple[int, int, dict[str, tuple[str, ...]]]:
    """Copy what is not there yet, each read back; give how many were copied, were there, and are lost."""
    sources = {"photos": catalog.photos, "views": catalog.views, "logs": catalog.workshop.logs}
    total = sum(len(names) for names in wanted.values())
    copied = there = 0
    lost: dict[str, tuple[str, ...]] = {}
    for name in FOLDERS:
        target = PhotoFiles(folder / name)
        for sha256 in wanted[name]:
            if progress is not None:
                progress(copied + there, total)
            if target.fault_of(sha256, read=read_all) is None:
                there += 1
                continue
            try:
                target.keep(sources[name].read(sha256))
                target.read(sha256)
                copied += 1
            except (PhotoMissingError, PhotoDamagedError):
                lost[name] = (*lost.get(name, ()), sha256)
    return copied, there, {name: lost.get(name, ()) for name in FOLDERS}


def _write_copy(
    folder: Path,
    data: bytes,
    found: FoundDatabase,
    wanted: Mapping[str, tuple[str, ...]],
    lost: Mapping[str, tuple[str, ...]],
) -> BackupCopy:
    """Write database and contents under a passing name, read them back, and rename them into place."""
    copies = folder / COPIES
    copies.mkdir(exist_ok=True)
    _clear_remains(copies)
    # Numbered, because a clock may go back and the newest must stay the newest.
    numbers = [int(p.name[:6]) for p in copies.iterdir() if p.name[:6].isdigit()]
    moment = datetime.now(UTC)
    name = f"{max(numbers, default=0) + 1:06d}-{moment:%Y%m%dT%H%M%SZ}"
    unfinished = copies / f".{name}.part"
    unfinished.mkdir()
    contents = {
        "made_at": moment.isoformat(timespec="seconds"),
        "catalogue_format": found.catalogue_format,
        "pieces": found.pieces,
        "database": {"sha256": digest_of(data), "size_bytes": len(data)},
        "files": wanted,
        "lost": lost,
    }
    for file, content in ((DATABASE, data), (CONTENTS, json.dumps(contents, indent=1).encode())):
        _write(unfinished / file, content)
    if digest_of((unfinished / DATABASE).read_bytes()) != digest_of(data):
        raise BackupDamagedError(str(unfinished), "what was written does not read back the same")
    sync_folder(unfinished)
    unfinished.rename(copies / name)
    sync_folder(copies)
    return _read_contents(copies / name)


def _write(place: Path, data: bytes) -> None:
    with place.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _read_contents(folder: Path) -> BackupCopy:
    try:
        told = json.loads((folder / CONTENTS).read_text(encoding="utf-8"))
        return BackupCopy(
            name=folder.name,
            folder=folder,
            made_at=str(told["made_at"]),
            catalogue_format=str(told["catalogue_format"]),
            database_sha256=str(told["database"]["sha256"]),
            pieces=int(told["pieces"]),
            files={name: tuple(map(str, told["files"][name])) for name in FOLDERS},
            lost={name: tuple(map(str, told["lost"][name])) for name in FOLDERS},
        )
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise BackupDamagedError(str(folder), "its contents.json cannot be read") from error


def _let_go(folder: Path, keep: int) -> tuple[tuple[BackupCopy, ...], tuple[str, ...]]:
    """Keep the newest copies; files that none of them names go too, once the others are gone."""
    copies = backup_copies(folder)
    for old in copies[keep:]:
        gone = old.folder.with_name(f".{old.name}.gone")
        old.folder.rename(gone)
    _clear_remains(folder / COPIES)
    if copies[keep:]:
        for name in FOLDERS:
            _drop_unnamed(PhotoFiles(folder / name), (copy.files[name] for copy in copies[:keep]))
    return copies[:keep], tuple(copy.name for copy in copies[keep:])


def _clear_remains(copies: Path) -> None:
    """Remove what a stopped backup left half done: one begun within the same second wants the same name."""
    for rest in copies.glob(".*"):
        if rest.suffix in (".gone", ".part"):
            shutil.rmtree(rest)


def _drop_unnamed(files: PhotoFiles, named: Iterable[tuple[str, ...]]) -> None:
    wanted = {sha256 for names in named for sha256 in names}
    for sha256 in list(files.digests()):
        if sha256 not in wanted:
            files.remove(sha256)
