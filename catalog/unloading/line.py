"""`ReadersLine`: photos handed to a reader one by one, and what it brings back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import timedelta
from typing import Any

from sqlalchemy import func, select, update

from catalog.columns import now
from catalog.database import Database
from catalog.photos import KeptFiles
from catalog.unloading.records import UnloadingPhoto
from catalog.unloading.rows import in_line, photo_record, photo_row
from catalog.unloading.tables import UnloadingPhotoRow, UnloadingRow
from vision.reading import PhotoReading
from vision.reading_json import reading_to_dict

__all__ = ["LOST_AFTER", "MOST_TRIES", "ReadersLine"]

LOST_AFTER = timedelta(minutes=10)
"""A photo in hand this long on another computer has lost its reader. One photo takes seconds."""

MOST_TRIES = 2
"""A photo that stopped its reader this often is not tried again."""


class ReadersLine:
    """The reader's side of `Unloadings`; each method is one transaction."""

    database: Database
    pictures: KeptFiles

    def unread(self) -> int:
        """Count the photos that want a reader: in line and not stopped, or left in hand."""
        wanted = (
            select(func.count(UnloadingPhotoRow.id))
            .join(UnloadingRow, UnloadingRow.id == UnloadingPhotoRow.unloading_id)
            .where(UnloadingPhotoRow.state.in_(("waiting", "in_hand")), UnloadingRow.stopped.is_(False))
        )
        with self.database.reading() as session:
            return session.scalar(wanted) or 0

    def claim(self, reader: str, unloading_id: int | None = None) -> UnloadingPhoto | None:
        """Take the next photo in hand; None where there is none. Of several readers one gets it."""
        query = in_line().order_by(UnloadingPhotoRow.id).limit(1)
        if unloading_id is not None:
            query = query.where(UnloadingPhotoRow.unloading_id == unloading_id)
        while True:
            with self.database.writing() as session:
                row = session.scalar(query)
                if row is None:
                    return None
                taken = session.execute(
                    update(UnloadingPhotoRow)
                    .where(UnloadingPhotoRow.id == row.id, UnloadingPhotoRow.state == "waiting")
                    .values(state="in_hand", reader=reader, taken_at=now(), tries=UnloadingPhotoRow.tries + 1)
                    .execution_options(synchronize_session=False)
                )
                if taken.rowcount == 1:  # type: ignore[attr-defined]
                    session.refresh(row)
                    return photo_record(row)

    def take_up(self, reader: str) -> int:
        """Put back in line what readers of this name (or lost ones) left in hand; gives how many.

        A photo that stopped its reader `MOST_TRIES` times is set aside with its trouble told.
        """
        lost = (UnloadingPhotoRow.reader == reader) | (UnloadingPhotoRow.taken_at < now() - LOST_AFTER)
        with self.database.writing() as session:
            rows = session.scalars(
                select(UnloadingPhotoRow).where(UnloadingPhotoRow.state == "in_hand", lost)
            ).all()
            for row in rows:
                if row.tries >= MOST_TRIES:
                    row.state = "failed"
                    row.trouble = ["Reading this photo stopped the program twice.", ""]
                else:
                    row.state = "waiting"
            return len(rows)

    def finish(
        self,
        photo_id: int,
        reading: PhotoReading,
        pictures: Mapping[str, bytes],
        said: Sequence[Mapping[str, Any]],
        trouble: Sequence[str] = (),
        seconds: float | None = None,
    ) -> UnloadingPhoto:
        """Keep what a photo says. One left out or lined up anew meanwhile stays so."""
        kept = {name: self.pictures.keep(data) for name, data in pictures.items()}
        with self.database.writing() as session:
            row = photo_row(session, photo_id)
            if row.state == "in_hand":
                row.state = "failed" if reading.error is not None else "read"
                row.reading = None if reading.error is not None else reading_to_dict(reading)
                row.pictures, row.said = kept, [dict(one) for one in said]
                row.trouble, row.seconds = list(trouble), seconds
            return photo_record(row)

    def tell(self, photo_id: int, trouble: Sequence[str]) -> None:
        """Keep why a photo could not be filed; an empty sequence takes it back."""
        with self.database.writing() as session:
            photo_row(session, photo_id).trouble = list(trouble)
