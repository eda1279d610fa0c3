"""The sample studio: where its photos are, and filling a catalogue by reading them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from app.services.reading import read_bytes, view_files
from catalog.demo import SCENARIO, DemoReport, fill_demo
from catalog.store import Catalog
from vision.reading import PhotoReading

__all__ = ["demo_folder", "fill_sample_studio", "set_aside"]


def demo_folder(named: str | None = None) -> Path | None:
    """Give the folder of the sample photos: the one named, or that of this checkout; None if it has none."""
    folder = Path(__file__).resolve().parents[2] / "sample_images" if named is None else Path(named)
    return folder if named is not None or (folder / SCENARIO).is_file() else None


def fill_sample_studio(
    catalog: Catalog, folder: Path, progress: Callable[[int, int, str], None] | None = None
) -> DemoReport:
    """Fill a fresh catalogue by reading each sample photo.

    Raises
    ------
    ScenarioError, NotFreshError : as `catalog.demo.fill_demo`
    """
    return fill_demo(catalog, folder, _read, progress=progress)


def _read(data: bytes, name: str, subject: str | None) -> tuple[PhotoReading, Mapping[int, bytes]]:
    read = read_bytes(data, name, subject)
    return read.reading, view_files(read)


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
