"""The sample studio: where its photos are, and filling a catalogue by reading them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from app.services.reading import read_bytes, view_files
from catalog.demo import SCENARIO, DemoReport, fill_demo
from catalog.store import Catalog
from vision.reading import PhotoReading

__all__ = ["demo_folder", "fill_sample_studio", "remove_sample_studio", "sample_pieces"]


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


def sample_pieces(catalog: Catalog) -> int:
    """Count the sample studio's pieces in a catalogue; 0 where the sample is not on this computer."""
    from catalog.demo_removal import holds_demo

    folder = demo_folder()
    return 0 if folder is None else holds_demo(catalog, folder)


def remove_sample_studio(catalog: Catalog) -> str:
    """Take the sample studio out and say what was done. Raises ScenarioError."""
    from catalog.demo_removal import remove_demo

    folder = demo_folder()
    if folder is None:
        return "The sample photos are not on this computer, so nothing was taken out."
    done = remove_demo(catalog, folder)
    words = f"{done.pieces} sample pieces and {done.photos} photos were taken out; your own are as they were."
    if done.kept:
        words += f" Kept, because pieces of yours use them: {', '.join(done.kept)}."
    return words
