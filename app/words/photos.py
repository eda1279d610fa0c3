"""Each error of `vision` as a sentence and a next step."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from app.words.advice import Advice
from vision.errors import (
    CardNotTaughtError,
    MissingSystemLibraryError,
    NetUnusableError,
    NoSurfaceFoundError,
    OutlineError,
    PairMismatchError,
    PhotoTooLargeError,
    UnreadablePhotoError,
    VisionError,
)

__all__ = ["PHOTO_ERRORS", "missing_library_advice"]


def missing_library_advice(missing: str) -> Advice:
    """Say which system package is missing when OpenCV cannot load.

    Parameters
    ----------
    missing : the loader's own message, such as "libGL.so.1: cannot open shared object file"
    """
    library = missing.split(":", 1)[0].strip() or "a shared library"
    package = next(
        (name for start, name in _DEBIAN_PACKAGES if library.startswith(start)), "libgl1 libglib2.0-0"
    )
    return Advice(
        f"Photos cannot be read: this computer lacks {library}, which OpenCV needs.",
        f"On Debian or Ubuntu run: sudo apt-get install {package}",
    )


_DEBIAN_PACKAGES = (
    ("libGL", "libgl1"),
    ("libgthread", "libglib2.0-0"),
    ("libglib", "libglib2.0-0"),
    ("libxcb", "libxcb1"),
    ("libX11", "libx11-6"),
    ("libSM", "libsm6"),
    ("libXext", "libxext6"),
)


def _unreadable(error: Any) -> Advice:
    return Advice(
        f"{error.name} could not be read as a photo ({error.reason}).",
        "Give a JPEG, PNG, TIFF, WebP, HEIC or camera raw file; if it is one, copy it from the phone again.",
    )


def _too_large(error: Any) -> Advice:
    return Advice(
        f"{error.name} has {error.megapixels:.0f} megapixels; at most {error.limit_megapixels:.0f} are read.",
        "Save a smaller copy, about 12 megapixels, and try that.",
    )


def _no_surface(error: Any) -> Advice:
    return Advice(
        f"No glazed surface could be told from the background ({error}).",
        "Use a plain table unlike the tile in colour, or read the photo as a close-up.",
    )


def _outline(error: Any) -> Advice:
    return Advice(
        f"Outline {error.number} cannot be used: {error.reason}.",
        "Give its corners in order round the piece, as pixels from the photo's top left.",
    )


def _mismatch(error: Any) -> Advice:
    return Advice(
        f"{error.first} and {error.second} cannot be read together: {error.reason}.",
        "Leave tiles and phone where they are and move only the lamp, from the left to the right; "
        "or read each photo by itself.",
    )


def _not_taught(error: Any) -> Advice:
    return Advice(
        f"The card was not taught: {error.reason}.",
        "Lay card and chart flat side by side in even light, nothing on either, both whole in the photo.",
    )


def _net(error: Any) -> Advice:
    return Advice(
        f"A part of the program that looks at photos cannot be used ({error.name}: {error.reason}).",
        "Install Glostbook again, by the same command as at first: no photo and no record is touched.",
    )


def _missing_library(error: Any) -> Advice:
    return missing_library_advice(str(error))


PHOTO_ERRORS: dict[type[BaseException], Callable[[Any], Advice]] = {
    UnreadablePhotoError: _unreadable,
    PhotoTooLargeError: _too_large,
    NoSurfaceFoundError: _no_surface,
    OutlineError: _outline,
    PairMismatchError: _mismatch,
    CardNotTaughtError: _not_taught,
    MissingSystemLibraryError: _missing_library,
    NetUnusableError: _net,
    VisionError: lambda error: Advice(
        f"The photo could not be read: {error}.", "Try another photo of the same tile."
    ),
}
