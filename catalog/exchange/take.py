"""Take a package into a catalogue: first only looked at, then all of it or nothing."""

from __future__ import annotations

import io
import warnings
from collections.abc import Callable
from pathlib import Path

from PIL import Image

from catalog.exchange.errors import PackageError
from catalog.exchange.merge import merge
from catalog.exchange.merge_report import MergeReport
from catalog.exchange.opened import OpenPackage, open_package
from catalog.photos import KeptFiles
from catalog.store import Catalog
from vision.errors import VisionError
from vision.photo_kind import file_kind

__all__ = ["look_at_package", "take_package"]

_VIEW_LIMIT_PX = 100_000_000


def look_at_package(
    catalog: Catalog, path: Path, progress: Callable[[int, int], None] | None = None
) -> MergeReport:
    """Say what a package would bring. Every file it would bring is read through; nothing is kept.

    Raises
    ------
    PackageError, NewerPackageError : see `catalog.exchange.opened`.
    """
    with open_package(path) as package:
        report = _trial(catalog, package)
        _read_through(package, report, progress)
        return report


def take_package(
    catalog: Catalog, path: Path, progress: Callable[[int, int], None] | None = None
) -> MergeReport:
    """Bring a package in. Files are kept first, then all rows in one transaction: all of it or nothing.

    Raises
    ------
    PackageError, NewerPackageError, CatalogLockedError, CatalogFullError, ReadOnlyCatalogError
    """
    stores = {"photos": catalog.photos, "views": catalog.views, "logs": catalog.workshop.logs}
    with open_package(path) as package:
        _read_through(package, _trial(catalog, package), progress, stores)
        with catalog.database.writing() as session:
            report = merge(session, package)
            for folder, names in report.files.items():
                for sha256 in names:
                    if stores[folder].fault_of(sha256, read=False) is not None:
                        stores[folder].keep(package.read(folder, sha256))
            return report


class _EnoughError(Exception):
    """Raised to roll a trial back."""


def _trial(catalog: Catalog, package: OpenPackage) -> MergeReport:
    """Merge and roll back: what is looked at is exactly what would be done."""
    report = MergeReport()
    try:
        with catalog.database.writing() as session:
            report = merge(session, package)
            raise _EnoughError
    except _EnoughError:
        return report


def _read_through(
    package: OpenPackage,
    report: MergeReport,
    progress: Callable[[int, int], None] | None,
    stores: dict[str, KeptFiles] | None = None,
) -> None:
    """Check each file that is wanted, and keep it where there are stores."""
    names = {row["sha256"]: str(row.get("name", "")) for row in package.tables.get("photo", ())}
    total = sum(len(wanted) for wanted in report.files.values())
    done = 0
    for folder, wanted in report.files.items():
        for sha256 in sorted(wanted):
            if progress is not None:
                progress(done, total)
            done += 1
            data = package.read(folder, sha256)
            _check(package, folder, sha256, data, names.get(sha256, ""))
            if stores is not None:
                stores[folder].keep(data)


def _check(package: OpenPackage, folder: str, sha256: str, data: bytes, name: str) -> None:
    """Refuse a photo or picture that is none, before a screen meets it."""
    place = f"{folder}/{sha256[:12]}"
    if not data:
        raise PackageError(package.where, place, "it is empty")
    if folder == "photos":
        try:
            file_kind(data, name)
        except VisionError as error:
            raise PackageError(package.where, place, "it is no photo") from error
    elif folder == "views":
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("error")
                with Image.open(io.BytesIO(data), formats=("JPEG", "PNG")) as image:
                    if image.width * image.height > _VIEW_LIMIT_PX:
                        raise PackageError(package.where, place, "the picture is too large")
                    image.load()
        except (OSError, ValueError, SyntaxError, Warning, Image.DecompressionBombError) as error:
            raise PackageError(package.where, place, "it is no picture") from error
