"""Readings into the catalogue: drafts made from what is known, filed with their pictures."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

from catalog.records import Filing, Layer, PieceDraft
from catalog.store import Catalog
from vision.reading import PhotoReading

__all__ = ["file_views", "plain_drafts", "with_codes"]


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


def with_codes(catalog: Catalog, drafts: Sequence[PieceDraft], taken: Collection[str]) -> list[PieceDraft]:
    """Give each draft a code: its own, or a fresh one that no label of the same unloading bears.

    Parameters
    ----------
    drafts : of one photo
    taken : codes written on labels or typed anywhere in this unloading; without this, a piece without a
        label could be given the very code that a label in a later photo bears
    """
    held = {code.strip().casefold() for code in taken if code}
    coded = []
    for draft in drafts:
        code = draft.code
        while code is None or (draft.code is None and code.casefold() in held):
            code = catalog.reserve_codes(1, draft.kind)[0]
        coded.append(replace(draft, code=code))
    return coded


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
