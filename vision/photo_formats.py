"""Bytes of any image format become 8-bit sRGB pixels, with the turn still to be made."""

from __future__ import annotations

import io
import re
import struct
import threading
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from vision.errors import PhotoTooLargeError, UnreadablePhotoError
from vision.photo_kind import file_kind
from vision.profile import (
    ADOBE_RGB,
    NCLX_PRIMARIES,
    ProfileError,
    lab_to_srgb,
    primaries_to_srgb,
    profile_to_srgb,
)
from vision.reading import Flag
from vision.settings import PhotoSettings
from vision.surface import ByteImage

__all__ = ["Decoded", "decode_bytes"]

_ORIENTATION, _TAKEN, _OFFSET, _EXIF, _INTEROP = 0x0112, 0x9003, 0x9011, 0x8769, 0xA005
_FOCAL_35MM = 0xA405
_BITS, _PHOTOMETRIC, _SAMPLE_FORMAT, _DNG_VERSION = 258, 262, 339, 50706
_CFA, _LINEAR_RAW = 32803, 34892
_warning_lock = threading.Lock()


@dataclass(frozen=True, slots=True, eq=False)
class Decoded:
    """Pixels as stored, sRGB; `turn` is the EXIF orientation that is still to be applied."""

    pixels: ByteImage
    turn: int = 1
    flags: tuple[Flag, ...] = ()
    taken_at: str | None = None
    focal_35mm: float | None = None


def decode_bytes(data: bytes, name: str, settings: PhotoSettings) -> Decoded:
    """Decode an image of any known format.

    Raises
    ------
    UnreadablePhotoError, PhotoTooLargeError : see `vision.photo.decode_photo`. Decoders may raise
    others on damaged bytes; the caller turns those into UnreadablePhotoError.
    """
    kind = file_kind(data, name)
    return _DECODERS[kind](data, name, settings)


def _check_size(name: str, width: int, height: int, settings: PhotoSettings) -> None:
    megapixels = width * height / 1e6
    if megapixels > settings.limit_megapixels:
        raise PhotoTooLargeError(name, megapixels, settings.limit_megapixels)
    if width < 1 or height < 1:
        raise UnreadablePhotoError(name, "the picture has no pixels")


# Pillow: headers of everything, pixels of most formats


@contextmanager
def _quiet() -> Iterator[None]:
    """Keep Pillow's warnings (large picture, damaged EXIF) from leaking: flags and errors say it instead."""
    with _warning_lock, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield


def _open(data: bytes, name: str, kind: str, settings: PhotoSettings) -> Image.Image:
    """Open by the header alone and refuse what is too large."""
    formats = {"jpeg": ("JPEG", "MPO"), "png": ("PNG",), "tiff": ("TIFF",), "webp": ("WEBP",)}
    try:
        image = Image.open(io.BytesIO(data), formats=formats.get(kind, (kind.upper(),)))
    except Image.DecompressionBombError as error:
        found = re.search(r"\((\d+) pixels\)", str(error))
        megapixels = int(found.group(1)) / 1e6 if found else float("inf")
        raise PhotoTooLargeError(name, megapixels, settings.limit_megapixels) from error
    except Image.UnidentifiedImageError as error:
        words = f"the {kind.upper()} file is damaged at its start or cut off after {len(data) / 1000:.0f} kB"
        raise UnreadablePhotoError(name, words) from error
    _check_size(name, image.size[0], image.size[1], settings)
    return image


@dataclass(frozen=True, slots=True)
class _Exif:
    turn: int = 1
    taken_at: str | None = None
    adobe_rgb: bool = False
    focal_35mm: float | None = None


def _exif(image: Image.Image) -> _Exif:
    """Read what matters from EXIF; damaged EXIF reads as none."""
    try:
        tags = image.getexif()
        turn = tags.get(_ORIENTATION, 1)
        inner = tags.get_ifd(_EXIF)
        interop = tags.get_ifd(_INTEROP).get(1, "")
    except Exception:  # a damaged EXIF block raises anything, and must not cost the photo
        return _Exif()
    return _Exif(
        turn=turn if isinstance(turn, int) and 1 <= turn <= 8 else 1,
        taken_at=_taken_at(inner.get(_TAKEN), inner.get(_OFFSET)),
        adobe_rgb=str(interop).startswith("R03"),
        focal_35mm=_focal(inner.get(_FOCAL_35MM)),
    )


