"""What can go wrong when a photo is read: one class for each thing a caller can act on."""

from __future__ import annotations

__all__ = [
    "CardNotTaughtError",
    "MissingSystemLibraryError",
    "NetUnusableError",
    "NoSurfaceFoundError",
    "OutlineError",
    "PairMismatchError",
    "PhotoTooLargeError",
    "UnreadablePhotoError",
    "VisionError",
]


class VisionError(Exception):
    """Base of all errors raised by `vision`."""


class UnreadablePhotoError(VisionError):
    """The file is not a photo that can be decoded.

    Parameters
    ----------
    name : str
        File name as given.
    reason : str
        What was found, in words a potter can read ("cut off after 6 kB", "not an image").
    """

    def __init__(self, name: str, reason: str) -> None:
        super().__init__(f"{name}: {reason}")
        self.name = name
        self.reason = reason


class PhotoTooLargeError(UnreadablePhotoError):
    """The photo has more pixels than is safe to decode."""

    def __init__(self, name: str, megapixels: float, limit_megapixels: float) -> None:
        super().__init__(name, f"{megapixels:.0f} megapixels, more than the {limit_megapixels:.0f} accepted")
        self.megapixels = megapixels
        self.limit_megapixels = limit_megapixels


class NoSurfaceFoundError(VisionError):
    """No tile, ware or glaze could be told from the background where the caller demanded one."""


class CardNotTaughtError(VisionError):
    """A photo cannot teach a card its true colours.

    Parameters
    ----------
    reason : what is missing, in words a potter can read
    """

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason


class OutlineError(VisionError):
    """An outline drawn by a person encloses no part of the photo.

    Parameters
    ----------
    number : which outline, from 1
    reason : what is wrong with it, in words a potter can read
    """

    def __init__(self, number: int, reason: str) -> None:
        super().__init__(f"outline {number}: {reason}")
        self.number = number
        self.reason = reason


class PairMismatchError(VisionError):
    """Two photos that should show the same tiles, lit from two sides, do not match.

    Parameters
    ----------
    first, second : names of the photos
    reason : what was found, in words a potter can read
    """

    def __init__(self, first: str, second: str, reason: str) -> None:
        super().__init__(f"{first} and {second}: {reason}")
        self.first = first
        self.second = second
        self.reason = reason


class MissingSystemLibraryError(VisionError):
    """OpenCV could not load because the system lacks a shared library such as libGL."""


class NetUnusableError(VisionError):
    """A net that comes with the package cannot be asked: its file or ONNX Runtime is missing or damaged.

    Parameters
    ----------
    name : of the net's file
    reason : what was found
    """

    def __init__(self, name: str, reason: str) -> None:
        super().__init__(f"{name}: {reason}")
        self.name = name
        self.reason = reason
