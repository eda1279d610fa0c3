"""Photos into readings: which files are photos, reading one, its failure as advice instead of a traceback."""

from __future__ import annotations

import hashlib
import importlib
import logging
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from app.words import Advice, error_advice, missing_library_advice
from vision.errors import VisionError
from vision.reading import Calibration, CalibrationKind, PhotoReading, Subject

if TYPE_CHECKING:
    from vision.pipeline import PhotoRead
    from vision.taught_card import TaughtCard

__all__ = [
    "PHOTO_ENDINGS",
    "Outline",
    "ReadItem",
    "digest_of_file",
    "failed_reading",
    "find_photos",
    "missing_library",
    "read_bytes",
    "read_item",
    "read_path",
    "view_files",
]

Outline = tuple[tuple[float, float], ...]

_log = logging.getLogger("glostbook")

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


def missing_library() -> Advice | None:
    """Give advice where OpenCV cannot load for want of a system library, None where it can."""
    try:
        importlib.import_module("cv2")
    except ImportError as error:
        if "cannot open shared object file" not in str(error):
            raise
        return missing_library_advice(str(error))
    return None


def failed_reading(name: str, reason: str, sha256: str | None = None) -> PhotoReading:
    """Give the reading of a photo that could not be read: its `error` says why, the rest is empty."""
    return PhotoReading(name, sha256, Calibration(CalibrationKind.NONE), (), error=reason)


def digest_of_file(path: Path) -> str | None:
    """Give a file's SHA-256, None where it cannot be opened."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return None


def read_bytes(
    data: bytes, name: str, subject: str | None = None, taught: Sequence[TaughtCard] = ()
) -> PhotoRead:
    """Read one photo from its bytes. Raises the errors of `vision`."""
    from vision.photo import decode_photo
    from vision.pipeline import read_photo

    return read_photo(decode_photo(data, name), subject=_subject(subject), taught=taught)


def read_path(
    path: Path,
    subject: str | None = None,
    outlines: Sequence[Outline] = (),
    taught: Sequence[TaughtCard] = (),
    pair: Path | None = None,
    stripes: Sequence[Outline] = (),
    thickness_mm: float | None = None,
) -> PhotoRead | Advice:
    """Read one photo file; what fails comes back as advice, so that the next photo can follow.

    Parameters
    ----------
    path : the file
    subject : "tile", "ware" or "patch" where a person says so
    outlines : pieces as a person outlined them, corners in photo pixels
    taught : the studio's cards whose true colours are known
    pair : a second photo of the same pieces, the lamp on the other side
    stripes : dark stripes under the glaze as a person marked them, corners in photo pixels
    thickness_mm : of the tiles, where a person gave it
    """
    name = path.name
    try:
        from vision.photo import load_photo
        from vision.pipeline import read_photo
        from vision.two_lamps import read_pair

        photo = load_photo(path)
        drawn: dict[str, Any] = {"outlines": outlines, "stripes": stripes, "thickness_mm": thickness_mm}
        if pair is None:
            return read_photo(photo, subject=_subject(subject), taught=taught, **drawn)
        name = pair.name
        second = load_photo(pair)
        name = path.name
        return read_pair(photo, second, subject=_subject(subject), taught=taught, **drawn)
    except ImportError:
        raise
    except Exception as error:
        return _why_not(name, error)


def read_item(
    data: bytes,
    name: str,
    subject: str | None = None,
    taught: Sequence[TaughtCard] = (),
    outlines: Sequence[Outline] = (),
    beside: tuple[bytes, str] | None = None,
    stripes: Sequence[Outline] = (),
    thickness_mm: float | None = None,
) -> ReadItem:
    """Read one photo for the screen, with its pictures; a photo that fails carries its advice instead.

    Parameters
    ----------
    data : the file's bytes
    name : its name, for messages
    subject : "tile", "ware" or "patch" where a person says so
    taught : the studio's cards whose true colours are known
    outlines : pieces as a person outlined them, corners in photo pixels; they alone are read then
    beside : bytes and name of a second photo of the same pieces, the lamp on the other side
    stripes : dark stripes under the glaze as a person marked them, corners in photo pixels
    thickness_mm : of the tiles, where a person gave it
    """
    digest = hashlib.sha256(data).hexdigest()
    try:
        from app.widgets.pictures import outlined_photo
        from vision.photo import decode_photo
        from vision.pipeline import read_photo
        from vision.two_lamps import read_pair

        photo = decode_photo(data, name)
        asked: dict[str, Any] = {
            "subject": _subject(subject),
            "taught": taught,
            "outlines": outlines,
            "stripes": stripes,
            "thickness_mm": thickness_mm,
        }
        if beside is None:
            read = read_photo(photo, **asked)
        else:
            read = read_pair(photo, decode_photo(*beside), **asked)
        preview = outlined_photo(photo.pixels, read.reading.tiles)
    except ImportError:
        raise
    except Exception as error:
        advice = _why_not(name, error)
        return ReadItem(name, digest, data, failed_reading(name, advice.sentence, digest), advice)
    return ReadItem(name, digest, data, read.reading, None, preview, view_files(read))


def _subject(named: str | None) -> Subject | None:
    return None if named is None else Subject(named)


def _why_not(name: str, error: Exception) -> Advice:
    """Say why a photo was not read. A fault of the program is logged whole and does not stop the others."""
    if isinstance(error, VisionError | OSError) and _names_the_photo(name, error):
        return error_advice(error)
    _log.error("a fault in this program stopped the reading of %s", name, exc_info=error)
    return Advice(
        f"A fault in this program stopped the reading of {name}.",
        "Nothing is wrong with what was filed before; report it with this photo, and go on with the others.",
    )


def _names_the_photo(name: str, error: Exception) -> bool:
    """Tell an operating-system error about the photo from one about a file of the program's own."""
    return isinstance(error, VisionError) or Path(str(getattr(error, "filename", "") or "")).name == name


def view_files(read: PhotoRead) -> dict[int, bytes]:
    """Give the straightened pieces of a reading as JPEG files, by tile index."""
    from PIL import Image

    from app.widgets.pictures import jpeg_bytes

    return {
        index: jpeg_bytes(Image.fromarray(view.image), quality=92) for index, view in enumerate(read.views)
    }
