"""Readings into the catalogue: drafts made from what is known, filed with their pictures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from app.services.reading import view_files
from catalog.records import Filing, Layer, PieceDraft
from catalog.store import Catalog
from vision.reading import PhotoReading

if TYPE_CHECKING:
    from vision.pipeline import PhotoRead

__all__ = ["file_read", "file_views", "plain_drafts"]


def plain_drafts(
    reading: PhotoReading, body_id: int | None = None, layers: Sequence[Layer] = ()
) -> list[PieceDraft]:
    """Give one draft for each piece in a photo, its label as its code."""
    return [
        PieceDraft(
            tile_index=index,
            code=tile.label,
            kind=str(tile.subject),
            body_id=body_id,
            layers=tuple(layers),
        )
        for index, tile in enumerate(reading.tiles)
    ]


def file_read(
    catalog: Catalog, data: bytes, read: PhotoRead, drafts: Sequence[PieceDraft], load_id: int | None
) -> Filing:
    """File a photo just read."""
    return file_views(catalog, data, read.reading, drafts, load_id, view_files(read))


def file_views(
    catalog: Catalog,
    data: bytes,
    reading: PhotoReading,
    drafts: Sequence[PieceDraft],
    load_id: int | None,
    views: Mapping[int, bytes],
) -> Filing:
    """File a photo whose straightened pictures are at hand as JPEG files."""
    return catalog.file_photo(data, reading, list(drafts), load_id, dict(views))
