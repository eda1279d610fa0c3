"""What kind of file is this? Told by its first bytes."""

from __future__ import annotations

from vision.errors import UnreadablePhotoError

__all__ = ["file_kind"]

_RAW_ENDINGS = frozenset(
    {
        ".dng",
        ".cr2",
        ".cr3",
        ".crw",
        ".nef",
        ".nrw",
        ".arw",
        ".srf",
        ".sr2",
        ".raf",
        ".orf",
        ".rw2",
        ".pef",
        ".srw",
        ".3fr",
        ".iiq",
        ".mos",
        ".kdc",
        ".dcr",
        ".mrw",
        ".rwl",
        ".erf",
    }
)
_OTHER_KINDS: tuple[tuple[bytes, str], ...] = (
    (b"%PDF", "a PDF document, not a photo"),
    (b"PK\x03\x04", "a zip archive or office document, not a photo"),
    (b"<!DOCTYPE", "a web page, not a photo"),
    (b"<html", "a web page, not a photo"),
    (b"<svg", "a drawing (SVG), not a photo"),
    (b"<?xml", "an XML text, not a photo"),
    (b"GIF8", "a GIF, which holds too few colours to measure"),
    (b"\x1aE\xdf\xa3", "a video, not a still photo"),
    (b"8BPS", "a layered Photoshop document; save a copy as TIFF or JPEG"),
)
_HEIF_BRANDS = (b"heic", b"heix", b"hevc", b"hevx", b"heim", b"heis", b"hevm", b"hevs", b"mif1", b"msf1")
_RAW_STARTS = (b"FUJIFILMCCD-RAW", b"IIRO", b"IIRS", b"MMOR", b"IIU\x00", b"\x00MRM")


def file_kind(data: bytes, name: str) -> str:
    """Tell the format by the file's first bytes, never by its name alone.

    Parameters
    ----------
    data : the whole file
    name : what to call it in messages; its ending tells camera raw from TIFF, which start alike

    Returns
    -------
    "jpeg", "png", "tiff", "webp", "bmp", "heif", "avif" or "raw"

    Raises
    ------
    UnreadablePhotoError : something else, named where it is known.
    """
    if not data:
        raise UnreadablePhotoError(name, "the file is empty")
    if data.startswith(b"\xff\xd8"):
        return "jpeg"
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return "png"
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "webp"
    if data.startswith(_RAW_STARTS):
        return "raw"
    if data[:4] in (b"II*\x00", b"MM\x00*", b"II+\x00", b"MM\x00+"):
        suffix = "." + name.rsplit(".", 1)[-1].lower()
        return "raw" if suffix in _RAW_ENDINGS or data[8:10] == b"CR" else "tiff"
    if data.startswith(b"BM"):
        return "bmp"
    if data[4:8] == b"ftyp":
        return _ftyp_kind(data, name)
    for start, words in _OTHER_KINDS:
        if data[:64].lstrip().lower().startswith(start.lower()):
            raise UnreadablePhotoError(name, words)
    raise UnreadablePhotoError(name, "not an image of a known kind")


def _ftyp_kind(data: bytes, name: str) -> str:
    length = min(int.from_bytes(data[:4], "big"), 256)
    brands = {data[8:12], *(data[i : i + 4] for i in range(16, length, 4))}
    if b"crx " in brands:
        return "raw"
    if data[8:12] in (b"avif", b"avis") or (b"avif" in brands and not brands & {b"heic", b"heix"}):
        return "avif"
    if brands & set(_HEIF_BRANDS):
        return "heif"
    raise UnreadablePhotoError(name, "a video or sound file, not a still photo")
