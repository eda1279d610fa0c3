"""Photos, views and logs in any store that fsspec reaches (``GLOSTBOOK_PHOTOS_URL``), with a cache here.

A file is written under a passing name, read back and compared by size and digest, and only then moved to
the name its digest gives; its row is committed afterwards (`catalog.filing`). What was read once lies in the
catalogue's own folder under ``cache/`` and is checked by its digest each time, so a store that is away does
not hide what was looked at before. A ``file://`` address is a folder like any other (`catalog.photos`).
"""

from __future__ import annotations

import contextlib
import errno
import os
import time
import uuid
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit
from urllib.request import url2pathname

from catalog.errors import (
    CatalogError,
    PhotoDamagedError,
    PhotoMissingError,
    PhotoStoreError,
)
from catalog.home import Home
from catalog.photos import DIGEST, UNFINISHED, KeptFiles, PhotoFiles, checked_digest, digest_of, sync_folder

__all__ = ["CACHE_BYTES", "StoredFiles", "files_of", "local_folder", "shown_address"]

CACHE_BYTES = 4_000_000_000
"""When the copies kept here take more than this, those not looked at longest go: the store has them."""
_TRIMMED = 0.8
_WEIGH_EVERY = 200
"""The cache is weighed after so many new copies, and before the first."""


def files_of(home: Home, name: str) -> KeptFiles:
    """Give the files of one kind ("photos", "views", "logs", "unloading") of a catalogue. Makes nothing."""
    if home.photos_url is None:
        return PhotoFiles(home.folder / name)
    folder = local_folder(home.photos_url)
    if folder is not None:
        return PhotoFiles(folder / name)
    return StoredFiles(home.photos_url, name, PhotoFiles(home.folder / "cache" / name))


def local_folder(url: str) -> Path | None:
    """Give the folder that an address names on this computer's own drives, None for any other address."""
    parts = urlsplit(url)
    if parts.scheme in ("file", "local"):
        return Path(url2pathname(parts.netloc + parts.path)).absolute()
    if "://" not in url and "::" not in url:
        return Path(url).expanduser().absolute()
    return None


def shown_address(url: str) -> str:
    """Give an address without what may be secret in it: user, password, options."""
    parts = urlsplit(url.rpartition("::")[2])
    return f"{parts.scheme}://{unquote(parts.netloc.rpartition('@')[2])}{parts.path}"


