"""A photo without what a phone writes into it about places, devices and people: the picture stays as it is.

JPEG, PNG and WebP files keep their compressed picture bit for bit; of all the rest only what the picture
needs is taken over (colour profile, turn, sizes). Other formats are written anew as JPEG.
"""

from __future__ import annotations

import io
import re
import struct
import warnings
from collections.abc import Iterator

from PIL import Image

from vision.errors import UnreadablePhotoError, VisionError
from vision.photo import decode_photo
from vision.photo_kind import file_kind

__all__ = ["private_parts", "shareable"]

_TURN, _GPS, _EXIF, _INTEROP = 0x0112, 0x8825, 0x8769, 0xA005
_SERIALS = (0xA431, 0xA435, 0xC62F)
"""EXIF 2.32: BodySerialNumber, LensSerialNumber; DNG 1.4: CameraSerialNumber."""
_NAMES = (0xA430, 0x013B, 0x8298)
"""CameraOwnerName, Artist, Copyright."""
_MAKER = 0x927C
_IN_XMP = {
    "place": re.compile(rb"GPSL(at|ong)itude|photoshop:(City|Country)|Iptc4xmpCore:Location", re.IGNORECASE),
    "serial": re.compile(rb"SerialNumber", re.IGNORECASE),
    "name": re.compile(rb"dc:creator|OwnerName|photoshop:Credit", re.IGNORECASE),
}
_PNG_KEPT = frozenset({b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"iCCP"})
_PNG_KEPT |= {b"sBIT", b"pHYs", b"bKGD", b"cICP"}
_WEBP_KEPT = frozenset({b"VP8 ", b"VP8L", b"ALPH", b"ICCP", b"ANIM", b"ANMF"})
_QUALITY = 95


def shareable(data: bytes, name: str) -> bytes:
    """Give a photo's file without places, serial numbers, names, times, previews and notes.

    The same bytes always give the same result, and a result given again gives itself.

    Parameters
    ----------
    data : a photo's file of any kind that `vision.photo` reads
    name : what to call it in messages

    Raises
    ------
    UnreadablePhotoError, PhotoTooLargeError : not a photo that can be read.
    """
    kind = file_kind(data, name)
    try:
        if kind == "jpeg":
            return _jpeg(data)
        if kind == "png":
            return _png(data)
        if kind == "webp":
            return _webp(data)
    except (struct.error, IndexError, ValueError) as error:
        raise UnreadablePhotoError(name, "the file is damaged") from error
    out = io.BytesIO()
    Image.fromarray(decode_photo(data, name).pixels).save(out, format="JPEG", quality=_QUALITY, subsampling=0)
    return out.getvalue()


def private_parts(data: bytes, name: str) -> frozenset[str]:
    """Tell what a photo's file says beyond its picture: "place", "serial", "name", "maker" (its own notes).

    Reads EXIF and XMP; what a maker hides in notes of its own is told as "maker". A file that cannot be read
    tells nothing.
    """
    found: set[str] = set()
    try:
        file_kind(data, name)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            exif = _exif_of(data)
            inner = exif.get_ifd(_EXIF)
            if any(value not in (None, "", b"") for value in exif.get_ifd(_GPS).values()):
                found.add("place")
    except (VisionError, OSError, ValueError, SyntaxError, KeyError, struct.error, TypeError, RuntimeError):
        inner, exif = {}, Image.Exif()
    if any(inner.get(tag) or exif.get(tag) for tag in _SERIALS):
        found.add("serial")
    if any(str(inner.get(tag) or exif.get(tag) or "").strip() for tag in _NAMES):
        found.add("name")
    if _MAKER in inner:
        found.add("maker")
    packet = _xmp_of(data)
    found |= {word for word, pattern in _IN_XMP.items() if pattern.search(packet)}
    return frozenset(found)


def _exif_of(data: bytes) -> Image.Exif:
    if data[4:8] == b"ftyp":
        import pillow_heif

        exif = Image.Exif()
        raw = pillow_heif.open_heif(io.BytesIO(data)).info.get("exif")
        if raw:
            exif.load(raw)
        return exif
    with Image.open(io.BytesIO(data)) as image:
        return image.getexif()


def _xmp_of(data: bytes) -> bytes:
    start = data.find(b"<x:xmpmeta")
    end = data.find(b"</x:xmpmeta", start)
    return data[start:end] if 0 <= start < end else b""


# --- JPEG (ITU-T T.81, annex B)


def _jpeg(data: bytes) -> bytes:
    kept = [b"\xff\xd8"]
    needed = _needed_exif(data)
    if needed:
        kept.append(_segment(0xE1, b"Exif\x00\x00" + needed))
    for marker, body in _jpeg_segments(data):
        if marker == 0xDA:
            kept.append(body)
            break
        if _jpeg_needs(marker, body):
            kept.append(_segment(marker, body))
    return b"".join(kept)


def _segment(marker: int, body: bytes) -> bytes:
    return struct.pack(">BBH", 0xFF, marker, len(body) + 2) + body


def _jpeg_needs(marker: int, body: bytes) -> bool:
    """Tell whether a segment is needed for the picture: tables, frames, JFIF without thumbnail, profile."""
    if marker == 0xE0:
        return body.startswith(b"JFIF\x00") and len(body) == 14
    if marker == 0xE2:
        return body.startswith(b"ICC_PROFILE\x00")
    if marker == 0xEE:
        return body.startswith(b"Adobe")
    return not (0xE0 <= marker <= 0xEF or marker == 0xFE or 0xF0 <= marker <= 0xFD)


