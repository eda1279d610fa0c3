"""An archive read again after a method change: many processes here or on a Dask cluster read, one files."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from app.services.reading import ReadItem, read_item
from app.words import Advice, error_advice
from catalog.errors import CatalogError
from catalog.rereading import OutdatedPhoto, file_again, pair_tiles, present_method
from catalog.store import Catalog
from vision.reading import TileReading

if TYPE_CHECKING:
    from vision.taught_card import TaughtCard

__all__ = ["ReadAgain", "Step", "Task", "read_again", "reread", "time_left_words"]


@dataclass(frozen=True, slots=True)
class Task:
    """One photo on its way to a reader: what is known of it, its bytes, the studio's taught cards.

    `beside` holds bytes and name of the second photo, where two are read together.
    """

    photo: OutdatedPhoto
    data: bytes
    taught: tuple[TaughtCard, ...]
    beside: tuple[bytes, str] | None = None


@dataclass(frozen=True, slots=True)
class ReadAgain:
    """What a reader sends back.

    Attributes
    ----------
    photo : as in the task
    item : the reading and the straightened pieces, or why it was not read
    places : which old reading each tile follows (`catalog.rereading.file_again`)
    """

    photo: OutdatedPhoto
    item: ReadItem
    places: Mapping[int, int]


@dataclass(frozen=True, slots=True)
class Step:
    """One photo done: its number of all, the codes that gained a reading, trouble, seconds left to go."""

    number: int
    total: int
    photo: OutdatedPhoto
    codes: tuple[str, ...]
    trouble: Advice | None
    left_s: float


def read_again(task: Task) -> ReadAgain:
    """Read one filed photo again; runs in a process of its own, here or on another computer.

    Pieces are found anew and told by where they lie. One that a person had outlined, or that is not found any
    more, is read in its old outline: it was filed by a person, so it is there.
    """
    photo = task.photo
    told: dict[str, Any] = {
        "beside": task.beside,
        "stripes": photo.stripes,
        "thickness_mm": photo.thickness_mm,
    }
    found = read_item(task.data, photo.name, photo.subject, task.taught, **told)
    if found.advice is not None:
        return ReadAgain(photo, replace(found, data=b"", preview=None), {})
    places = pair_tiles(photo.tiles, found.reading.tiles)
    others = [tile for tile in photo.tiles if tile.reading_id not in places.values()]
    tiles, views = list(found.reading.tiles), dict(found.views or {})
    if others:
        outlines = [tile.outline_px for tile in others]
        drawn = read_item(task.data, photo.name, photo.subject, task.taught, outlines, **told)
        if drawn.advice is not None:
            return ReadAgain(photo, replace(drawn, data=b"", preview=None), {})
        for number, old in enumerate(others):
            tile: TileReading = drawn.reading.tiles[number]
            index = len(tiles)
            tiles.append(replace(tile, outlined_by_hand=old.by_hand, label=None))
            views[index] = (drawn.views or {})[number]
            places[index] = old.reading_id
        if not found.reading.tiles:
            found = replace(found, reading=drawn.reading)
    reading = replace(found.reading, tiles=tuple(tiles))
    return ReadAgain(photo, replace(found, data=b"", preview=None, reading=reading, views=views), places)


def reread(
    catalog: Catalog,
    photos: Sequence[OutdatedPhoto],
    *,
    jobs: int | None = None,
    cluster: bool = False,
    read: Callable[[Task], ReadAgain] = read_again,
) -> Iterator[Step]:
    """Read photos again and file what they say; gives each photo as it is done, in no fixed order.

    Parameters
    ----------
    photos : as `catalog.rereading.outdated_photos` gives them
    jobs : how many processes read; None takes one for each processor core
    cluster : read on the Dask cluster whose client is open in this program, not here
    read : reads one photo; must be found by its name in every process

    Notes
    -----
    Only this process touches the catalogue. Stopped or killed at any moment, what was filed is whole, and the
    photos not done are those that `outdated_photos` still gives.
    """
    from joblib import Parallel, delayed, parallel_config

    taught = catalog.cards.taught()
    unread: list[tuple[OutdatedPhoto, Advice]] = []

    def tasks() -> Iterator[Any]:
        # Taken one by one as readers get free, so that a few photos are in memory, not the archive.
        for photo in photos:
            try:
                data = catalog.photo_bytes(photo.sha256)
                second = photo.beside and (catalog.photo_bytes(photo.beside[0]), photo.beside[1])
            except CatalogError as error:
                unread.append((photo, error_advice(error)))
                continue
            yield delayed(read)(Task(photo, data, taught, second))

    begun, number = time.monotonic(), 0

    def step(photo: OutdatedPhoto, codes: tuple[str, ...], trouble: Advice | None) -> Step:
        each = (time.monotonic() - begun) / number
        return Step(number, len(photos), photo, codes, trouble, each * (len(photos) - number))

    with parallel_config(backend="dask" if cluster else "loky"):
        # On a cluster joblib hands out to all its workers; here to so many processes.
        readers = Parallel(
            n_jobs=-1 if jobs is None else jobs,
            return_as="generator_unordered",
            batch_size=1,
            pre_dispatch="n_jobs + 1",
        )
        for done in readers(tasks()):
            number += 1
            codes, trouble = _file(catalog, done)
            yield step(done.photo, codes, trouble)
    for photo, trouble in unread:
        number += 1
        yield step(photo, (), trouble)


def _file(catalog: Catalog, done: ReadAgain) -> tuple[tuple[str, ...], Advice | None]:
    if done.item.advice is not None:
        return (), done.item.advice
    if done.item.reading.method != present_method(beside=done.photo.beside is not None):
        words = "The cluster's workers read with another version of Glostbook than this computer's."
        return (), Advice(words, "Install the same version on all of them; the old reading stays meanwhile.")
    try:
        return file_again(catalog, done.photo.sha256, done.item.reading, done.places, done.item.views), None
    except CatalogError as error:
        return (), error_advice(error)


def time_left_words(seconds: float) -> str:
    """Say how long it will still take, roughly."""
    if seconds < 90:
        return f"about {max(1, round(seconds))} s left"
    if seconds < 90 * 60:
        return f"about {round(seconds / 60)} min left"
    return f"about {seconds / 3600:.1f} h left"
