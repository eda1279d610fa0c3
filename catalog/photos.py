"""Photos, views and logs, kept as files named by the SHA-256 of their bytes.

A file is written beside its place, forced to the disk, and only then renamed into it: under its final name
a file is always whole. Its row is committed afterwards (`catalog.filing`), so that no row ever points at a
file that is not there.
"""

from __future__ import annotations

import errno
import hashlib
import os
import re
import shutil
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Protocol

from catalog.database import translated
from catalog.errors import InvalidRecordError, PhotoDamagedError, PhotoMissingError

__all__ = ["DIGEST", "UNFINISHED", "KeptFiles", "PhotoFiles", "checked_digest", "digest_of", "sync_folder"]

DIGEST = re.compile(r"[0-9a-f]{64}")
UNFINISHED = ".part"
"""Ending of a file that is being written."""


def digest_of(data: bytes) -> str:
    """Give the SHA-256 of `data` as 64 hex digits."""
    return hashlib.sha256(data).hexdigest()


def checked_digest(sha256: str) -> str:
    """Give a digest back. Raises InvalidRecordError: it is not 64 lower-case hex digits."""
    if not DIGEST.fullmatch(sha256):
        raise InvalidRecordError("sha256", sha256, "64 hex digits")
    return sha256


class KeptFiles(Protocol):
    """Files named by digest, wherever they lie: a folder (`PhotoFiles`) or a store (`StoredFiles`)."""

    def keep(self, data: bytes) -> str:
        """Keep `data` whole or not at all, and give its digest."""

    def keep_again(self, sha256: str, data: bytes) -> None:
        """Keep bytes whose file was there a moment ago and may have been put aside meanwhile."""

    def read(self, sha256: str) -> bytes:
        """Give the bytes kept under a digest. Raises PhotoMissingError, PhotoDamagedError."""

    def fault_of(self, sha256: str, *, read: bool = True) -> str | None:
        """Tell what is wrong with a kept file: "missing", "damaged" (only where it is read) or None."""

    def digests(self) -> Iterator[str]:
        """Give the digest of every file kept, by its name."""

    def unfinished(self, *, older_than_s: float = 0.0) -> tuple[str, ...]:
        """Give the files that a writer stopped half-way left behind."""

    def remove(self, sha256: str) -> None:
        """Take a file away for good. One that is not there is no error."""

    def put_aside(self, name: str, place: Path) -> None:
        """Move a file to `place`: one by its digest, or one of `unfinished`."""


class PhotoFiles:
    """A folder of files named by digest: ``ab/cdef...``.

    Parameters
    ----------
    folder : made when the first file comes
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def path(self, sha256: str) -> Path:
        """Give the place of a file, whether it is there or not.

        Raises
        ------
        InvalidRecordError : `sha256` is not 64 lower-case hex digits (so no name can lead out of the folder).
        """
        checked_digest(sha256)
        return self.folder / sha256[:2] / sha256[2:]

    def keep(self, data: bytes) -> str:
        """Keep `data` and give its digest. Bytes kept before are not written again.

        Raises
        ------
        CatalogFullError, ReadOnlyCatalogError : the disk says no; nothing stands under the final name then.
        """
        sha256 = digest_of(data)
        place = self.path(sha256)
        with translated(str(self.folder)):
            if place.is_file() and digest_of(place.read_bytes()) == sha256:
                return sha256
            first = not self.folder.is_dir()
            place.parent.mkdir(parents=True, exist_ok=True)
            if first:
                sync_folder(self.folder.parent)
            handle, name = tempfile.mkstemp(prefix=sha256[2:10], suffix=UNFINISHED, dir=place.parent)
            unfinished = Path(name)
            try:
                with os.fdopen(handle, "wb") as file:
                    file.write(data)
                    file.flush()
                    os.fsync(file.fileno())
                unfinished.replace(place)
            except BaseException:
                unfinished.unlink(missing_ok=True)
                raise
            sync_folder(place.parent)
            sync_folder(self.folder)
        return sha256

    def keep_again(self, sha256: str, data: bytes) -> None:
        """Keep bytes whose file was there a moment ago and may have been put aside meanwhile."""
        if not self.path(sha256).is_file():
            self.keep(data)

    def read(self, sha256: str) -> bytes:
        """Give the bytes kept under a digest, after checking that they still have it.

        Raises
        ------
        PhotoMissingError : no such file.
        PhotoDamagedError : the bytes have changed since.
        """
        place = self.path(sha256)
        try:
            data = place.read_bytes()
        except FileNotFoundError as error:
            raise PhotoMissingError(sha256, place) from error
        if digest_of(data) != sha256:
            raise PhotoDamagedError(sha256, place)
        return data

    def fault_of(self, sha256: str, *, read: bool = True) -> str | None:
        """Tell what is wrong with a kept file: "missing", "damaged" (only where it is read) or None."""
        try:
            if read:
                self.read(sha256)
            elif not self.path(sha256).is_file():
                return "missing"
        except PhotoMissingError:
            return "missing"
        except PhotoDamagedError:
            return "damaged"
        return None

    def digests(self) -> Iterator[str]:
        """Give the digest of every file kept, by its name."""
        if not self.folder.is_dir():
            return
        for place in sorted(self.folder.glob("??/*")):
            name = place.parent.name + place.name
            if DIGEST.fullmatch(name):
                yield name

    def unfinished(self, *, older_than_s: float = 0.0) -> tuple[str, ...]:
        """Give the files that a writer stopped half-way left behind."""
        return tuple(
            str(path)
            for path in sorted(self.folder.glob(f"??/*{UNFINISHED}"))
            if time.time() - path.stat().st_mtime >= older_than_s
        )

    def remove(self, sha256: str) -> None:
        """Take a file away for good. One that is not there is no error."""
        self.path(sha256).unlink(missing_ok=True)

    def put_aside(self, name: str, place: Path) -> None:
        """Move a file to `place`: one by its digest, or one of `unfinished`."""
        path = self.path(name) if DIGEST.fullmatch(name) else Path(name)
        if not path.is_file() or not path.is_relative_to(self.folder):
            return
        place.parent.mkdir(parents=True, exist_ok=True)
        try:
            path.rename(place)
        except OSError as error:
            if error.errno != errno.EXDEV:
                raise
            shutil.copy2(path, place)  # photos on another drive than the catalogue's folder
            path.unlink()
        sync_folder(place.parent)


def sync_folder(folder: Path) -> None:
    """Force a rename to the disk, where the system lets a folder be opened (not on Windows)."""
    if os.name == "nt":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