def _focal(value: object) -> float | None:
    """Give the 35 mm equivalent focal length; EXIF writes 0 for unknown."""
    return float(value) if isinstance(value, int) and 8 <= value <= 1200 else None


def _taken_at(stamp: object, offset: object) -> str | None:
    """Write EXIF's "2026:03:01 09:30:00" as ISO 8601; None for blanks and nonsense."""
    found = re.fullmatch(r"(\d{4}):(\d\d):(\d\d) (\d\d:\d\d:\d\d)\x00*", str(stamp))
    if found is None or found.group(1) == "0000":
        return None
    zone = str(offset) if re.fullmatch(r"[+-]\d\d:\d\d", str(offset)) else ""
    return f"{found.group(1)}-{found.group(2)}-{found.group(3)}T{found.group(4)}{zone}"


def _over_white(image: Image.Image) -> Image.Image:
    """Give mode L, RGB, CMYK or LAB, transparent parts laid over white."""
    if image.mode in ("LA", "RGBA", "PA", "La", "RGBa") or "transparency" in image.info:
        layer = image.convert("RGBA")
        paper = Image.new("RGB", layer.size, (255, 255, 255))
        paper.paste(layer, mask=layer.getchannel("A"))
        return paper
    if image.mode in ("L", "RGB", "CMYK", "LAB"):
        return image
    if image.mode == "1":
        return image.convert("L")
    return image.convert("RGB")


def _to_srgb(image: Image.Image, exif: _Exif, profile: bytes | None) -> tuple[ByteImage, tuple[Flag, ...]]:
    """Honour the profile and give (rows, cols, 3) sRGB."""
    flags: tuple[Flag, ...] = ()
    if image.mode == "LAB":
        image, profile = lab_to_srgb(image), None
    if profile:
        try:
            image = profile_to_srgb(image, profile)
        except ProfileError:
            flags = (Flag.PROFILE_IGNORED,)
    pixels = np.array(image.convert("RGB"), dtype=np.uint8)
    if not profile and exif.adobe_rgb:
        pixels = primaries_to_srgb(pixels, ADOBE_RGB, gamma=563 / 256)
    return pixels, flags


def _decode_pillow(data: bytes, name: str, settings: PhotoSettings, kind: str) -> Decoded:
    with _quiet():
        image = _open(data, name, kind, settings)
        image.load()
        # read only now: Pillow turns TIFF while loading and drops the tag, and PNG may keep EXIF at its end
        exif, profile = _exif(image), image.info.get("icc_profile")
        if image.mode.startswith("I;16"):
            image = Image.fromarray(_eight_bits(np.asarray(image)))
        if image.mode in ("I", "F"):
            words = "its numbers are 32 bits wide and carry no brightness scale; save it with 8 or 16 bits"
            raise UnreadablePhotoError(name, words)
        pixels, flags = _to_srgb(_over_white(image), exif, profile)
    return Decoded(pixels, exif.turn, flags, exif.taken_at, exif.focal_35mm)


