"""Write a catalogue as an open package: one zip file, the same bytes for the same catalogue."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import os
import zipfile
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from catalog.database import translated
from catalog.errors import PhotoDamagedError, PhotoMissingError
from catalog.exchange.cells import to_cell
from catalog.exchange.describe import datapackage, readme, row_schema
from catalog.exchange.rows import package_rows, uid_maps
from catalog.exchange.shapes import PERSONAL, Shape, shapes
from catalog.migrate import HEAD
from catalog.photos import KeptFiles, digest_of, sync_folder
from catalog.store import Catalog
from vision.errors import VisionError
from vision.photo_kind import file_kind
from vision.shareable import private_parts, shareable

__all__ = ["ExportReport", "export_package"]

_MOMENT = (1980, 1, 1, 0, 0, 0)
"""Date of every file in the package (the zip format's first): the same catalogue gives the same bytes."""

_NAMED_IN = {
    "photo": ("photos", "sha256"),
    "reading": ("views", "view_sha256"),
    "load_log": ("logs", "sha256"),
}
"""Where a table names files: the folder and the field."""

_TILE_SCHEMA = Path(__file__).with_name("tile.schema.json")


@dataclass(frozen=True, slots=True)
class ExportReport:
    """What a package holds.

    Attributes
    ----------
    pieces, photos : how many
    size_bytes : of the package
    private : photos by what their originals carry: "place", "serial", "name", "maker"; in the package with
        `originals`, left out without
    holders : how many pieces' holders are named in the catalogue; the same holds for them
    lost : files named by records that are not in the catalogue's folder, or damaged ("photos/DIGEST")
    held_back : files left out because they are no photos of which it can be told what they carry
    """

    place: Path
    originals: bool
    pieces: int
    photos: int
    size_bytes: int
    private: Mapping[str, int]
    holders: int
    lost: tuple[str, ...]
    held_back: tuple[str, ...]


def export_package(
    catalog: Catalog,
    place: Path,
    *,
    originals: bool = False,
    progress: Callable[[int, int], None] | None = None,
) -> ExportReport:
    """Write the package to `place`; it stands under that name only when it is whole.

    Parameters
    ----------
    place : the zip file, written anew if it is there
    originals : photos byte for byte with all a phone wrote into them, and who holds a piece; else copies
        without (`vision.shareable`), and no holders
    progress : told (files done, files in all)

    Raises
    ------
    CatalogFullError, ReadOnlyCatalogError, DamagedCatalogError
    """
    place = place.expanduser().absolute()
    with catalog.database.reading() as session:
        uids = uid_maps(session)
        photos = _Files(catalog, originals, progress)
        for shape in shapes():
            photos.note(shape, package_rows(session, shape, uids))
        photos.name_all()
        holders = 0
        tables: list[tuple[Shape, bytes, int]] = []
        for shape in shapes():
            rows = list(package_rows(session, shape, uids, photos.renamed))
            holders += len(rows) if shape.name in PERSONAL else 0
            if shape.name not in PERSONAL or originals:
                rows = photos.sized(shape, rows)
                tables.append((shape, _csv(shape, rows), len(rows)))
    with translated(str(place)):
        place.parent.mkdir(parents=True, exist_ok=True)
        unfinished = place.with_name(f".{place.name}.part")
        try:
            with zipfile.ZipFile(unfinished, "w", zipfile.ZIP_STORED) as package:
                _write_all(package, tables, photos, originals)
            with unfinished.open("rb+") as file:
                os.fsync(file.fileno())
            unfinished.replace(place)
            sync_folder(place.parent)
        except BaseException:
            unfinished.unlink(missing_ok=True)
            raise
    return ExportReport(
        place,
        originals,
        next(count for shape, _, count in tables if shape.name == "piece"),
        len(photos.by_name["photos"]),
        place.stat().st_size,
        dict(sorted(photos.private.items())),
        holders,
        tuple(photos.lost),
        tuple(photos.held_back),
    )


class _Files:
    """The kept files that a package takes along, and under which digest each goes out."""

    def __init__(
        self, catalog: Catalog, originals: bool, progress: Callable[[int, int], None] | None
    ) -> None:
        self._stores: dict[str, KeptFiles] = {
            "photos": catalog.photos,
            "views": catalog.views,
            "logs": catalog.workshop.logs,
        }
        self._originals = originals
        self._progress = progress
        self._wanted: dict[str, set[str]] = {name: set() for name in self._stores}
        self.by_name: dict[str, dict[str, str]] = {name: {} for name in self._stores}
        self.sizes: dict[str, int] = {}
        self.renamed: dict[str, str] = {}
        self.private: dict[str, int] = {}
        self.lost: list[str] = []
        self.held_back: list[str] = []
        self._names: dict[str, str] = {}

    def note(self, shape: Shape, rows: Iterable[Mapping[str, Any]]) -> None:
        """Note which files a table's rows name."""
        if shape.name in _NAMED_IN:
            folder, field = _NAMED_IN[shape.name]
            for row in rows:
                if row[field] is not None:
                    self._wanted[folder].add(row[field])
                    self._names[row[field]] = str(row.get("name", "view.jpg"))

    def name_all(self) -> None:
        """Work out the digest under which each file goes out."""
        total = sum(len(names) for names in self._wanted.values())
        done = 0
        for folder, names in self._wanted.items():
            for sha256 in sorted(names):
                if self._progress is not None:
                    self._progress(done, total)
                done += 1
                data = self._whole(folder, sha256)
                if data is None:
                    self.lost.append(f"{folder}/{sha256}")
                    continue
                if folder == "photos":
                    for part in private_parts(data, self._names[sha256]):
                        self.private[part] = self.private.get(part, 0) + 1
                shared = self._outgoing(folder, sha256, data)
                if shared is None:
                    self.held_back.append(f"{folder}/{sha256}")
                    continue
                name = digest_of(shared)
                self.renamed[sha256] = name
                self.by_name[folder][name] = sha256
                self.sizes[name] = len(shared)

    def read(self, folder: str, name: str) -> tuple[str, bytes]:
        """Give path and bytes that go out under a digest. Raises PhotoMissingError, PhotoDamagedError."""
        sha256 = self.by_name[folder][name]
        data = self._outgoing(folder, sha256, self._stores[folder].read(sha256)) or b""
        return f"{folder}/{name}{_ending(folder, data)}", data

    def sized(self, shape: Shape, rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
        """Give photo rows the size that goes out, one for each digest; other tables as they are."""
        if shape.name != "photo":
            return rows
        once = {row["sha256"]: row for row in reversed(rows)}
        return [
            {**once[name], "size_bytes": self.sizes.get(name, once[name]["size_bytes"])}
            for name in sorted(once)
        ]

    def _whole(self, folder: str, sha256: str) -> bytes | None:
        try:
            return self._stores[folder].read(sha256)
        except (PhotoMissingError, PhotoDamagedError):
            return None

    def _outgoing(self, folder: str, sha256: str, data: bytes) -> bytes | None:
        """Give the bytes to hand on, None where nobody can tell what a file says beyond its picture."""
        if self._originals or folder == "logs":
            return data
        try:
            return shareable(data, self._names[sha256])
        except VisionError:
            return None


def _csv(shape: Shape, rows: Iterable[Mapping[str, Any]]) -> bytes:
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([field.name for field in shape.fields])
    for row in rows:
        writer.writerow([to_cell(row[field.name], field.kind) for field in shape.fields])
    return out.getvalue().encode()


def _write_all(
    package: zipfile.ZipFile, tables: list[tuple[Shape, bytes, int]], photos: _Files, originals: bool
) -> None:
    described: list[tuple[str, int, str]] = []

    def write(path: str, data: bytes) -> None:
        entry = zipfile.ZipInfo(path, _MOMENT)
        entry.create_system = 3
        entry.external_attr = 0o100644 << 16
        package.writestr(entry, data)

    def write_described(path: str, data: bytes) -> None:
        write(path, data)
        described.append((path, len(data), hashlib.sha256(data).hexdigest()))

    kept = [shape for shape, _, _ in tables]
    write_described("README.md", readme(kept, HEAD, originals=originals).encode())
    for shape in kept:
        write_described(f"schemas/{shape.name}.json", _json(row_schema(shape)))
    write_described("schemas/tile.json", _TILE_SCHEMA.read_bytes())
    for shape, data, _ in tables:
        write(f"data/{shape.name}.csv", data)
    for folder, names in photos.by_name.items():
        for name in sorted(names):
            write_described(*photos.read(folder, name))
    about = {
        "catalogue_format": HEAD,
        "originals": originals,
        "lost": sorted([*photos.lost, *photos.held_back]),
    }
    listed = [(shape, count, len(data), digest_of(data)) for shape, data, count in tables]
    write("datapackage.json", _json(datapackage(listed, described, about)))


_ENDINGS = {"jpeg": ".jpg", "png": ".png", "tiff": ".tif", "webp": ".webp", "heif": ".heic", "avif": ".avif"}


def _ending(folder: str, data: bytes) -> str:
    if folder == "logs":
        return ".txt"
    try:
        return _ENDINGS.get(file_kind(data, ""), "")
    except VisionError:
        return ""


def _json(value: object) -> bytes:
    return (json.dumps(value, indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()
