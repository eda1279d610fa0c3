"""Open a package without trusting it: every name, size, digest and cell is checked before anything is kept.

Only zip files are read, and nothing in them is ever written to a disk by the name it has there: files are
kept under their digest. So no name, link or device in a package can lead anywhere.
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
import re
import stat
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from catalog.exchange.cells import from_cell
from catalog.exchange.errors import NewerPackageError, PackageError
from catalog.exchange.shapes import FILE_FOLDERS, Shape, shapes
from catalog.migrate import HEAD, KNOWN

__all__ = ["FileEntry", "OpenPackage", "open_package"]

_FILE = re.compile(r"(photos|views|logs)/([0-9a-f]{64})(\.[a-z0-9]{1,5})?")
_OTHER = re.compile(r"datapackage\.json|README\.md|data/[a-z_]{1,40}\.csv|schemas/[a-z_]{1,40}\.json")
_MANY_ENTRIES = 500_000
_TEXT_LIMIT_BYTES = 256 * 2**20
"""Largest table or description, bytes: a hundred thousand pieces with 2 kB of reading each."""
_FILE_LIMIT_BYTES = 256 * 2**20
"""Largest photo, bytes: camera raw files reach about 100 MB."""
_RATIO_LIMIT = 200
"""Deflate cannot get past about 1030 to 1; text of a table comes to 20 at most, a bomb to hundreds."""
_SMALL_BYTES = 2**20
_CELL_LIMIT = 32 * 2**20


@dataclass(frozen=True, slots=True)
class FileEntry:
    """A kept file in the package: where, and how large it says it is."""

    path: str
    size_bytes: int


@dataclass(frozen=True, slots=True)
class OpenPackage:
    """A package whose tables have been read.

    Attributes
    ----------
    tables : rows by table and field; a field or table that an older format lacked is not there
    files : by folder ("photos", "views", "logs") and digest
    lost : files that the package itself says it lacks, as "photos/DIGEST"
    """

    where: str
    catalogue_format: str
    originals: bool
    tables: Mapping[str, tuple[Mapping[str, Any], ...]]
    files: Mapping[str, Mapping[str, FileEntry]]
    lost: frozenset[str]
    archive: zipfile.ZipFile

    def read(self, folder: str, sha256: str) -> bytes:
        """Give a file's bytes, their digest checked.

        Raises
        ------
        PackageError : not there, cut off, or not the bytes that its name says.
        """
        entry = self.files[folder].get(sha256)
        if entry is None:
            raise PackageError(self.where, f"{folder}/{sha256}", "it is not in the package")
        data = _bytes(self.archive, self.where, entry.path, entry.size_bytes)
        if hashlib.sha256(data).hexdigest() != sha256:
            raise PackageError(self.where, entry.path, "its bytes are not those its name says")
        return data


@contextmanager
def open_package(path: Path) -> Iterator[OpenPackage]:
    """Open a package and read its tables.

    Raises
    ------
    PackageError : not a package, damaged, incomplete, or made to do harm.
    NewerPackageError : a later version of this program wrote it.
    FileNotFoundError, PermissionError
    """
    where = path.name
    try:
        archive = zipfile.ZipFile(path)
    except (zipfile.BadZipFile, ValueError, NotImplementedError, EOFError) as error:
        raise PackageError(where, "", "it is no zip file, or cut off") from error
    except IsADirectoryError as error:
        raise PackageError(where, "", "it is a folder; the zip file itself is wanted") from error
    with archive:
        yield _read(archive, where)


def _read(archive: zipfile.ZipFile, where: str) -> OpenPackage:
    entries = _checked_entries(archive, where)
    about = _json_of(archive, where, "datapackage.json", entries)
    told = about.get("glostbook")
    if not isinstance(told, dict) or not isinstance(about.get("resources"), list):
        raise PackageError(where, "datapackage.json", "it is not the description of a catalogue")
    found = str(told.get("catalogue_format", ""))
    if found not in KNOWN:
        if re.fullmatch(r"\d{4}", found) and found > HEAD:
            raise NewerPackageError(where, found, HEAD)
        raise PackageError(where, "datapackage.json", f"catalogue format {found[:20]!r} is not known")
    hashes = _hashes(about["resources"], where)
    files: dict[str, dict[str, FileEntry]] = {folder: {} for folder in FILE_FOLDERS}
    for name, entry in entries.items():
        if match := _FILE.fullmatch(name):
            if match[2] in files[match[1]]:
                raise PackageError(where, name, "it is there twice")
            files[match[1]][match[2]] = FileEntry(name, entry.file_size)
    tables = {
        shape.name: _table(archive, where, shape, entries[f"data/{shape.name}.csv"], hashes)
        for shape in shapes()
        if f"data/{shape.name}.csv" in entries
    }
    lost = told.get("lost", [])
    return OpenPackage(
        where,
        found,
        told.get("originals") is True,
        tables,
        files,
        frozenset(str(name) for name in lost) if isinstance(lost, list) else frozenset(),
        archive,
    )


# --- names, sizes, links


def _checked_entries(archive: zipfile.ZipFile, where: str) -> dict[str, zipfile.ZipInfo]:
    entries: dict[str, zipfile.ZipInfo] = {}
    infos = archive.infolist()
    if len(infos) > _MANY_ENTRIES:
        raise PackageError(where, "", f"it holds {len(infos)} files, more than {_MANY_ENTRIES}")
    for entry in infos:
        name = entry.orig_filename
        short = name[:80]
        if not (_FILE.fullmatch(name) or _OTHER.fullmatch(name)):
            raise PackageError(where, short, "no file of a package is called so")
        if name in entries:
            raise PackageError(where, short, "it is there twice")
        kind = stat.S_IFMT(entry.external_attr >> 16)
        if kind not in (0, stat.S_IFREG):
            raise PackageError(where, short, "it is a link or no plain file")
        if entry.flag_bits & 0x1:
            raise PackageError(where, short, "it is locked with a password")
        limit = _FILE_LIMIT_BYTES if _FILE.fullmatch(name) else _TEXT_LIMIT_BYTES
        if entry.file_size > limit:
            raise PackageError(where, short, f"it is {entry.file_size / 1e6:.0f} MB large")
        if entry.file_size > _SMALL_BYTES and entry.file_size > _RATIO_LIMIT * max(entry.compress_size, 1):
            raise PackageError(where, short, "it swells far beyond its packed size")
        entries[name] = entry
    _refuse_overlap(archive, where, entries)
    return entries


def _refuse_overlap(archive: zipfile.ZipFile, where: str, entries: Mapping[str, zipfile.ZipInfo]) -> None:
    """Refuse files that share packed bytes: the trick of bombs whose every file is small (Fifield 2019)."""
    end = 0
    for entry in sorted(entries.values(), key=lambda each: each.header_offset):
        if entry.header_offset < end:
            raise PackageError(where, entry.filename[:80], "it shares its bytes with another file")
        end = entry.header_offset + entry.compress_size
    if end > archive.start_dir:
        raise PackageError(where, "", "its list of files is damaged")


def _bytes(archive: zipfile.ZipFile, where: str, name: str, size: int) -> bytes:
    try:
        with archive.open(name) as file:
            data = file.read(size + 1)
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, NotImplementedError, RuntimeError) as error:
        raise PackageError(where, name[:80], "it is damaged or cut off") from error
    if len(data) != size:
        raise PackageError(where, name[:80], "it is not as large as the package says")
    return data


# --- descriptions and tables


def _json_of(
    archive: zipfile.ZipFile, where: str, name: str, entries: Mapping[str, zipfile.ZipInfo]
) -> dict[str, Any]:
    if name not in entries:
        raise PackageError(where, "", f"there is no {name} in it, so it is no package of a catalogue")
    try:
        found = json.loads(_bytes(archive, where, name, entries[name].file_size))
    except (ValueError, RecursionError) as error:
        raise PackageError(where, name, "it is no JSON") from error
    if not isinstance(found, dict):
        raise PackageError(where, name, "a JSON object is wanted")
    return found


def _hashes(resources: list[Any], where: str) -> dict[str, str]:
    """Give the SHA-256 of each file by its path, as the description says."""
    found: dict[str, str] = {}
    for resource in resources:
        if not isinstance(resource, dict) or not isinstance(resource.get("path"), str):
            raise PackageError(where, "datapackage.json", "a resource without a path")
        found[resource["path"]] = str(resource.get("hash", "")).removeprefix("sha256:")
    return found


def _table(
    archive: zipfile.ZipFile,
    where: str,
    shape: Shape,
    entry: zipfile.ZipInfo,
    hashes: Mapping[str, str],
) -> tuple[Mapping[str, Any], ...]:
    name = entry.filename
    data = _bytes(archive, where, name, entry.file_size)
    if hashlib.sha256(data).hexdigest() != hashes.get(name):
        raise PackageError(where, name, "it is not the table that datapackage.json describes")
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise PackageError(where, name, "it is not UTF-8") from error
    csv.field_size_limit(_CELL_LIMIT)
    known = {field.name: field for field in shape.fields}
    rows: list[Mapping[str, Any]] = []
    try:
        reader = csv.reader(io.StringIO(text, newline=""), strict=True)
        header = next(reader, [])
        if unknown := [column for column in header if column not in known]:
            raise PackageError(where, name, f"column {unknown[0][:40]!r} is not known")
        if len(set(header)) != len(header) or not set(shape.key) <= set(header):
            raise PackageError(where, name, f"its columns must hold {', '.join(shape.key)}, each once")
        for number, cells in enumerate(reader, start=2):
            if len(cells) != len(header):
                raise PackageError(
                    where, f"{name} row {number}", f"{len(cells)} cells under {len(header)} columns"
                )
            row = {}
            for column, cell in zip(header, cells, strict=True):
                row[column] = _value(where, f"{name} row {number}", column, cell, known[column])
            rows.append(row)
    except csv.Error as error:
        raise PackageError(where, name, f"it is no CSV ({error})") from error
    return tuple(rows)


_UID, _SHA = re.compile(r"[0-9a-f]{32}"), re.compile(r"[0-9a-f]{64}")


def _value(where: str, place: str, column: str, cell: str, field: Any) -> Any:
    try:
        value = from_cell(cell, field.kind)
    except ValueError as error:
        raise PackageError(where, place, f"{column}: {error}") from error
    if value == "" and field.nullable:
        value = None
    if value is None and not field.nullable:
        raise PackageError(where, place, f"{column}: something is wanted, nothing given")
    if isinstance(value, str):
        wanted = _UID if column.endswith("uid") else _SHA if column.endswith("sha256") else None
        if wanted is not None and not wanted.fullmatch(value):
            raise PackageError(where, place, f"{column}: {value[:40]!r} is no name of a row or file")
        if "\x00" in value:
            raise PackageError(where, place, f"{column}: it holds a zero byte")
    return value
