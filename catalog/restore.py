"""Put a catalogue back from a backup: built beside its place, read through, and only then moved there."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from catalog.backup import DATABASE, FOLDERS, BackupCopy, backup_copies, checked_database
from catalog.database import translated
from catalog.drive import refuse_network
from catalog.errors import (
    BackupDamagedError,
    BackupNotFoundError,
    DatabaseElsewhereError,
    NotEmptyError,
    PhotoDamagedError,
    PhotoMissingError,
)
from catalog.home import DATABASE_NAME, Home
from catalog.photo_store import files_of
from catalog.photos import PhotoFiles, digest_of, sync_folder
from catalog.restoring import finish_restore, make_ready, new_catalogue, restoring

__all__ = ["Restored", "restore", "set_aside"]


@dataclass(frozen=True, slots=True)
class Restored:
    """What was put back: the copy, how many files, which are lost, where the catalogue before it went."""

    copy: BackupCopy
    files: int
    lost: tuple[str, ...]
    set_aside: Path | None


def restore(
    folder: Path,
    home: Home,
    *,
    name: str | None = None,
    move_present: bool = False,
    progress: Callable[[int, int], None] | None = None,
) -> Restored:
    """Put the catalogue of a backup into its folder.

    Parameters
    ----------
    folder : the backup's
    home : where the catalogue goes; where its photos are in a store, the files go there
    name : which copy; None takes the newest
    move_present : move a catalogue that is there aside, whole, first
    progress : told (files done, files in all)

    Raises
    ------
    BackupNotFoundError : no backup there, or no copy of this name.
    BackupDamagedError : the copy's database is not what was kept; choose an earlier one.
    NotEmptyError : there is a catalogue already and `move_present` is false.
    DatabaseElsewhereError, NetworkDriveError, CatalogFullError, ReadOnlyCatalogError, PhotoStoreError
    """
    if home.database_url is not None:
        raise DatabaseElsewhereError("restored")
    copies = backup_copies(folder)
    copy = next((each for each in copies if name in (None, each.name)), None)
    if copy is None:
        raise BackupNotFoundError(str(folder), name, tuple(each.name for each in copies))
    data = _whole_database(copy)
    refuse_network(home.folder)
    with translated(str(home.folder)):
        finish_restore(home.folder)
        present = home.folder.is_dir() and any(home.folder.iterdir())
        if present and not move_present:
            raise NotEmptyError(str(home.folder))
        home.folder.parent.mkdir(parents=True, exist_ok=True)
        with restoring(home.folder):
            building = new_catalogue(home.folder)
            count, lost = _put_files(
                folder.expanduser().absolute(), copy, replace(home, folder=building), progress
            )
            place = building / DATABASE_NAME
            with place.open("wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            sync_folder(building)
            make_ready(home.folder)
            moved = set_aside(home.folder) if present else None
            if home.folder.is_dir():
                home.folder.rmdir()
            building.rename(home.folder)
            sync_folder(home.folder.parent)
    return Restored(copy, count, lost, moved)


def set_aside(folder: Path) -> Path | None:
    """Move a catalogue's folder out of the way, keeping it whole; None if there was none.

    Returns
    -------
    where it is now: beside its old place, with a number after its name
    """
    if not folder.is_dir() or not any(folder.iterdir()):
        return None
    number = 1
    while (target := folder.with_name(f"{folder.name}-set-aside-{number}")).exists():
        number += 1
    folder.rename(target)
    return target


def _whole_database(copy: BackupCopy) -> bytes:
    place = copy.folder / DATABASE
    try:
        data = place.read_bytes()
    except OSError as error:
        raise BackupDamagedError(str(place), "it cannot be read") from error
    if digest_of(data) != copy.database_sha256:
        raise BackupDamagedError(str(place), "it has changed since it was kept")
    checked_database(place)
    return data


def _put_files(
    folder: Path, copy: BackupCopy, building: Home, progress: Callable[[int, int], None] | None
) -> tuple[int, tuple[str, ...]]:
    total = sum(len(names) for names in copy.files.values())
    count = 0
    lost: list[str] = []
    for name in FOLDERS:
        source, target = PhotoFiles(folder / name), files_of(building, name)
        for sha256 in copy.files[name]:
            if progress is not None:
                progress(count, total)
            try:
                target.keep(source.read(sha256))
                count += 1
            except (PhotoMissingError, PhotoDamagedError):
                lost.append(f"{name}/{sha256}")
    return count, tuple(lost)
