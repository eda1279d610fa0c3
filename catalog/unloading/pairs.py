"""Two photos of one unloading joined, the lamp on either side. Each function runs in the caller's session."""

from __future__ import annotations

from dataclasses import replace

from sqlalchemy import select
from sqlalchemy.orm import Session

from catalog.errors import InvalidRecordError
from catalog.unloading.rows import back_in, line_up, photo_row, said_before, say_before
from catalog.unloading.tables import UnloadingPhotoRow

__all__ = ["join", "part", "propose", "read_as_second"]


def join(session: Session, first_id: int, second_id: int) -> None:
    """Put the first photo in line to be read with the second, which is read by itself no more.

    Raises
    ------
    InvalidRecordError : they are one photo, of two unloadings, filed, or joined already.
    """
    first, second = photo_row(session, first_id), photo_row(session, second_id)
    told, second_told = said_before(first), said_before(second)
    joined = any(each is not None for one in (told, second_told) for each in (one.beside, one.second_of))
    apart = first.unloading_id != second.unloading_id
    if first is second or apart or joined or "filed" in (first.state, second.state):
        wanted = "two photos of one unloading, not filed, neither joined to another"
        raise InvalidRecordError("photos", f"{first.name} and {second.name}", wanted)
    say_before(first, replace(told, beside=second_id, likely=None))
    say_before(second, replace(second_told, second_of=first_id))
    second.state = "left_out"
    line_up(first)


def read_as_second(session: Session, sha256: str) -> UnloadingPhotoRow | None:
    """Give the row of a photo that was filed together with another one, as its second; else None."""
    same = select(UnloadingPhotoRow).where(UnloadingPhotoRow.photo_sha256 == sha256)
    for row in session.scalars(same):
        first_id = said_before(row).second_of
        if first_id is not None and photo_row(session, first_id).state == "filed":
            return row
    return None


def propose(session: Session, first_id: int, second_id: int | None) -> None:
    """Keep that two photos are likely a pair; None that a person said no, after which nobody asks again."""
    first = photo_row(session, first_id)
    told = said_before(first)
    if second_id is None:
        say_before(first, replace(told, likely=None, likely_first=None, apart=True))
    else:
        say_before(first, replace(told, likely=second_id))


def part(session: Session, first_id: int) -> None:
    """Undo `join`: both photos are read by themselves again. One that is filed stays as it is."""
    first = photo_row(session, first_id)
    told = said_before(first)
    if told.beside is None or first.state == "filed":
        return
    second = photo_row(session, told.beside)
    say_before(first, replace(told, beside=None, apart=True))
    say_before(second, replace(said_before(second), second_of=None))
    line_up(first)
    back_in(second)
