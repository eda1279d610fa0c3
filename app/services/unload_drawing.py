"""Outlines that a person drew on a photo of an unloading."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from catalog.store import Catalog
from catalog.unloading.records import UnloadingPhoto

__all__ = ["NEW_PIECE", "STRIPE", "draw_outline", "photo_corners"]

NEW_PIECE = -1
"""The place of a piece that was not found."""

STRIPE = -2
"""The place of a dark stripe under the glaze."""


def draw_outline(
    catalog: Catalog, photo: UnloadingPhoto, place: int, corners: Sequence[Sequence[float]]
) -> None:
    """Keep an outline and put its photo in line to be read again.

    Parameters
    ----------
    place : index of the found piece that it stands for, `NEW_PIECE` or `STRIPE`
    corners : x and y as parts of the photo's width and height, 0..1

    Raises
    ------
    OutlineError : it encloses no part of the photo.
    The errors of `vision` and `catalog` where the kept photo cannot be read.
    """
    outline = photo_corners(catalog, photo.sha256, photo.name, corners)
    if place == STRIPE:
        told = replace(photo.told, stripes=(*photo.told.stripes, outline))
        catalog.unloadings.read_again(photo.id, subject=photo.subject, told=told)
        return
    name = f"new{len(photo.outlines) + 1}" if place == NEW_PIECE else str(place)
    drawn = [list(corner) for corner in outline]
    catalog.unloadings.read_again(photo.id, subject=photo.subject, outlines={**photo.outlines, name: drawn})


def photo_corners(
    catalog: Catalog, sha256: str, name: str, corners: Sequence[Sequence[float]]
) -> tuple[tuple[float, float], ...]:
    """Give corners in pixels of a kept photo from parts of its width and height, 0..1.

    Raises
    ------
    OutlineError : they enclose no part of the photo.
    The errors of `vision` and `catalog` where the kept photo cannot be read.
    """
    from vision.drawn import checked_outline
    from vision.photo import decode_photo

    rows, cols = decode_photo(catalog.photo_bytes(sha256), name).pixels.shape[:2]
    outline = tuple((x * (cols - 1), y * (rows - 1)) for x, y in corners)
    checked_outline(outline, (rows, cols), 1)
    return outline
