"""The second photo of a pair, lamp on the other side, that came after the first was filed.

The reading of both follows the filed one, which is kept. Each function runs in the caller's session.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from datetime import timedelta

from sqlalchemy import or_, select
from sqlalchemy.orm import Session, defer

from catalog import filing, pieces
from catalog.columns import now
from catalog.errors import InvalidRecordError, PhotoMismatchError
from catalog.tables import PieceRow, ReadingRow
from catalog.unloading.records import UnloadingPhoto
from catalog.unloading.rows import photo_record, photo_row, said_before, say_before
from catalog.unloading.tables import UnloadingPhotoRow
from vision.reading import PhotoReading

__all__ = ["SECOND_WITHIN", "file_second", "firsts", "propose_first", "seconds_of"]

SECOND_WITHIN = timedelta(days=3)
"""A photo filed in another unloading longer ago is no longer looked at: tiles have been moved since."""


def firsts(session: Session, photo_id: int) -> tuple[UnloadingPhoto, ...]:
    """Give the filed photos that a photo may be the second of, the newest first.

    They are of its own unloading or were read within `SECOND_WITHIN`, and a reading of theirs alone stands.
    """
    mine = photo_row(session, photo_id)
    row = UnloadingPhotoRow
    query = (
        select(row)
        .where(row.state == "filed", row.photo_sha256 != mine.photo_sha256)
        .where(or_(row.unloading_id == mine.unloading_id, row.taken_at >= now() - SECOND_WITHIN))
        .order_by(row.id.desc())
    )
    told = [(one, said_before(one)) for one in session.scalars(query)]
    found = [one for one, said in told if said.second_of is None and not said.apart]
    alone = _read_alone(session, [one.photo_sha256 for one in found])
    return tuple(photo_record(one) for one in found if one.photo_sha256 in alone)


def _read_alone(session: Session, digests: list[str]) -> set[str]:
    """Give those of some photos that have standing readings, none of them with a second photo."""
    query = (
        select(ReadingRow.photo_sha256, ReadingRow.tile)
        .join(PieceRow, PieceRow.id == ReadingRow.piece_id)
        .where(ReadingRow.photo_sha256.in_(digests))
        .where(ReadingRow.superseded_by_id.is_(None), PieceRow.deleted_at.is_(None))
    )
    alone: dict[str, bool] = {}
    for sha256, tile in session.execute(query):
        alone[sha256] = alone.get(sha256, True) and not tile.get("beside_sha256")
    return {sha256 for sha256, single in alone.items() if single}


def propose_first(session: Session, photo_id: int, first_id: int) -> None:
    """Keep that a photo is likely the second of a filed one, so that a person is asked."""
    row = photo_row(session, photo_id)
    say_before(row, replace(said_before(row), likely_first=photo_row(session, first_id).id))


def file_second(
    session: Session,
    second_id: int,
    first_id: int,
    reading: PhotoReading,
    places: Mapping[int, int],
    views: Mapping[int, str],
) -> tuple[str, ...]:
    """File the reading of both photos after the filed one; all as in `Unloadings.file_second`."""
    first, second = photo_row(session, first_id), photo_row(session, second_id)
    told = said_before(second)
    if first is second or first.state != "filed" or second.state == "filed" or told.second_of is not None:
        wanted = "a filed photo and one that is neither filed nor joined"
        raise InvalidRecordError("photos", f"{first.name} and {second.name}", wanted)
    beside = None if reading.beside is None else reading.beside.sha256
    for name, sha256, read in (
        (first.name, first.photo_sha256, reading.sha256),
        (second.name, second.photo_sha256, beside),
    ):
        if sha256 != read:
            raise PhotoMismatchError(name, sha256, str(read))
    added: list[ReadingRow] = []
    for index, reading_id in places.items():
        old = filing.standing_reading(session, reading_id, first.photo_sha256)
        if old is not None:
            new = filing.add_reading(session, old.piece, first.photo_sha256, reading, index, views.get(index))
            old.superseded_by_id = new.id
            added.append(new)
    if not added:
        raise InvalidRecordError("photo", first.name, "one whose filed reading still stands")
    codes = [pieces.refreshed(session, new.piece).code for new in added]
    pieces.bump(session, "colours")
    second.filing = {
        "readings": [new.id for new in added],
        "made": [],
        "filled": {},
        "load_id": None,
        "loaded": [],
        "codes": codes,
    }
    second.state, second.trouble = "filed", []
    say_before(second, replace(told, second_of=first_id))
    return tuple(codes)


def seconds_of(session: Session, firsts: Collection[int]) -> dict[int, UnloadingPhotoRow]:
    """Give the filed photos that were read together with one of these after it was filed, by number."""
    row = UnloadingPhotoRow
    filed = session.scalars(select(row).where(row.state == "filed").options(defer(row.reading)))
    return {one.id: one for one in filed if said_before(one).second_of in firsts}