def _eight_bits(array: NDArray[Any]) -> NDArray[np.uint8]:
    """Scale 16-bit codes to 8-bit ones: 65535 is 255, rounded to the nearest."""
    return ((array.astype(np.uint32) * 255 + 32767) // 65535).astype(np.uint8)


def _decode_sixteen(data: bytes, name: str, settings: PhotoSettings, kind: str) -> Decoded:
    """Decode 16-bit colour, which Pillow would cut short, with OpenCV.

    OpenCV turns TIFF whatever its flags say (seen with 5.0), and PNG never with these.
    """
    with _quiet():
        image = _open(data, name, kind, settings)
        exif, profile = _exif(image), image.info.get("icc_profile")
    array = _cv2_decode(data, cv2.IMREAD_UNCHANGED | cv2.IMREAD_IGNORE_ORIENTATION)
    if array is None or array.dtype != np.uint16:
        return _decode_pillow(data, name, settings, kind)
    array = _eight_bits(array)
    if array.ndim == 2:
        small = Image.fromarray(array)
    elif array.shape[2] == 4:
        small = Image.fromarray(cv2.cvtColor(array, cv2.COLOR_BGRA2RGBA))
    else:
        small = Image.fromarray(cv2.cvtColor(array, cv2.COLOR_BGR2RGB))
    pixels, flags = _to_srgb(_over_white(small), exif, profile)
    return Decoded(pixels, 1 if kind == "tiff" else exif.turn, flags, exif.taken_at, exif.focal_35mm)


def _cv2_decode(data: bytes, how: int) -> NDArray[Any] | None:
    """Decode with OpenCV, its chatter on stderr silenced; None where it cannot."""
    level = cv2.utils.logging.getLogLevel()
    cv2.utils.logging.setLogLevel(cv2.utils.logging.LOG_LEVEL_SILENT)
    try:
        return cv2.imdecode(np.frombuffer(data, np.uint8), how)
    except cv2.error:
        return None
    finally:
        cv2.utils.logging.setLogLevel(level)


def _decode_png(data: bytes, name: str, settings: PhotoSettings) -> Decoded:
    sixteen_colour = len(data) > 26 and data[24] == 16 and data[25] in (2, 4, 6)
    return (_decode_sixteen if sixteen_colour else _decode_pillow)(data, name, settings, "png")


def _decode_tiff(data: bytes, name: str, settings: PhotoSettings) -> Decoded:
    """Decode TIFF; camera raw in disguise and 16-bit colour go their own ways."""
    with _quiet():
        tags: Any = _open(data, name, "tiff", settings).tag_v2
        photometric, is_dng = tags.get(_PHOTOMETRIC), _DNG_VERSION in tags
        bits, shape = np.ravel(tags.get(_BITS, (1,))), np.ravel(tags.get(_SAMPLE_FORMAT, (1,)))
    if is_dng or photometric in (_CFA, _LINEAR_RAW):
        return _decode_raw(data, name, settings)
    if bits.max() == 16 and len(bits) > 1 and set(shape) == {1}:
        if photometric not in (1, 2):
            raise UnreadablePhotoError(name, "a 16-bit TIFF that is neither grey nor RGB; save it as RGB")
        return _decode_sixteen(data, name, settings, "tiff")
    return _decode_pillow(data, name, settings, "tiff")


def _decode_webp(data: bytes, name: str, settings: PhotoSettings) -> Decoded:
    chunk, head = data[12:16], data[20:30]
    if len(head) == 10:
        if chunk == b"VP8X":
            _check_size(
                name,
                int.from_bytes(head[4:7], "little") + 1,
                int.from_bytes(head[7:10], "little") + 1,
                settings,
            )
        elif chunk == b"VP8 ":
            width, height = struct.unpack("<HH", head[6:10])
            _check_size(name, width & 0x3FFF, height & 0x3FFF, settings)
        elif chunk == b"VP8L":
            packed = int.from_bytes(head[1:5], "little")
            _check_size(name, (packed & 0x3FFF) + 1, (packed >> 14 & 0x3FFF) + 1, settings)
    return _decode_pillow(data, name, settings, "webp")


# JPEG: OpenCV is the fastest decoder at hand, Pillow reads the header


def _decode_jpeg(data: bytes, name: str, settings: PhotoSettings) -> Decoded:
    with _quiet():
        image = _open(data, name, "jpeg", settings)
        exif, profile = _exif(image), image.info.get("icc_profile")
        mode, progressive = image.mode, "progressive" in image.info
    whole = _has_end(data)
    if not whole and (progressive or mode not in ("RGB", "L")):
        raise UnreadablePhotoError(name, f"the picture is cut off after {len(data) / 1000:.0f} kB")
    if mode not in ("RGB", "L"):
        return _decode_pillow(data, name, settings, "jpeg")
    stream = data if whole else data + b"\xff\xd9"
    pixels = _cv2_decode(stream, cv2.IMREAD_COLOR_RGB | cv2.IMREAD_IGNORE_ORIENTATION)
    if pixels is None:
        return _decode_pillow(data, name, settings, "jpeg")
    flags: tuple[Flag, ...] = ()
    if not whole:
        pixels = _readable_part(pixels, name, settings)
        flags = (Flag.DAMAGED_FILE,)
    if profile or exif.adobe_rgb:
        stored = Image.fromarray(pixels[..., 0] if mode == "L" else pixels)
        pixels, more = _to_srgb(stored, exif, profile)
        flags += more
    return Decoded(pixels, exif.turn, flags, exif.taken_at, exif.focal_35mm)


def _has_end(data: bytes) -> bool:
    """Tell whether the first picture's end marker is there (ITU-T T.81, annex B)."""
    at = 2
    while at + 4 <= len(data) and data[at] == 0xFF:
        marker = data[at + 1]
        if marker == 0xDA:
            return data.find(b"\xff\xd9", at) >= 0
        if marker in (0xFF, 0x01) or 0xD0 <= marker <= 0xD8:
            at += 1 if marker == 0xFF else 2
            continue
        at += 2 + int.from_bytes(data[at + 2 : at + 4], "big")
    return False


def _readable_part(pixels: ByteImage, name: str, settings: PhotoSettings) -> ByteImage:
    """Keep the rows before the cut; the decoder fills the rest with mid grey (libjpeg, jdhuff.c)."""
    grey = (pixels[:, -8:] == 128).all(axis=(1, 2))
    lost = len(grey) if bool(grey.all()) else int(np.argmin(grey[::-1]))
    kept = (pixels.shape[0] - lost) // 8 * 8
    fraction = kept / pixels.shape[0]
    if fraction < settings.salvage_fraction:
        raise UnreadablePhotoError(
            name, f"the picture is cut off: only the top {100 * fraction:.0f} % is there"
        )
    return np.ascontiguousarray(pixels[:kept])


# HEIF and camera raw


def _decode_heif(data: bytes, name: str, settings: PhotoSettings) -> Decoded:
    """Decode HEIC/HEIF. The decoder makes the file's own turn; EXIF's is then ignored (ISO/IEC 23008-12)."""
    import pillow_heif

    try:
        heif = pillow_heif.open_heif(io.BytesIO(data), convert_hdr_to_8bit=True)
        _check_size(name, heif.size[0], heif.size[1], settings)
        with _quiet():
            image = heif.to_pillow()
            exif = _exif(image)
    except (ValueError, EOFError, RuntimeError, SyntaxError) as error:
        words = f"the HEIC file is damaged or cut off after {len(data) / 1000:.0f} kB"
        raise UnreadablePhotoError(name, words) from error
    profile = heif.info.get("icc_profile")
    pixels, flags = _to_srgb(_over_white(image), _Exif(), profile)
    nclx = None if profile else heif.info.get("nclx_profile")
    if isinstance(nclx, dict):
        primaries = NCLX_PRIMARIES.get(int(nclx.get("color_primaries", 2)))
        if int(nclx.get("transfer_characteristics", 2)) in (16, 18):
            flags += (Flag.PROFILE_IGNORED,)
        elif primaries is not None:
            pixels = primaries_to_srgb(pixels, primaries)
    return Decoded(pixels, 1, flags, exif.taken_at, exif.focal_35mm)


def _decode_raw(data: bytes, name: str, settings: PhotoSettings) -> Decoded:
    """Develop camera raw: camera white balance, no automatic brightening. The decoder makes the turn."""
    import rawpy

    raw = rawpy.RawPy()
    try:
        raw.open_buffer(io.BytesIO(data))
        _check_size(name, raw.sizes.raw_width, raw.sizes.raw_height, settings)
        pixels = raw.postprocess(
            use_camera_wb=True,
            no_auto_bright=True,
            output_color=rawpy.ColorSpace.sRGB,
            gamma=(2.4, 12.92),
            output_bps=8,
        )
    except rawpy.LibRawError as error:
        if data[:4] in (b"II*\x00", b"MM\x00*") and isinstance(error, rawpy.LibRawFileUnsupportedError):
            return _decode_pillow(data, name, settings, "tiff")
        detail = str(error.args[0] if error.args else error)
        raise UnreadablePhotoError(
            name, f"the camera raw file cannot be developed ({detail[:60]})"
        ) from error
    finally:
        raw.close()
    with _quiet():
        try:
            taken_at = _exif(Image.open(io.BytesIO(data), formats=("TIFF",))).taken_at
        except (OSError, SyntaxError, ValueError):
            taken_at = None
    return Decoded(np.array(pixels, dtype=np.uint8), 1, (), taken_at)


def _by_pillow(kind: str) -> Callable[[bytes, str, PhotoSettings], Decoded]:
    return lambda data, name, settings: _decode_pillow(data, name, settings, kind)


_DECODERS: dict[str, Callable[[bytes, str, PhotoSettings], Decoded]] = {
    "jpeg": _decode_jpeg,
    "png": _decode_png,
    "tiff": _decode_tiff,
    "webp": _decode_webp,
    "heif": _decode_heif,
    "raw": _decode_raw,
    "avif": _by_pillow("avif"),
    "bmp": _by_pillow("bmp"),
}
