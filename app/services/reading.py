"""Photos into readings: which files are photos, reading one, its failure as advice instead of a traceback."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from app.words import Advice, error_advice
from vision.errors import VisionError
from vision.reading import Calibration, CalibrationKind, PhotoReading, Subject

if TYPE_CHECKING:
    from vision.pipeline import PhotoRead

__all__ = [
    "PHOTO_ENDINGS",
    "ReadItem",
    "failed_reading",
    "find_photos",
    "read_bytes",
    "read_item",
    "view_files",
]

PHOTO_ENDINGS = (
    "jpg",
    "jpeg",
    "png",
    "tif",
    "tiff",
    "webp",
    "heic",
    "heif",
    "avif",
    "mpo",
    "dng",
    "cr2",
    "cr3",
    "nef",
    "arw",
    "raf",
    "rw2",
    "orf",
    "pef",
)
"""File endings looked for in a folder. A file named outright is tried whatever its ending."""


@dataclass(slots=True)
class ReadItem:
    """One photo as read for the screen.

    Attributes
    ----------
    name, sha256, data : the file
    reading : what it says, or why it says nothing
    advice : the sentence and next step where it failed, else None
    preview : JPEG of the photo with outlines drawn and numbered; None where it failed
    views : JPEG of each straightened piece, by tile index
    trouble : why it could not be filed, once that was tried
    """

    name: str
    sha256: str
    data: bytes
    reading: PhotoReading
    advice: Advice | None = None
    preview: bytes | None = None
    views: dict[int, bytes] | None = None
    trouble: Advice | None = None


def find_photos(names: Iterable[str]) -> tuple[list[Path], list[tuple[str, Advice]]]:
    """List the photos that names and folders stand for.

    Parameters
    ----------
    names : files and folders; a folder gives its photos, in order of name, not those of folders inside it

    Returns
    -------
    the photos, each once, and what could not be found with its advice
    """
    found: dict[Path, None] = {}
    failed: list[tuple[str, Advice]] = []
    for name in names:
        path = Path(name)
        if path.is_dir():
            inside = sorted(p for p in path.iterdir() if p.suffix.lower().lstrip(".") in PHOTO_ENDINGS)
            if not inside:
                failed.append((name, Advice(f"{name} holds no photos.", "Name a folder that does.")))
            found.update(dict.fromkeys(inside))
        elif path.exists():
            found[path] = None
        else:
            failed.append((name, Advice(f"{name} is not there.", "Check the name and the folder.")))
    return list(found), failed


def failed_reading(name: str, reason: str, data: bytes | None = None) -> PhotoReading:
    """Give the reading of a photo that could not be read: its `error` says why, the rest is empty."""
    digest = None if data is None else hashlib.sha256(data).hexdigest()
    return PhotoReading(name, digest, Calibration(CalibrationKind.NONE), (), error=reason)


def read_bytes(data: bytes, name: str, subject: str | None = None) -> PhotoRead:
    """Read one photo from its bytes. Raises the errors of `vision`."""
    from vision.photo import decode_photo
    from vision.pipeline import read_photo

    return read_photo(decode_photo(data, name), subject=None if subject is None else Subject(subject))


def read_item(data: bytes, name: str, subject: str | None = None) -> ReadItem:
    """Read one photo for the screen, with its pictures; a photo that fails carries its advice instead.

    Parameters
    ----------
    data : the file's bytes
    name : its name, for messages
    subject : "tile", "ware" or "patch" where a person says so
    """
    digest = hashlib.sha256(data).hexdigest()
    try:
        from app.widgets.pictures import outlined_photo
        from vision.photo import decode_photo
        from vision.pipeline import read_photo

        photo = decode_photo(data, name)
        read = read_photo(photo, subject=None if subject is None else Subject(subject))
        preview = outlined_photo(photo.pixels, read.reading.tiles)
    except VisionError as error:
        advice = error_advice(error)
        return ReadItem(name, digest, data, failed_reading(name, advice.sentence, data), advice)
    return ReadItem(name, digest, data, read.reading, None, preview, view_files(read))


def view_files(read: PhotoRead) -> dict[int, bytes]:
    """Give the straightened pieces of a reading as JPEG files, by tile index."""
    from PIL import Image

    from app.widgets.pictures import jpeg_bytes

    return {
        index: jpeg_bytes(Image.fromarray(view.image), quality=92) for index, view in enumerate(read.views)
    }
