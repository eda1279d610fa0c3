"""`Unloadings`: photos taken in, handed to a reader one by one, corrected, filed, undone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import timedelta
from pathlib import PurePath
from typing import Any

from sqlalchemy import func, select, update

from catalog import filing, studio
from catalog.columns import now
from catalog.database import Database
from catalog.errors import InvalidRecordError
from catalog.photos import KeptFiles
from catalog.records import Filing, Piece, PieceDraft
from catalog.tables import PhotoRow, PieceRow
from catalog.unloading import expected, pairs
from catalog.unloading.records import Told, Unloading, UnloadingPhoto, UnloadingState
from catalog.unloading.rows import (
    back_in,
    in_line,
    line_up,
    open_again,
    photo_record,
    photo_row,
    said_before,
    say_before,
    unloading_record,
    unloading_row,
)
from catalog.unloading.tables import UnloadingPhotoRow, UnloadingRow
from catalog.unloading.undo import filing_done, pieces_before, take_back
from vision.reading import PhotoReading
from vision.reading_json import reading_to_dict

__all__ = ["LOST_AFTER", "MOST_TRIES", "Unloadings"]

LOST_AFTER = timedelta(minutes=10)
"""A photo in hand this long on another computer has lost its reader. One photo takes seconds."""

MOST_TRIES = 2
"""A photo that stopped its reader this often is not tried again."""


_NOTHING_TOLD = Told()


class Unloadings:
    """Unloadings and their photos. Made by `Catalog`; each method is one transaction.

    A photo's bytes are on the disk before its row is, and a photo is filed in the transaction that says so:
    whatever is killed when, each photo is there once, in one state.
    """

    def __init__(self, database: Database, photos: KeptFiles, views: KeptFiles, pictures: KeptFiles) -> None:
        self.database = database
        self.photos = photos
        self.views = views
        self.pictures = pictures

    # --- unloadings

    def begin(self, load_id: int | None = None, *, files_itself: bool = False) -> Unloading:
        """Begin an unloading. Raises LoadNotFoundError."""
        with self.database.writing() as session:
            if load_id is not None:
                studio.load_row(session, load_id)
            row = UnloadingRow(
                load_id=load_id, files_itself=files_itself, stopped=False, made_at=now(), closed_at=None
            )
            session.add(row)
            session.flush()
            return unloading_record(row)

    def get(self, unloading_id: int) -> Unloading:
        """Give one unloading. Raises UnloadingNotFoundError."""
        with self.database.reading() as session:
            return unloading_record(unloading_row(session, unloading_id))

    def list(self, *, open_only: bool = True) -> tuple[Unloading, ...]:
        """Give unloadings, the newest first."""
        query = select(UnloadingRow).order_by(UnloadingRow.id.desc())
        if open_only:
            query = query.where(UnloadingRow.closed_at.is_(None))
        with self.database.reading() as session:
            return tuple(unloading_record(row) for row in session.scalars(query))

    def set_load(self, unloading_id: int, load_id: int | None) -> None:
        """Choose the load; pieces that this unloading put into the load before go along."""
        with self.database.writing() as session:
            row = unloading_row(session, unloading_id)
            if load_id is not None:
                studio.load_row(session, load_id)
            row.load_id = load_id
            if load_id is None:
                return
            for photo in row.photos:
                done = dict(photo.filing)
                for piece_id in done.get("loaded", ()):
                    piece = session.get_one(PieceRow, piece_id)
                    if piece.load_id == done["load_id"]:
                        piece.load_id = load_id
                if done:
                    filled = dict(done["filled"])
                    for key, changes in filled.items():
                        if "load_id" in changes and changes["load_id"][1] == done["load_id"]:
                            filled[key] = {**changes, "load_id": [changes["load_id"][0], load_id]}
                    photo.filing = {**done, "filled": filled, "load_id": load_id}

    def set_stopped(self, unloading_id: int, stopped: bool) -> None:
        """Stop the reading after the photo in hand, or let it go on."""
        with self.database.writing() as session:
            unloading_row(session, unloading_id).stopped = stopped

    def set_files_itself(self, unloading_id: int, files_itself: bool) -> None:
        """Say whether labelled photos are filed as soon as they are read."""
        with self.database.writing() as session:
            unloading_row(session, unloading_id).files_itself = files_itself

    def close(self, unloading_id: int) -> None:
        """End an unloading: the next photos begin another. Photos and filing stay as they are."""
        with self.database.writing() as session:
            unloading_row(session, unloading_id).closed_at = now()

    # --- photos in

    def take(
        self,
        unloading_id: int,
        data: bytes,
        name: str,
        subject: str | None = None,
        told: Told = _NOTHING_TOLD,
    ) -> tuple[UnloadingPhoto, bool]:
        """Keep a photo and put it in line; gives it, and whether it is new to this unloading.

        Raises UnloadingNotFoundError, CatalogFullError, ReadOnlyCatalogError, CatalogLockedError.
        """
        if not data:
            raise InvalidRecordError("photo", name, "a file that is not empty")
        sha256 = self.photos.keep(data)
        with self.database.writing() as session:
            unloading_row(session, unloading_id)
            self.photos.keep_again(sha256, data)
            plain = PurePath(name.replace("\\", "/")).name or "photo"
            row = session.scalar(
                select(UnloadingPhotoRow).where(
                    UnloadingPhotoRow.unloading_id == unloading_id, UnloadingPhotoRow.photo_sha256 == sha256
                )
            )
            if row is not None:
                if said_before(row).second_of is None:
                    back_in(row)
                return photo_record(row), False
            if session.get(PhotoRow, sha256) is None:
                session.add(PhotoRow(sha256=sha256, name=plain, size_bytes=len(data), kept_at=now()))
                session.flush()
            row = UnloadingPhotoRow(
                unloading_id=unloading_id,
                photo_sha256=sha256,
                name=plain,
                state="waiting",
                subject=subject,
                outlines={},
                reader=None,
                taken_at=None,
                tries=0,
                seconds=None,
                reading=None,
                pictures={},
                said=[],
                trouble=[],
                filing={},
            )
            say_before(row, told)
            session.add(row)
            session.flush()
            return photo_record(row), True

    def keep_beside(self, data: bytes, name: str) -> None:
        """Keep the second photo of a pair untouched; it stands in no line of its own."""
        if not data:
            raise InvalidRecordError("photo", name, "a file that is not empty")
        sha256 = self.photos.keep(data)
        with self.database.writing() as session:
            self.photos.keep_again(sha256, data)
            if session.get(PhotoRow, sha256) is None:
                plain = PurePath(name.replace("\\", "/")).name or "photo"
                session.add(PhotoRow(sha256=sha256, name=plain, size_bytes=len(data), kept_at=now()))

    def photos_of(self, unloading_id: int) -> tuple[UnloadingPhoto, ...]:
        """Give all photos of an unloading in the order they came."""
        query = (
            select(UnloadingPhotoRow)
            .where(UnloadingPhotoRow.unloading_id == unloading_id)
            .order_by(UnloadingPhotoRow.id)
        )
        with self.database.reading() as session:
            return tuple(photo_record(row) for row in session.scalars(query))

    def photo(self, photo_id: int) -> UnloadingPhoto:
        """Give one photo. Raises UnloadingNotFoundError."""
        with self.database.reading() as session:
            return photo_record(photo_row(session, photo_id))

    def state(self, unloading_id: int) -> UnloadingState:
        """Count the photos of an unloading by state."""
        mine = UnloadingPhotoRow.unloading_id == unloading_id
        with self.database.reading() as session:
            counts = session.execute(
                select(UnloadingPhotoRow.state, func.count()).where(mine).group_by(UnloadingPhotoRow.state)
            ).all()
            each = session.scalar(select(func.avg(UnloadingPhotoRow.seconds)).where(mine))
        return UnloadingState(
            {str(row[0]): int(row[1]) for row in counts}, None if each is None else float(each)
        )

    def leave_out(self, photo_id: int) -> None:
        """Leave a photo out; its file stays, and taking it in again brings it back."""
        with self.database.writing() as session:
            row = photo_row(session, photo_id)
            if row.state != "filed":
                row.state = "left_out"

    def bring_back(self, photo_id: int) -> None:
        """Undo `leave_out`: read where it was read, else in line again."""
        with self.database.writing() as session:
            row = photo_row(session, photo_id)
            if row.state == "left_out":
                back_in(row)

    def read_again(
        self,
        photo_id: int,
        *,
        subject: str | None = None,
        outlines: Mapping[str, Any] | None = None,
        told: Told | None = None,
    ) -> None:
        """Put a photo in line once more: as something else, with outlines drawn or more told by a person."""
        with self.database.writing() as session:
            row = photo_row(session, photo_id)
            row.subject = subject
            say_before(row, told, None if outlines is None else dict(outlines))
            line_up(row)

    def join(self, first_id: int, second_id: int) -> None:
        """Read two photos of the same pieces as one, the lamp having moved; places are the first one's.

        Raises
        ------
        InvalidRecordError : they are one photo, of two unloadings, filed, or joined already.
        """
        with self.database.writing() as session:
            pairs.join(session, first_id, second_id)

    def propose_pair(self, first_id: int, second_id: int | None) -> None:
        """Keep that two photos are likely a pair, so that a person is asked; None: the person said no."""
        with self.database.writing() as session:
            pairs.propose(session, first_id, second_id)

    def part(self, first_id: int) -> None:
        """Undo `join`: both photos are read by themselves again."""
        with self.database.writing() as session:
            pairs.part(session, first_id)

    def say(self, photo_id: int, said: Sequence[Mapping[str, Any]]) -> None:
        """Keep what a person says of a photo's pieces, one row a piece."""
        with self.database.writing() as session:
            photo_row(session, photo_id).said = [dict(one) for one in said]

    # --- the reader's side

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

    # --- filing and undoing

    def file(self, photo_id: int, drafts: Sequence[PieceDraft], load_id: int | None) -> Filing:
        """File a read photo: pieces, readings and the photo's state in one transaction.

        Raises
        ------
        The errors of `Catalog.file_photo`; nothing of this photo is filed then.
        """
        photo = self.photo(photo_id)
        reading = photo.reading
        if reading is None:
            raise InvalidRecordError("photo", photo.name, "one that has been read")
        filing.check_drafts(reading, drafts)
        views = {
            draft.tile_index: self.pictures.read(photo.pictures[str(draft.tile_index)])
            for draft in drafts
            if str(draft.tile_index) in photo.pictures
        }
        kept = {index: self.views.keep(view) for index, view in views.items()}
        with self.database.writing() as session:
            for index, view in views.items():
                self.views.keep_again(kept[index], view)
            row = photo_row(session, photo_id)
            before = pieces_before(session, drafts)
            done = filing.file_rows(session, photo.sha256, 1, reading, drafts, load_id, kept)
            if done.added or done.extended:
                told = filing_done(session, photo.sha256, before)
                told["load_id"] = load_id
                told["loaded"] = [
                    *(i for i in told["made"] if session.get_one(PieceRow, i).load_id == load_id),
                    *(int(i) for i, changes in told["filled"].items() if "load_id" in changes),
                ]
                told["codes"] = [*done.added, *done.extended]
                row.filing = told
            row.state, row.trouble = "filed", []
            return done

    def undo(self, photo_id: int) -> int:
        """Undo the filing of one photo (`catalog.unloading.undo`); gives how many pieces it touched.

        What is taken back is work in hand again, so its unloading is open again, and files nothing by itself.
        """
        with self.database.writing() as session:
            photo = photo_row(session, photo_id)
            open_again(unloading_row(session, photo.unloading_id))
            return take_back(session, [photo] if photo.state == "filed" else [])

    def undo_all(self, unloading_id: int) -> int:
        """Undo the filing of all photos of an unloading, as `undo` does; gives how many pieces it touched."""
        with self.database.writing() as session:
            row = unloading_row(session, unloading_id)
            open_again(row)
            return take_back(session, [photo for photo in row.photos if photo.state == "filed"])

    # --- what is expected

    def expected(self, load_id: int) -> tuple[Piece, ...]:
        """Give the pieces of a load that have no photo yet, by code."""
        with self.database.reading() as session:
            return expected.expected(session, load_id)

    def loads_of(self, codes: Sequence[str]) -> dict[str, int]:
        """Give the load of each piece that is known and has one, by code key."""
        with self.database.reading() as session:
            return expected.loads_of(session, codes)
