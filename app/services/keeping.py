"""Backups and packages as a screen asks for them: told in words, files by path or by upload."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from app.words.checking import SAME_DISK_WORDS
from app.words.packages import carried_words, import_note_words, import_words
from catalog.backup import back_up, backup_copies
from catalog.backup_places import allowed_place, chosen_places
from catalog.errors import BackupNotFoundError
from catalog.exchange.export import export_package
from catalog.exchange.take import look_at_package, take_package
from catalog.store import Catalog

__all__ = [
    "ImportSeen",
    "backed_up",
    "chosen_folder",
    "copies_in",
    "look_at_upload",
    "package_bytes",
    "take_upload",
]

_MEGABYTE = 1_000_000
_DOWNLOAD_LIMIT_MB = 300


@dataclass(frozen=True, slots=True)
class ImportSeen:
    """What a package would bring or brought, in words; `brings` tells whether there is anything new."""

    lines: tuple[str, ...]
    notes: tuple[str, ...]
    brings: bool


def backed_up(catalog: Catalog, folder: str) -> tuple[str, ...]:
    """Back the catalogue up and say what was done.

    Raises
    ------
    BackupPlaceError : the screen may not write there (`catalog.backup_places`).
    The other errors of `catalog.backup.back_up`.
    """
    done = back_up(catalog, allowed_place(catalog.home, Path(folder)))
    lines = [
        f"Backed up and read back: {done.copy.pieces} pieces, {done.copied} files copied, "
        f"{done.there} were there already. Copies kept: {len(done.kept)}."
    ]
    if done.same_disk:
        lines.append(SAME_DISK_WORDS)
    if done.lost:
        lines.append(f"{len(done.lost)} files are not in the catalogue's folder: glostbook check names them.")
    return tuple(lines)


def chosen_folder(catalog: Catalog) -> str:
    """Give the folder that a backup went to last from a terminal; empty where none did."""
    return next((str(place) for place in chosen_places(catalog.home)), "")


def copies_in(catalog: Catalog, folder: str) -> tuple[str, ...]:
    """Give the copies of a backup in words, the newest first; none where there is no backup.

    Raises BackupPlaceError: the screen may not look there.
    """
    try:
        found = backup_copies(allowed_place(catalog.home, Path(folder)))
    except BackupNotFoundError:
        return ()
    return tuple(f"{copy.made_at[:16].replace('T', ' ')} UTC: {copy.pieces} pieces" for copy in found)


def package_bytes(catalog: Catalog, *, originals: bool) -> tuple[bytes, tuple[str, ...]] | None:
    """Give the package as bytes to download and what it carries; None where it is too large for that."""
    with tempfile.TemporaryDirectory(prefix="glostbook-") as folder:
        done = export_package(catalog, Path(folder) / "package.zip", originals=originals)
        if done.size_bytes > _DOWNLOAD_LIMIT_MB * _MEGABYTE:
            return None
        lines = list(carried_words(done, "Tick the box"))
        if done.lost or done.held_back:
            lines.append(f"{len(done.lost) + len(done.held_back)} files could not be taken along.")
        return done.place.read_bytes(), tuple(lines)


@contextmanager
def _on_disk(data: bytes, name: str) -> Iterator[Path]:
    with tempfile.TemporaryDirectory(prefix="glostbook-") as folder:
        # The name is only shown: whatever it holds, the file lies in the folder just made.
        place = Path(folder) / (Path(name.replace("\\", "/")).name[:80] or "package.zip")
        place.write_bytes(data)
        yield place


def look_at_upload(catalog: Catalog, data: bytes, name: str) -> ImportSeen:
    """Say what an uploaded package would bring; nothing is kept. Raises PackageError."""
    with _on_disk(data, name) as place:
        report = look_at_package(catalog, place)
    notes = tuple(import_note_words(note) for note in report.notes)
    return ImportSeen(import_words(report, done=False), notes, report.added > 0)


def take_upload(catalog: Catalog, data: bytes, name: str) -> tuple[str, ...]:
    """Bring an uploaded package in and say what came. Raises PackageError and the catalogue's errors."""
    with _on_disk(data, name) as place:
        return import_words(take_package(catalog, place), done=True)
