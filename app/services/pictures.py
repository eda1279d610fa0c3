"""Kept pictures as they may leave the catalogue: shown, printed, handed on."""

from __future__ import annotations

from catalog.store import Catalog
from vision.errors import VisionError
from vision.shareable import shareable

__all__ = ["shown_photo", "shown_view"]


def shown_photo(catalog: Catalog, sha256: str, name: str, side_px: int = 1200) -> bytes:
    """Give a kept photo as a JPEG for the screen. Raises the errors of photos and of `vision`.

    Parameters
    ----------
    name : for messages
    side_px : its long side at most
    """
    from PIL import Image

    from app.widgets.pictures import jpeg_bytes
    from vision.photo import decode_photo

    picture = Image.fromarray(decode_photo(catalog.photo_bytes(sha256), name).pixels)
    picture.thumbnail((side_px, side_px))
    return jpeg_bytes(picture, quality=85)


def shown_view(catalog: Catalog, reading_id: int) -> bytes | None:
    """Give the straightened view of a reading without place, serial number or notes in its file.

    Returns
    -------
    bytes or None : None where no view was kept, or where it is no picture

    Raises
    ------
    PhotoMissingError, PhotoDamagedError, ReadingNotFoundError
    """
    data = catalog.view_bytes(reading_id)
    if data is None:
        return None
    try:
        return shareable(data, "view.jpg")
    except VisionError:
        return None
