"""Which photos of an unloading are likely pairs: the same pieces unmoved, the lamp on the other side."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from catalog.errors import CatalogError
from catalog.filing import box_of, overlap
from catalog.store import Catalog
from catalog.unloading.records import UnloadingPhoto
from vision.errors import VisionError

__all__ = ["look_for_pair", "may_be_paired", "may_join", "photos_alike", "proposed_pairs", "same_places"]

_SAME_PLACE = 0.4
"""Overlap of boxes (intersection by union) from which a piece may lie where it lay in the other photo: a hard
shadow taken along makes a box larger."""


def may_join(photo: UnloadingPhoto) -> bool:
    """Tell whether a photo can still become one of a pair."""
    joined = photo.told.beside is not None or photo.told.second_of is not None
    return photo.state in ("waiting", "read", "failed") and not joined


def same_places(first: UnloadingPhoto, second: UnloadingPhoto) -> bool:
    """Tell whether half of the first photo's pieces or more lie as in the second, labels not differing."""
    if first.reading is None or second.reading is None:
        return False
    here, there = first.reading.tiles, second.reading.tiles
    labels = [{tile.label for tile in tiles if tile.label is not None} for tiles in (here, there)]
    if labels[0] and labels[1] and labels[0] != labels[1]:
        return False
    again = [
        any(overlap(box_of(one.outline_px), box_of(other.outline_px)) >= _SAME_PLACE for other in there)
        for one in here
    ]
    return bool(again) and 2 * sum(again) >= len(again)


def look_for_pair(catalog: Catalog, photo: UnloadingPhoto) -> None:
    """Compare a photo just read with those before and after it, and keep which are likely a pair.

    The photo given stands for its row, which need not say yet that it is read.
    """
    kept = catalog.unloadings.photos_of(photo.unloading_id)
    photos = [photo if one.id == photo.id else one for one in kept]
    for first, second in pairwise(photos):
        if photo.id not in (first.id, second.id) or first.told.apart or first.told.likely is not None:
            continue
        free = may_join(first) and may_join(second)
        if free and same_places(first, second) and photos_alike(catalog, first, second):
            catalog.unloadings.propose_pair(first.id, second.id)


def proposed_pairs(photos: Sequence[UnloadingPhoto]) -> list[tuple[UnloadingPhoto, UnloadingPhoto]]:
    """Give the likely pairs that a person can still join, each photo once."""
    by_id = {photo.id: photo for photo in photos if may_join(photo)}
    found: list[tuple[UnloadingPhoto, UnloadingPhoto]] = []
    taken: set[int] = set()
    for first in by_id.values():
        second = by_id.get(first.told.likely or 0)
        if second is not None and first.id not in taken and second.id not in taken:
            found.append((first, second))
            taken |= {first.id, second.id}
    return found


def may_be_paired(photos: Sequence[UnloadingPhoto]) -> frozenset[int]:
    """Give the numbers of an unloading's photos that may yet be joined.

    The one before or after is still to be read, or both are a likely pair that a person said nothing of.
    """
    found = {photo.id for pair in proposed_pairs(photos) for photo in pair}
    for first, second in pairwise(photos):
        for one, other in ((first, second), (second, first)):
            coming = other.state in ("waiting", "in_hand") and other.told.beside is None
            if coming and may_join(one) and not first.told.apart:
                found.add(one.id)
    return frozenset(found)


def photos_alike(catalog: Catalog, first: UnloadingPhoto, second: UnloadingPhoto) -> bool:
    """Tell whether both photos are likely of the same pieces, lit from two sides; takes about a second."""
    from vision.photo import decode_photo
    from vision.settings import Settings
    from vision.two_lamps_alike import likely_pair

    if first.reading is None:
        return False
    try:
        kept = [decode_photo(catalog.photo_bytes(one.sha256), one.name).pixels for one in (first, second)]
    except (CatalogError, VisionError):
        return False
    boxes = [box_of(tile.outline_px) for tile in first.reading.tiles]
    return likely_pair(kept[0], kept[1], boxes, Settings().two_lamps)
