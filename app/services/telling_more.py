"""More told of a filed photo, which is read again with it: the tile's thickness, a stripe under the glaze."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from app.services.reading import Outline
from app.services.rereading import Task, read_again
from app.services.unload_drawing import photo_corners
from app.words import Advice
from catalog.rereading import OutdatedPhoto, file_again, photo_of_reading
from catalog.store import Catalog

__all__ = ["MoreTold", "read_with", "told_of"]


@dataclass(frozen=True, slots=True)
class MoreTold:
    """What a person told of a filed photo: `thickness_mm` of the tile, corners of stripes in pixels."""

    thickness_mm: float | None
    stripes: tuple[Outline, ...]


def told_of(catalog: Catalog, reading_id: int) -> MoreTold:
    """Give what was told before."""
    photo = photo_of_reading(catalog, reading_id)
    return MoreTold(photo.thickness_mm, photo.stripes)


def read_with(
    catalog: Catalog,
    reading_id: int,
    *,
    thickness_mm: float | None,
    stripe: Sequence[Sequence[float]] | None = None,
    keep_stripes: bool = True,
) -> Advice | None:
    """Read a filed photo again with what a person tells of it; the new reading stands beside the old.

    Parameters
    ----------
    reading_id : the reading whose piece is looked at; other pieces of its photo stay as they are
    thickness_mm : of the tile; None for a usual one
    stripe : corners of one more stripe, x and y as parts of the photo's width and height, 0..1
    keep_stripes : False takes out those marked before

    Returns
    -------
    Why the photo was not read, None where it was.

    Raises
    ------
    OutlineError : the stripe encloses no part of the photo.
    The catalogue's errors; nothing is filed then.
    """
    photo: OutdatedPhoto = photo_of_reading(catalog, reading_id)
    stripes = photo.stripes if keep_stripes else ()
    if stripe is not None:
        stripes = (*stripes, photo_corners(catalog, photo.sha256, photo.name, stripe))
    photo = replace(photo, thickness_mm=thickness_mm, stripes=stripes)
    second = photo.beside and (catalog.photo_bytes(photo.beside[0]), photo.beside[1])
    done = read_again(Task(photo, catalog.photo_bytes(photo.sha256), catalog.cards.taught(), second))
    if done.item.advice is not None:
        return done.item.advice
    file_again(catalog, photo.sha256, done.item.reading, done.places, done.item.views, told_more=True)
    return None
