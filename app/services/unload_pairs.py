"""Which photos of an unloading are likely pairs: the same pieces unmoved, the lamp on the other side."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from io import BytesIO
from itertools import pairwise

from catalog.errors import CatalogError
from catalog.filing import box_of, overlap
from catalog.store import Catalog
from catalog.unloading.records import UnloadingPhoto

__all__ = ["may_join", "proposed_pairs", "same_places", "views_alike"]

_SAME_PLACE = 0.85
"""Overlap of boxes (intersection by union) from which a piece lies where it lay in the other photo."""
_VIEW_PX = 480


def may_join(photo: UnloadingPhoto) -> bool:
    """Tell whether a photo can still become one of a pair."""
    joined = photo.told.beside is not None or photo.told.second_of is not None
    return photo.state in ("waiting", "read", "failed") and not joined


def same_places(first: UnloadingPhoto, second: UnloadingPhoto) -> bool:
    """Tell whether both photos show as many pieces in the same places, with the same labels."""
    if first.reading is None or second.reading is None:
        return False
    here, there = first.reading.tiles, second.reading.tiles
    return (
        0 < len(here) == len(there)
        and [tile.label for tile in here] == [tile.label for tile in there]
        and all(
            overlap(box_of(one.outline_px), box_of(other.outline_px)) >= _SAME_PLACE
            for one, other in zip(here, there, strict=True)
        )
    )


def proposed_pairs(
    photos: Sequence[UnloadingPhoto], alike: Callable[[UnloadingPhoto, UnloadingPhoto], bool]
) -> list[tuple[UnloadingPhoto, UnloadingPhoto]]:
    """Give pairs of photos that follow each other and are likely of the same pieces, each photo once.

    Parameters
    ----------
    photos : in the order they came
    alike : tells whether their pieces look alike (`views_alike`); asked only where places are the same
    """
    found: list[tuple[UnloadingPhoto, UnloadingPhoto]] = []
    taken: set[int] = set()
    for first, second in pairwise(photos):
        if first.id in taken or not (may_join(first) and may_join(second)):
            continue
        if same_places(first, second) and alike(first, second):
            found.append((first, second))
            taken.add(second.id)
    return found


def views_alike(catalog: Catalog, first: UnloadingPhoto, second: UnloadingPhoto) -> bool:
    """Tell whether the first piece of both photos is likely one, lit from two sides; a second or less."""
    import numpy as np
    from PIL import Image

    from vision.settings import Settings
    from vision.two_lamps_alike import likely_pair

    views = []
    for photo in (first, second):
        if "0" not in photo.pictures:
            return False
        try:
            data = catalog.unloadings.pictures.read(photo.pictures["0"])
        except CatalogError:
            return False
        with Image.open(BytesIO(data)) as opened:
            opened.draft("RGB", (_VIEW_PX, _VIEW_PX))
            small = opened.convert("RGB")
        small.thumbnail((_VIEW_PX, _VIEW_PX))
        views.append(np.asarray(small))
    return likely_pair(views[0], views[1], Settings().two_lamps)
