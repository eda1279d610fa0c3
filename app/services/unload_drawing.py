"""Outlines that a person drew on a photo of an unloading."""

from __future__ import annotations

from collections.abc import Sequence

from catalog.store import Catalog
from catalog.unloading.records import UnloadingPhoto

__all__ = ["NEW_PIECE", "draw_outline"]

NEW_PIECE = -1
"""The place of a piece that was not found."""


def draw_outline(
    catalog: Catalog, photo: UnloadingPhoto, place: int, corners: Sequence[Sequence[float]]
) -> None:
    """Keep an outline and put its photo in line to be read again.

    Parameters
    ----------
    place : index of the found piece that it stands for, or `NEW_PIECE`
    corners : x and y as parts of the photo's width and height, 0..1

    Raises
    ------
    OutlineError : it encloses no part of the photo.
    The errors of `vision` and `catalog` where the kept photo cannot be read.
    """
    from vision.drawn import checked_outline
    from vision.photo import decode_photo

    rows, cols = decode_photo(catalog.photo_bytes(photo.sha256), photo.name).pixels.shape[:2]
    outline = [[x * (cols - 1), y * (rows - 1)] for x, y in corners]
    checked_outline(outline, (rows, cols), 1)
    name = f"new{len(photo.outlines) + 1}" if place == NEW_PIECE else str(place)
    catalog.unloadings.read_again(photo.id, subject=photo.subject, outlines={**photo.outlines, name: outline})
