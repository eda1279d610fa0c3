"""Rows of unloadings found by number, turned into records, put back in line. For `Unloadings` alone."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from catalog.errors import UnloadingNotFoundError
from catalog.unloading.records import Told, Unloading, UnloadingPhoto, photo_reading
from catalog.unloading.tables import UnloadingPhotoRow, UnloadingRow

__all__ = [
    "back_in",
    "in_line",
    "line_up",
    "open_again",
    "photo_record",
    "photo_row",
    "said_before",
    "say_before",
    "unloading_record",
    "unloading_row",
]


def in_line() -> Any:
    """Give the query for photos that a reader may take in hand."""
    return (
        select(UnloadingPhotoRow)
        .join(UnloadingRow, UnloadingRow.id == UnloadingPhotoRow.unloading_id)
        .where(UnloadingPhotoRow.state == "waiting", UnloadingRow.stopped.is_(False))
    )


def line_up(row: UnloadingPhotoRow) -> None:
    """Put a photo in line, as if it had never been tried."""
    row.state, row.tries, row.trouble, row.reader = "waiting", 0, [], None


def back_in(row: UnloadingPhotoRow) -> None:
    """Bring back a photo left out, or not read: read where it was read, else in line again."""
    if row.state == "left_out" and row.reading is not None:
        row.state = "read"
    elif row.state in ("left_out", "failed"):
        line_up(row)


def open_again(row: UnloadingRow) -> None:
    """Make an unloading work in hand again; it files nothing by itself then."""
    row.files_itself, row.closed_at = False, None


def unloading_row(session: Session, unloading_id: int) -> UnloadingRow:
    """Find an unloading. Raises UnloadingNotFoundError."""
    row = session.get(UnloadingRow, unloading_id)
    if row is None:
        raise UnloadingNotFoundError(unloading_id)
    return row


def photo_row(session: Session, photo_id: int) -> UnloadingPhotoRow:
    """Find a photo of an unloading. Raises UnloadingNotFoundError."""
    row = session.get(UnloadingPhotoRow, photo_id)
    if row is None:
        raise UnloadingNotFoundError(photo_id)
    return row


def unloading_record(row: UnloadingRow) -> Unloading:
    """Give the record of a row."""
    return Unloading(
        row.id, row.load_id, row.files_itself, row.stopped, row.closed_at is not None, row.made_at
    )


_TOLD = "told"
"""What is told before the reading stands beside the outlines in one column: both are for the reader."""


def said_before(row: UnloadingPhotoRow) -> Told:
    """Give what a person told of a photo before it is read."""
    kept = dict(row.outlines.get(_TOLD) or {})
    stripes = kept.pop("stripes", ())
    return Told(stripes=tuple(tuple((float(x), float(y)) for x, y in one) for one in stripes), **kept)


def say_before(
    row: UnloadingPhotoRow, told: Told | None = None, outlines: dict[str, Any] | None = None
) -> None:
    """Set what is told of a photo, its outlines, or both; what is None stays."""
    kept = {key: value for key, value in row.outlines.items() if key != _TOLD}
    said = said_before(row) if told is None else told
    row.outlines = (kept if outlines is None else dict(outlines)) | (
        {} if said == Told() else {_TOLD: asdict(said)}
    )


def photo_record(row: UnloadingPhotoRow) -> UnloadingPhoto:
    """Give the record of a row."""
    return UnloadingPhoto(
        id=row.id,
        unloading_id=row.unloading_id,
        sha256=row.photo_sha256,
        name=row.name,
        state=row.state,
        subject=row.subject,
        outlines={key: value for key, value in row.outlines.items() if key != _TOLD},
        tries=row.tries,
        reading=None if row.reading is None else photo_reading(row.reading),
        pictures=dict(row.pictures),
        said=tuple(row.said),
        trouble=tuple(row.trouble),
        filing=dict(row.filing),
        told=said_before(row),
    )
