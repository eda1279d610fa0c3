"""A file becomes a `Photo`: upright, 8-bit sRGB, whatever the phone or camera wrote.

The EXIF turn is applied exactly once, the embedded colour profile is honoured, and anything that is
not a photo is refused with a reason a potter can read.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np

from vision.errors import UnreadablePhotoError, VisionError
from vision.photo_formats import Decoded, decode_bytes
from vision.reading import Flag
from vision.settings import Settings
from vision.surface import ByteImage

__all__ = ["Photo", "decode_photo", "load_photo"]

_DEFAULT = Settings()


@dataclass(frozen=True, slots=True, eq=False)
class Photo:
    """One photo, ready to be read.

    Attributes
    ----------
    pixels : (rows, cols, 3) uint8, sRGB, R G B order, upright, read-only
    name : file name without its folder
    sha256 : hexadecimal digest of the file's bytes
    flags : what a reader of the numbers must know about the file itself
    taken_at : when the camera says the photo was taken, ISO 8601 ("2026-03-01T09:30:00"), or None
    focal_35mm : the lens's 35 mm equivalent focal length by EXIF, or None
    """

    pixels: ByteImage
    name: str
    sha256: str
    flags: tuple[Flag, ...]
    taken_at: str | None
    focal_35mm: float | None = None


def load_photo(path: str | Path, settings: Settings = _DEFAULT) -> Photo:
    """Read a photo from a file.

    Parameters
    ----------
    path : JPEG, PNG, TIFF (8 or 16 bit), WebP, AVIF, HEIC/HEIF, MPO or camera raw file
    settings : `settings.photo` holds the limits

    Raises
    ------
    UnreadablePhotoError : the file is not a photo that can be decoded.
    PhotoTooLargeError : more pixels than `settings.photo.limit_megapixels`, by the file's own header.
    OSError : the file is missing or may not be opened.
    """
    path = Path(path)
    size_mb = path.stat().st_size / 1e6
    limit_mb = settings.photo.limit_file_mb
    if path.is_file() and size_mb > limit_mb:
        raise UnreadablePhotoError(
            path.name, f"the file holds {size_mb:.0f} MB, more than the {limit_mb:.0f} MB accepted"
        )
    return decode_photo(path.read_bytes(), path.name, settings)


def decode_photo(data: bytes, name: str, settings: Settings = _DEFAULT) -> Photo:
    """Decode a photo from bytes.

    Parameters
    ----------
    data : the whole file
    name : what to call it in messages; its ending helps to tell camera raw from TIFF
    settings : `settings.photo` holds the limits

    Raises
    ------
    UnreadablePhotoError : the bytes are not a photo that can be decoded.
    PhotoTooLargeError : more pixels than `settings.photo.limit_megapixels`, by the file's own header.
    """
    try:
        decoded = decode_bytes(data, name, settings.photo)
        pixels, flags = _finish(decoded)
    except VisionError:
        raise
    except Exception as error:
        # Half a dozen decoders meet bytes of any kind here; each has its own errors, some of them
        # plain ValueError, KeyError or struct.error from deep inside a damaged header.
        raise UnreadablePhotoError(name, _plain(error, decoded_kind=data)) from error
    return Photo(
        pixels=pixels,
        name=name,
        sha256=hashlib.sha256(data).hexdigest(),
        flags=flags,
        taken_at=decoded.taken_at,
        focal_35mm=decoded.focal_35mm,
    )


def _plain(error: Exception, decoded_kind: bytes) -> str:
    """Say a decoder's complaint in plain words, with the complaint itself kept short."""
    if isinstance(error, MemoryError):
        return "it needs more memory than this computer has free"
    detail = " ".join(str(error).split())[:80]
    if "truncated" in detail.lower() or isinstance(error, EOFError):
        return f"the file is cut off or damaged after {len(decoded_kind) / 1000:.0f} kB"
    return f"the file is damaged or of a kind that cannot be decoded: {detail or type(error).__name__}"


_TURNS: dict[int, tuple[int | None, int | None]] = {
    1: (None, None),
    2: (None, 1),
    3: (cv2.ROTATE_180, None),
    4: (None, 0),
    5: (cv2.ROTATE_90_CLOCKWISE, 1),
    6: (cv2.ROTATE_90_CLOCKWISE, None),
    7: (cv2.ROTATE_90_COUNTERCLOCKWISE, 1),
    8: (cv2.ROTATE_90_COUNTERCLOCKWISE, None),
}
"""EXIF orientation (Exif 2.32, tag 0x0112) -> cv2 rotation, then cv2 flip."""


def _finish(decoded: Decoded) -> tuple[ByteImage, tuple[Flag, ...]]:
    """Turn the pixels upright, look for colour, lock the array."""
    pixels = decoded.pixels
    rotation, flip = _TURNS.get(decoded.turn, (None, None))
    if rotation is not None:
        pixels = np.asarray(cv2.rotate(pixels, rotation), dtype=np.uint8)
    if flip is not None:
        pixels = np.asarray(cv2.flip(pixels, flip), dtype=np.uint8)
    pixels = np.ascontiguousarray(pixels)
    flags = list(decoded.flags)
    if _is_grey(pixels):
        flags.append(Flag.GREY_PHOTO)
    pixels.setflags(write=False)
    return pixels, tuple(dict.fromkeys(flags))


def _is_grey(pixels: ByteImage) -> bool:
    """Tell whether the three channels are the same everywhere: no colour was ever recorded."""
    step = max(1, min(pixels.shape[:2]) // 64)
    sample = pixels[::step, ::step]
    if not bool((sample == sample[..., :1]).all()):
        return False
    return bool(
        np.array_equal(pixels[..., 0], pixels[..., 1]) and np.array_equal(pixels[..., 1], pixels[..., 2])
    )