class StoredFiles:
    """Files named by digest in a store, ``FOLDER/ab/cdef...``, and copies of them in a folder here.

    Parameters
    ----------
    url : fsspec address of the store's root; the folder `name` lies in it
    name : what kind of files
    cache : where copies are kept
    """

    def __init__(self, url: str, name: str, cache: PhotoFiles) -> None:
        self.where = shown_address(url)
        self.cache = cache
        self._url = url
        self._name = name
        self._opened: tuple[Any, str] | None = None
        self._copied = 0

    def keep(self, data: bytes) -> str:
        """Keep `data` and give its digest. Bytes kept whole before are not written again.

        Raises
        ------
        PhotoStoreError : the store does not take it; nothing stands under the final name then.
        """
        sha256 = digest_of(data)
        with self._answering() as (store, root):
            place = _place(root, sha256)
            if self._digest_at(store, place) != sha256:
                self._put(store, root, place, data)
        self._copy(data)
        return sha256

    def keep_again(self, sha256: str, data: bytes) -> None:
        """Keep bytes whose file was there a moment ago and may have been put aside meanwhile."""
        if self.fault_of(sha256, read=False) is not None:
            self.keep(data)

    def read(self, sha256: str) -> bytes:
        """Give the bytes kept under a digest, from the cache where it has them whole.

        Raises
        ------
        PhotoMissingError, PhotoDamagedError, PhotoStoreError
        """
        try:
            data = self.cache.read(sha256)
        except (PhotoMissingError, PhotoDamagedError, OSError):
            data = self._fetch(sha256)
            self._copy(data)
        return data

    def fault_of(self, sha256: str, *, read: bool = True) -> str | None:
        """Tell what is wrong with the store's own file, whatever the cache holds; as `PhotoFiles`."""
        try:
            if read:
                self._fetch(sha256)
                return None
            with self._answering() as (store, root):
                return None if store.exists(_place(root, sha256)) else "missing"
        except PhotoMissingError:
            return "missing"
        except PhotoDamagedError:
            return "damaged"

    def digests(self) -> Iterator[str]:
        """Give the digest of every file in the store, by its name."""
        for place in self._listed():
            name = "".join(place.split("/")[-2:])
            if DIGEST.fullmatch(name):
                yield name

    def unfinished(self, *, older_than_s: float = 0.0) -> tuple[str, ...]:
        """Give the files that a writer stopped half-way left behind."""
        return tuple(
            place
            for place, made in self._listed().items()
            if place.endswith(UNFINISHED) and time.time() - made >= older_than_s
        )

    def remove(self, sha256: str) -> None:
        """Take a file away for good, its copy here too. One that is not there is no error."""
        with self._answering() as (store, root), contextlib.suppress(FileNotFoundError):
            store.rm_file(_place(root, sha256))
        self.cache.remove(sha256)

    def put_aside(self, name: str, place: Path) -> None:
        """Move a file out of the store to `place` here: one by its digest, or one of `unfinished`."""
        with self._answering() as (store, root):
            kept = _place(root, name) if DIGEST.fullmatch(name) else name
            if not kept.startswith(f"{root}/") or not store.exists(kept):
                return
            data = store.cat_file(kept)
        place.parent.mkdir(parents=True, exist_ok=True)
        with place.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        sync_folder(place.parent)
        with self._answering() as (store, _):
            store.rm_file(kept)

    # --- the store's side

    def _open(self) -> tuple[Any, str]:
        if self._opened is None:
            from fsspec.core import url_to_fs

            # A listing kept in memory would not know what another computer has filed since.
            options: dict[str, Any] = {"use_listings_cache": False}
            if self._url.startswith(("s3://", "s3a://")):
                # s3fs tries again by itself; its library doing so too makes a store that is away take 10 s.
                options["config_kwargs"] = {"retries": {"max_attempts": 1}}
            store, root = url_to_fs(self._url, **options)
            self._opened = store, f"{str(root).rstrip('/')}/{self._name}"
        return self._opened

    @contextlib.contextmanager
    def _answering(self) -> Iterator[tuple[Any, str]]:
        """Give the store and its folder; whatever it complains of becomes `PhotoStoreError`.

        What the store's library says is not passed on: it may hold keys or signed addresses.
        """
        try:
            yield self._open()
        except CatalogError:
            raise
        except Exception as error:
            raise PhotoStoreError(self.where, _reason(error)) from None

    def _put(self, store: Any, root: str, place: str, data: bytes) -> None:
        passing = f"{place}-{uuid.uuid4().hex[:8]}{UNFINISHED}"
        try:
            try:
                store.pipe_file(passing, data)
            except FileNotFoundError:
                if not store.exists(root.rpartition("/")[0]):
                    raise
                store.makedirs(place.rpartition("/")[0], exist_ok=True)
                store.pipe_file(passing, data)
            if self._digest_at(store, passing) != digest_of(data):
                raise PhotoStoreError(self.where, "what was written does not read back the same")
            store.mv(passing, place)
        except BaseException:
            with contextlib.suppress(Exception):
                store.rm_file(passing)
            raise
        if store.info(place)["size"] != len(data):
            raise PhotoStoreError(self.where, "what was written does not read back the same")

    def _digest_at(self, store: Any, place: str) -> str | None:
        try:
            return digest_of(store.cat_file(place))
        except FileNotFoundError:
            return None

    def _fetch(self, sha256: str) -> bytes:
        with self._answering() as (store, root):
            place = _place(root, sha256)
            try:
                data: bytes = store.cat_file(place)
            except FileNotFoundError:
                raise PhotoMissingError(sha256) from None
        if digest_of(data) != sha256:
            raise PhotoDamagedError(sha256, Path(place))
        return data

    def _listed(self) -> dict[str, float]:
        """Give the files there are, each with the moment it was written (0 where the store does not say)."""
        with self._answering() as (store, root):
            try:
                found = store.find(root, detail=True)
            except FileNotFoundError:
                return {}
            return {place: _moment(told) for place, told in sorted(found.items())}

    # --- the cache's side

    def _copy(self, data: bytes) -> None:
        """Keep a copy here; where there is no room for it, the store is asked again next time."""
        with contextlib.suppress(CatalogError, OSError):
            if self._copied % _WEIGH_EVERY == 0:
                self._trim()
            self._copied += 1
            self.cache.keep(data)

    def _trim(self) -> None:
        files = [(path, path.stat()) for path in self.cache.folder.glob("??/*")]
        weight = sum(stat.st_size for _, stat in files)
        if weight <= CACHE_BYTES:
            return
        for path, stat in sorted(files, key=lambda each: max(each[1].st_atime, each[1].st_mtime)):
            path.unlink(missing_ok=True)
            weight -= stat.st_size
            if weight <= CACHE_BYTES * _TRIMMED:
                return


def _place(root: str, sha256: str) -> str:
    checked_digest(sha256)
    return f"{root}/{sha256[:2]}/{sha256[2:]}"


_MOMENTS = ("mtime", "LastModified", "updated", "last_modified", "created")
"""Where stores say when a file was written."""


def _moment(told: dict[str, Any]) -> float:
    for name in _MOMENTS:
        moment = told.get(name)
        if isinstance(moment, datetime):
            return (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).timestamp()
        if isinstance(moment, int | float):
            return float(moment)
    return 0.0


def _reason(error: Exception) -> str:
    """Say in our own words why a store did not do what was asked."""
    if isinstance(error, ImportError):
        return f"the library for this kind of store is not installed ({error.name or 'see its name'})"
    if isinstance(error, PermissionError) or "Credential" in type(error).__name__:
        return "it does not let this program in"
    if isinstance(error, FileNotFoundError):
        return "there is no such place in it"
    if isinstance(error, OSError) and error.errno in (errno.ENOSPC, errno.EDQUOT):
        return "it is full"
    if isinstance(error, ValueError) and "Protocol not known" in str(error):
        return "this kind of address is not known"
    return f"it does not answer ({type(error).__name__})"
