"""The unloading in hand: which it is, its photos taken in, its table, filing it."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from app.services.unload_filing import FOR_ALL, codes_said, file_photo
from app.words import error_advice
from catalog.errors import CatalogError
from catalog.store import Catalog
from catalog.unloading.records import Told, Unloading, UnloadingPhoto

__all__ = [
    "COLUMNS",
    "Filed",
    "Row",
    "TakenIn",
    "file_ready",
    "in_hand",
    "keep_rows",
    "ready",
    "same_said",
    "say_for_all",
    "table_rows",
    "take_in",
]

Row = dict[str, Any]
"""One piece in the table: `COLUMNS` with their values, None where nothing is said."""

COLUMNS = ("id", "file", "picture", "code", *FOR_ALL, "kind", "photo", "piece")
_SAID = ("file", "code", *FOR_ALL, "kind")


@dataclass(frozen=True, slots=True)
class TakenIn:
    """What became of photos given: how many are in line, were here before, could not be kept and why."""

    unloading: Unloading | None
    new: int = 0
    known: int = 0
    trouble: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Filed:
    """What filing did: codes of new pieces, with a reading more, filed before; which photos."""

    added: tuple[str, ...] = ()
    extended: tuple[str, ...] = ()
    repeated: tuple[str, ...] = ()
    photos: tuple[int, ...] = ()
    troubled: int = 0


def in_hand(catalog: Catalog, chosen: int | None = None) -> Unloading | None:
    """Give the unloading that is gone on with: the one chosen while it is open, else the newest open one."""
    waiting = catalog.unloadings.list()
    return next((one for one in waiting if one.id == chosen), waiting[0] if waiting else None)


def take_in(
    catalog: Catalog,
    unloading: Unloading | None,
    photos: Iterable[tuple[str, Callable[[], bytes]]],
    subject: str | None = None,
    *,
    thickness_mm: float | None = None,
    files_itself: bool = False,
    kept: Callable[[int], None] = lambda _: None,
) -> TakenIn:
    """Keep photos and put them in line; where all of an unloading's photos are filed, begin another.

    Parameters
    ----------
    photos : name and a way to the bytes, asked for one photo at a time
    subject : what they show where a person says so
    thickness_mm : of the tiles in them, where a person says it
    kept : told the number of each photo once it needs to be held in memory no longer
    """
    if unloading is not None and _all_filed(catalog, unloading):
        catalog.unloadings.close(unloading.id)
        unloading = None
    new = known = 0
    trouble = []
    for number, (name, data) in enumerate(photos):
        try:
            if unloading is None:
                unloading = catalog.unloadings.begin(files_itself=files_itself)
            _, fresh = catalog.unloadings.take(
                unloading.id, data(), name, subject, Told(thickness_mm=thickness_mm)
            )
        except CatalogError as error:
            trouble.append(f"{name}: {error_advice(error)}")
        else:
            new += fresh
            known += not fresh
        kept(number)
    if unloading is not None:
        catalog.unloadings.set_files_itself(unloading.id, files_itself)
        catalog.unloadings.set_stopped(unloading.id, False)
    return TakenIn(unloading, new, known, tuple(trouble))


def _all_filed(catalog: Catalog, unloading: Unloading) -> bool:
    counts = catalog.unloadings.state(unloading.id).counts
    return counts.get("filed", 0) > 0 and not any(
        count for state, count in counts.items() if state not in ("filed", "left_out")
    )


def table_rows(
    numbered: Sequence[tuple[int, UnloadingPhoto]], picture: Callable[[UnloadingPhoto, int], bytes | None]
) -> list[Row]:
    """Give the table's rows of photos that are read and not filed.

    Parameters
    ----------
    numbered : photos with their numbers on the screen
    picture : gives a piece's small picture
    """
    rows = []
    for number, photo in numbered:
        for index, said in enumerate(photo.said):
            data = picture(photo, index)
            rows.append(
                {name: said.get(name) for name in _SAID}
                | {
                    "id": photo.id,
                    "photo": number,
                    "piece": index + 1,
                    "picture": None if data is None else f"data:image/jpeg;base64,{b64encode(data).decode()}",
                }
            )
    return rows


def keep_rows(catalog: Catalog, photos: Sequence[UnloadingPhoto], rows: Sequence[Row]) -> bool:
    """Keep what the table says now; tells whether any of it is new."""
    by_photo: dict[int, list[Row]] = {}
    for row in rows:
        by_photo.setdefault(int(row["id"]), []).append(row)
    changed = False
    for photo in photos:
        mine = sorted(by_photo.get(photo.id, ()), key=lambda row: row["piece"])
        said = [_known(row) for row in mine]
        if len(said) == len(photo.said) and said != [_known(one) for one in photo.said]:
            catalog.unloadings.say(photo.id, said)
            changed = True
    return changed


def same_said(one: Sequence[Row], other: Sequence[Row]) -> bool:
    """Tell whether two tables are of the same pieces and say the same of them."""
    keys = ("id", "piece", "photo")
    return [(_known(row), *map(row.get, keys)) for row in one] == [
        (_known(row), *map(row.get, keys)) for row in other
    ]


def _known(said: Mapping[str, Any]) -> dict[str, Any]:
    """Give what is said of a piece and nothing else, in plain values that can be kept."""
    known = {name: said.get(name) or None for name in _SAID}
    return known | {
        "file": bool(said.get("file")),
        "coats": None if said.get("coats") is None else int(said["coats"]),
    }


def say_for_all(catalog: Catalog, photos: Sequence[UnloadingPhoto], said: Mapping[str, Any]) -> None:
    """Say the same of every piece of these photos."""
    told = {name: value for name, value in said.items() if name in FOR_ALL and value is not None}
    for photo in photos:
        catalog.unloadings.say(photo.id, [{**_known(row), **told} for row in photo.said])


def ready(photos: Sequence[UnloadingPhoto], *, all_read: bool) -> list[UnloadingPhoto]:
    """Give the photos that can be filed now: read, with a piece ticked.

    While others are still read, only those whose pieces all have codes: a fresh code could be the very one
    that a label in a later photo bears.
    """
    return [
        photo
        for photo in photos
        if photo.state == "read"
        and any(row["file"] for row in photo.said)
        and (all_read or all(row["code"] for row in photo.said if row["file"]))
    ]


def file_ready(
    catalog: Catalog, unloading: Unloading, photos: Sequence[UnloadingPhoto], guess: int | None
) -> Filed:
    """File photos of an unloading; one that cannot be filed stays with its reason, the rest is filed.

    Parameters
    ----------
    guess : the load of pieces whose labels tell none, where no person chose one for all
    """
    taken = codes_said(catalog.unloadings.photos_of(unloading.id))
    added: list[str] = []
    extended: list[str] = []
    repeated: list[str] = []
    filed: list[int] = []
    for photo in photos:
        try:
            filing = file_photo(catalog, photo, unloading.load_id, taken, guess)
        except CatalogError as error:
            advice = error_advice(error)
            catalog.unloadings.tell(photo.id, (advice.sentence, advice.next_step))
            continue
        filed.append(photo.id)
        added += filing.added
        extended += filing.extended
        repeated += filing.repeated
    return Filed(tuple(added), tuple(extended), tuple(repeated), tuple(filed), len(photos) - len(filed))
