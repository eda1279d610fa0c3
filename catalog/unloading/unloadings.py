"""`Unloadings`: photos taken in, read (`catalog.unloading.line`), corrected, filed, undone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import PurePath
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from catalog import filing, studio
from catalog.columns import now
from catalog.database import Database
from catalog.errors import InvalidRecordError
from catalog.photos import KeptFiles
from catalog.records import Filing, Piece, PieceDraft
from catalog.tables import PhotoRow, PieceRow
from catalog.unloading import expected, filed_pairs, pairs
from catalog.unloading.line import LOST_AFTER, MOST_TRIES, ReadersLine
from catalog.unloading.records import Told, Unloading, UnloadingPhoto, UnloadingState
from catalog.unloading.rows import (
    back_in,
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
from catalog.unloading.undo import filed_again, filing_done, pieces_before, take_back
from vision.reading import PhotoReading

__all__ = ["LOST_AFTER", "MOST_TRIES", "Unloadings"]

_NOTHING_TOLD = Told()


class Unloadings(ReadersLine):
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

        One that was filed elsewhere as the second of a pair is given as it is there, and stands in no line.

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
            if (second := pairs.read_as_second(session, sha256)) is not None:
                return photo_record(second), False
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

    def filed_firsts(self, photo_id: int) -> tuple[UnloadingPhoto, ...]:
        """Give the filed photos that this one may be the second of a pair with, the newest first.

        They are of its own unloading or of the last days (`SECOND_WITHIN`), and were read alone.
        """
        with self.database.reading() as session:
            return filed_pairs.firsts(session, photo_id)

    def propose_first(self, photo_id: int, first_id: int) -> None:
        """Keep that a photo is likely the second of a filed one, so that a person is asked."""
        with self.database.writing() as session:
            filed_pairs.propose_first(session, photo_id, first_id)

    def part(self, first_id: int) -> None:
        """Undo `join`: both photos are read by themselves again."""
        with self.database.writing() as session:
            pairs.part(session, first_id)

    def say(self, photo_id: int, said: Sequence[Mapping[str, Any]]) -> None:
        """Keep what a person says of a photo's pieces, one row a piece."""
        with self.database.writing() as session:
            photo_row(session, photo_id).said = [dict(one) for one in said]

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
                row.filing = filed_again(row.filing, told)
            row.state, row.trouble = "filed", []
            return done

    def file_second(
        self,
        second_id: int,
        first_id: int,
        reading: PhotoReading,
        places: Mapping[int, int],
        views: Mapping[int, bytes] | None = None,
    ) -> tuple[str, ...]:
        """File the reading of a filed photo and of a later one together, all or nothing.

        The readings filed before stay, each naming its successor; undoing the second photo brings them back.

        Parameters
        ----------
        reading : of the first photo with the second beside it
        places : which filed reading each tile follows, tile index -> reading's number
        views : JPEG bytes of the straightened view by tile index

        Returns
        -------
        the codes of the pieces that gained a reading

        Raises
        ------
        InvalidRecordError : the first is not filed, the second is filed or joined, or no reading stands.
        PhotoMismatchError : the reading is not of these two photos.
        """
        wanted = {index: view for index, view in (views or {}).items() if index in places}
        kept = {index: self.views.keep(view) for index, view in wanted.items()}
        with self.database.writing() as session:
            for index, view in wanted.items():
                self.views.keep_again(kept[index], view)
            return filed_pairs.file_second(session, second_id, first_id, reading, places, kept)

    def undo(self, photo_id: int) -> int:
        """Undo the filing of one photo (`catalog.unloading.undo`); gives how many pieces it touched.

        What is taken back is work in hand again, so its unloading is open again, and files nothing by itself.
        """
        with self.database.writing() as session:
            return self._take_back(session, [photo_row(session, photo_id)])

    def undo_all(self, unloading_id: int) -> int:
        """Undo the filing of all photos of an unloading, as `undo` does; gives how many pieces it touched."""
        with self.database.writing() as session:
            row = unloading_row(session, unloading_id)
            open_again(row)
            return self._take_back(session, row.photos)

    def _take_back(self, session: Session, photos: Sequence[UnloadingPhotoRow]) -> int:
        """Take back what these photos filed, and later photos that were read together with one of them."""
        filed = {photo.id: photo for photo in photos if photo.state == "filed"}
        seconds = filed_pairs.seconds_of(session, filed)
        for photo in (*photos, *seconds.values()):
            open_again(unloading_row(session, photo.unloading_id))
        return take_back(session, list((filed | seconds).values()))

    # --- what is expected

    def expected(self, load_id: int) -> tuple[Piece, ...]:
        """Give the pieces of a load that have no photo yet, by code."""
        with self.database.reading() as session:
            return expected.expected(session, load_id)

    def loads_of(self, codes: Sequence[str]) -> dict[str, int]:
        """Give the load of each piece that is known and has one, by code key."""
        with self.database.reading() as session:
            return expected.loads_of(session, codes)
