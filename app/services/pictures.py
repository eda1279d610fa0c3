"""Kept pictures as they may leave the catalogue: shown, printed, handed on."""

from __future__ import annotations

from catalog.store import Catalog
from vision.errors import VisionError
from vision.shareable import shareable

__all__ = ["shown_view"]


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
