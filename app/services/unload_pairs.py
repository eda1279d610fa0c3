"""Which photos are likely pairs: the same pieces unmoved, the lamp on the other side.

Both of one unloading are proposed to be read as one; where the first is filed already, the second is held
back until a person says whether its pieces are the filed ones.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from app.services.rereading import Task, read_again
from app.words import Advice
from catalog.errors import CatalogError
from catalog.filing import box_of, overlap
from catalog.rereading import OutdatedPhoto, standing_photo
from catalog.store import Catalog
from catalog.unloading.records import UnloadingPhoto
from vision.errors import VisionError

__all__ = [
    "FiledFirst",
    "filed_firsts",
    "look_for_pair",
    "may_be_paired",
    "may_join",
    "photos_alike",
    "proposed_pairs",
    "read_with_filed",
    "same_places",
]

_SAME_PLACE = 0.4
"""Overlap of boxes (intersection by union) from which a piece may lie where it lay in the other photo: a hard
shadow taken along makes a box larger."""

_MOST_FILED = 2
"""Filed photos that a photo just read is compared with, those first whose pieces lie most alike: each takes
about a second."""


@dataclass(frozen=True, slots=True)
class FiledFirst:
    """A photo that is likely the second of a filed one: both, and what stands of the filed one's readings."""

    first: UnloadingPhoto
    second: UnloadingPhoto
    filed: OutdatedPhoto

    @property
    def codes(self) -> tuple[str, ...]:
        """The pieces that the first photo is filed with."""
        return tuple(tile.code for tile in self.filed.tiles)


def may_join(photo: UnloadingPhoto) -> bool:
    """Tell whether a photo can still become one of a pair."""
    joined = photo.told.beside is not None or photo.told.second_of is not None
    return photo.state in ("waiting", "read", "failed") and not joined


def same_places(first: UnloadingPhoto, second: UnloadingPhoto) -> bool:
    """Tell whether half of the first photo's pieces or more lie as in the second, labels not differing."""
    return _alike_lying(first, second) > 0


def _alike_lying(first: UnloadingPhoto, second: UnloadingPhoto) -> float:
    """Give how far the first photo's pieces lie where the second's do, 0..1; 0 where not half of them do."""
    if first.reading is None or second.reading is None:
        return 0.0
    here, there = first.reading.tiles, second.reading.tiles
    labels = [{tile.label for tile in tiles if tile.label is not None} for tiles in (here, there)]
    if labels[0] and labels[1] and labels[0] != labels[1]:
        return 0.0
    shared = [
        max((overlap(box_of(one.outline_px), box_of(other.outline_px)) for other in there), default=0.0)
        for one in here
    ]
    again = [share for share in shared if share >= _SAME_PLACE]
    return sum(again) / len(shared) if again and 2 * len(again) >= len(shared) else 0.0


def look_for_pair(catalog: Catalog, photo: UnloadingPhoto) -> None:
    """Compare a photo just read with those before and after it, else with filed ones; keep likely pairs.

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
            return
    alone = photo.reading is not None and photo.reading.beside is None
    if alone and may_join(photo) and not photo.told.apart:
        _look_among_filed(catalog, photo)


def _look_among_filed(catalog: Catalog, photo: UnloadingPhoto) -> None:
    firsts = [(_alike_lying(first, photo), first) for first in catalog.unloadings.filed_firsts(photo.id)]
    near = sorted((pair for pair in firsts if pair[0] > 0), key=lambda pair: -pair[0])
    for _, first in near[:_MOST_FILED]:
        if photos_alike(catalog, first, photo):
            catalog.unloadings.propose_first(photo.id, first.id)
            return


def filed_firsts(catalog: Catalog, photos: Sequence[UnloadingPhoto]) -> list[FiledFirst]:
    """Give those of an unloading's photos that are likely the second of a filed one, nobody asked yet.

    Parameters
    ----------
    photos : all of one unloading
    """
    asked = {photo.id for pair in proposed_pairs(photos) for photo in pair}
    found = []
    for photo in photos:
        first_id = None if photo.id in asked else _first_of(photo, photos)
        if first_id is None:
            continue
        first = catalog.unloadings.photo(first_id)
        filed = standing_photo(catalog, first.sha256) if first.state == "filed" else None
        if filed is not None and filed.beside is None:
            found.append(FiledFirst(first, photo, filed))
    return found


def _first_of(photo: UnloadingPhoto, photos: Sequence[UnloadingPhoto]) -> int | None:
    """Give the number of the filed photo whose second this one may be: found so, or likely a pair before."""
    if photo.state != "read" or not may_join(photo) or photo.told.apart:
        return None
    if photo.told.likely_first is not None:
        return photo.told.likely_first
    return next((one.id for one in photos if one.state == "filed" and one.told.likely == photo.id), None)


def read_with_filed(catalog: Catalog, pair: FiledFirst) -> tuple[str, ...] | Advice:
    """Read a filed photo and its second as one, for the same pieces; the reading filed before is kept.

    Returns
    -------
    the codes of the pieces that gained a reading, or why both could not be read together

    Raises
    ------
    The catalogue's errors; nothing is filed then.
    """
    first, second = pair.first, pair.second
    both = replace(pair.filed, beside=(second.sha256, second.name))
    beside = (catalog.photo_bytes(second.sha256), second.name)
    done = read_again(Task(both, catalog.photo_bytes(first.sha256), catalog.cards.taught(), beside))
    if done.item.advice is not None:
        return done.item.advice
    return catalog.unloadings.file_second(
        second.id, first.id, done.item.reading, done.places, done.item.views
    )


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

    The one before or after is still to be read, or both are a likely pair that a person said nothing
    of, one of them filed or neither.
    """
    found = {photo.id for pair in proposed_pairs(photos) for photo in pair}
    found |= {photo.id for photo in photos if _first_of(photo, photos) is not None}
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
