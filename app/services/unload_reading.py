"""Photos of an unloading, read one after the other; whatever stops the reader, it goes on where it was."""

from __future__ import annotations

import socket
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

from filelock import FileLock, Timeout

from app.services.reading import ReadItem, read_item
from app.services.unload_filing import file_photo, files_itself, new_said
from app.services.unload_pairs import look_for_pair, may_be_paired
from app.words import error_advice
from catalog.errors import CatalogError, PhotoDamagedError, PhotoMissingError
from catalog.home import Home
from catalog.store import Catalog
from catalog.unloading.records import Unloading, UnloadingPhoto
from vision.reading import PhotoReading

__all__ = ["Read", "only_reader", "read_kept", "read_line", "reader_name"]

Read = Callable[[UnloadingPhoto, bytes, Catalog], ReadItem]
"""Reads a photo from its bytes."""

_LOCK = "unloading.lock"


def reader_name() -> str:
    """Give the name under which this computer takes photos in hand."""
    return socket.gethostname() or "this computer"


@contextmanager
def only_reader(home: Home, wait_s: float = 0.0) -> Iterator[bool]:
    """Hold the one reader's place of a catalogue; gives whether it was free. A kill leaves it free."""
    home.folder.mkdir(parents=True, exist_ok=True)
    lock = FileLock(str(home.folder / _LOCK))
    try:
        lock.acquire(timeout=wait_s)
    except Timeout:
        yield False
        return
    try:
        yield True
    finally:
        lock.release()


def read_line(
    catalog: Catalog,
    unloading_id: int | None = None,
    *,
    before: Callable[[UnloadingPhoto], None] = lambda _: None,
    after: Callable[[UnloadingPhoto], None] = lambda _: None,
    read: Read | None = None,
    may_file: bool = True,
) -> int:
    """Read all photos in line, the caller being the only reader; gives how many.

    Parameters
    ----------
    unloading_id : only this unloading's photos; None all
    before, after : told of each photo before and after it is read
    read : `read_kept` by default
    may_file : file what its unloading wants filed at once; False where nobody is there in whose name
    """
    reader = reader_name()
    catalog.unloadings.take_up(reader)
    # those read whose reader stopped before they were filed
    for unloading in catalog.unloadings.list() if may_file else ():
        _file_at_once(catalog, unloading)
    done = 0
    while (photo := catalog.unloadings.claim(reader, unloading_id)) is not None:
        before(photo)
        started = time.monotonic()
        try:
            item = (read or read_kept)(photo, catalog.photo_bytes(photo.sha256), catalog)
        except (PhotoMissingError, PhotoDamagedError) as error:
            item = _failed(photo, error)
        told = () if item.advice is None else (item.advice.sentence, item.advice.next_step)
        if item.advice is None and not item.reading.tiles:
            told = ("Nothing in it could be filed.", "Draw round a piece, or take it again on a plain table.")
        # before the page hears that the photo is read
        look_for_pair(catalog, replace(photo, state="read", reading=item.reading))
        catalog.unloadings.finish(
            photo.id,
            item.reading,
            _pictures(item),
            new_said(item.reading, photo.said, vouched=photo.subject is not None),
            told,
            time.monotonic() - started,
        )
        if may_file:
            _file_at_once(catalog, catalog.unloadings.get(photo.unloading_id))
        after(catalog.unloadings.photo(photo.id))
        done += 1
    return done


def _file_at_once(catalog: Catalog, unloading: Unloading) -> None:
    """File the photos whose card and labels say all, where their unloading wants that.

    One that may yet become one of a pair is held back.
    """
    photos = catalog.unloadings.photos_of(unloading.id) if unloading.files_itself else ()
    paired = may_be_paired(photos)
    for photo in photos:
        if photo.state != "read" or photo.trouble or photo.id in paired or not files_itself(photo):
            continue
        try:
            file_photo(catalog, photo, unloading.load_id)
        except CatalogError as error:
            advice = error_advice(error)
            catalog.unloadings.tell(photo.id, (advice.sentence, advice.next_step))


def _failed(photo: UnloadingPhoto, error: CatalogError) -> ReadItem:
    from app.services.reading import failed_reading

    advice = error_advice(error)
    return ReadItem(photo.name, photo.sha256, b"", failed_reading(photo.name, advice.sentence), advice)


def _pictures(item: ReadItem) -> dict[str, bytes]:
    pictures = {str(index): data for index, data in (item.views or {}).items()}
    if item.preview is not None:
        pictures["preview"] = item.preview
    return pictures


def read_kept(
    photo: UnloadingPhoto, data: bytes, catalog: Catalog, beside: tuple[bytes, str] | None = None
) -> ReadItem:
    """Read a photo of an unloading: as found, with the outlines that a person drew in their places.

    With `beside`, bytes and name of a second photo lit from the other side, both are read as one.
    """
    told: dict[str, Any] = {
        "beside": beside or _second(photo, catalog),
        "stripes": photo.told.stripes,
        "thickness_mm": photo.told.thickness_mm,
    }
    taught = catalog.cards.taught()
    drawn = [outline for key, outline in photo.outlines.items() if key.startswith("only")]
    item = read_item(data, photo.name, photo.subject, taught, drawn, **told)
    if drawn or not photo.outlines or item.advice is not None:
        return item
    outlines = list(photo.outlines.values())
    by_hand = read_item(data, photo.name, photo.subject, taught, outlines, **told)
    if by_hand.advice is not None:
        return replace(by_hand, preview=item.preview)
    return _joined(item, by_hand, list(photo.outlines), data)


def _second(photo: UnloadingPhoto, catalog: Catalog) -> tuple[bytes, str] | None:
    """Give bytes and name of the photo that is read with this one. Raises the catalogue's photo errors."""
    if photo.told.beside is None:
        return None
    second = catalog.unloadings.photo(photo.told.beside)
    return catalog.photo_bytes(second.sha256), second.name


def _joined(found: ReadItem, drawn: ReadItem, places: Sequence[str], data: bytes) -> ReadItem:
    """Put drawn pieces in the places of found ones, or behind them."""
    from app.widgets.pictures import outlined_photo
    from vision.photo import decode_photo

    tiles = list(found.reading.tiles)
    views = dict(found.views or {})
    for number, place in enumerate(places):
        tile = drawn.reading.tiles[number]
        index = int(place) if place.isdigit() and int(place) < len(tiles) else len(tiles)
        labels = {other.label for other in tiles if other.label}
        if index < len(tiles):
            tile = replace(tile, label=tiles[index].label)
            tiles[index] = tile
        else:
            tiles.append(replace(tile, label=None if tile.label in labels else tile.label))
        views[index] = (drawn.views or {})[number]
    reading: PhotoReading = replace(
        found.reading,
        tiles=tuple(tiles),
        flags=drawn.reading.flags if not found.reading.tiles else found.reading.flags,
    )
    preview = outlined_photo(decode_photo(data, found.name).pixels, reading.tiles)
    return replace(found, reading=reading, views=views, preview=preview)