def _jpeg_segments(data: bytes) -> Iterator[tuple[int, bytes]]:
    """Give (marker, content) up to the first scan; that one as all bytes to the picture's end, then stop.

    What stands behind the end of the picture (previews, motion, depth maps) is left off. Tables and scans
    of a progressive picture stand between first scan and end; application segments there are dropped.
    """
    at = 2
    while at + 4 <= len(data):
        if data[at] != 0xFF:
            raise ValueError("no marker where one should stand")
        marker = data[at + 1]
        if marker == 0xFF:
            at += 1
            continue
        if marker == 0xDA:
            yield marker, b"".join(_scans(data, at))
            return
        (size,) = struct.unpack(">H", data[at + 2 : at + 4])
        if size < 2:
            raise ValueError("a segment of no length")
        yield marker, data[at + 4 : at + 2 + size]
        at += 2 + size
    raise ValueError("no picture in the file")


def _scans(data: bytes, at: int) -> Iterator[bytes]:
    """Give the scans from `at` to the end marker, or to the end of a cut file."""
    while at < len(data):
        if data[at : at + 2] == b"\xff\xd9":
            yield b"\xff\xd9"
            return
        marker = data[at + 1] if at + 1 < len(data) else 0
        size = int.from_bytes(data[at + 2 : at + 4], "big")
        if data[at] != 0xFF or size < 2:
            raise ValueError("no marker where one should stand")
        if _jpeg_needs(marker, data[at + 4 : at + 2 + size]):
            yield data[at : at + 2 + size]
        at += 2 + size
        if marker == 0xDA:
            start = at
            at = _scan_end(data, at)
            yield data[start:at]


_AFTER_SCAN = re.compile(rb"\xff(?![\x00\xd0-\xd7\xff])", re.DOTALL)
"""The first marker that is neither a stuffed byte, a restart nor fill."""


def _scan_end(data: bytes, at: int) -> int:
    found = _AFTER_SCAN.search(data, at)
    return len(data) if found is None else found.start()


def _needed_exif(data: bytes) -> bytes:
    """Give the EXIF block that the picture cannot do without: its turn, and Adobe RGB told by number."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(io.BytesIO(data)) as image:
                exif = image.getexif()
                turn = exif.get(_TURN, 1)
                adobe = str(exif.get_ifd(_INTEROP).get(1, "")).startswith("R03")
    except Exception:  # damaged EXIF raises anything; the picture then stays as it lies
        return b""
    turn = turn if isinstance(turn, int) and 1 <= turn <= 8 else 1
    return _exif_block(turn, adobe=adobe) if turn != 1 or adobe else b""


def _exif_block(turn: int, *, adobe: bool) -> bytes:
    """Write a TIFF block with the orientation and, for Adobe RGB, the index R03 (Exif 2.32, 4.6.2, 4.6.7)."""
    head = b"II*\x00\x08\x00\x00\x00"
    if not adobe:
        return head + struct.pack("<HHHIHHI", 1, _TURN, 3, 1, turn, 0, 0)
    first = struct.pack("<HHHIHHHHIII", 2, _TURN, 3, 1, turn, 0, _EXIF, 4, 1, 38, 0)
    inner = struct.pack("<HHHIII", 1, _INTEROP, 4, 1, 56, 0)
    index = struct.pack("<HHHI4sI", 1, 1, 2, 4, b"R03\x00", 0)
    return head + first + inner + index


# --- PNG (ISO/IEC 15948) and WebP (RFC 9649)


def _png(data: bytes) -> bytes:
    import zlib

    kept = [data[:8]]
    needed = _needed_exif(data)
    at = 8
    while at + 12 <= len(data):
        (size,) = struct.unpack(">I", data[at : at + 4])
        kind = data[at + 4 : at + 8]
        if kind in _PNG_KEPT:
            kept.append(data[at : at + 12 + size])
        if kind == b"IHDR" and needed:
            body = b"eXIf" + needed
            kept.append(struct.pack(">I", len(body) - 4) + body + struct.pack(">I", zlib.crc32(body)))
        at += 12 + size
        if kind == b"IEND":
            break
    return b"".join(kept)


def _webp(data: bytes) -> bytes:
    chunks = []
    needed = _needed_exif(data)
    at = 12
    while at + 8 <= len(data):
        kind = data[at : at + 4]
        (size,) = struct.unpack("<I", data[at + 4 : at + 8])
        body = data[at + 8 : at + 8 + size]
        if kind == b"VP8X" and len(body) >= 10:
            # Flags: profile 0x20, alpha 0x10, EXIF 0x08, XMP 0x04, animation 0x02.
            body = bytes([body[0] & 0x32 | (0x08 if needed else 0)]) + body[1:]
            chunks.append((kind, body))
        elif kind in _WEBP_KEPT:
            chunks.append((kind, body))
        at += 8 + size + size % 2
    if needed:
        chunks.append((b"EXIF", needed))
    inside = b"".join(
        kind + struct.pack("<I", len(body)) + body + b"\x00" * (len(body) % 2) for kind, body in chunks
    )
    return b"RIFF" + struct.pack("<I", len(inside) + 4) + b"WEBP" + inside
