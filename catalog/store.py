"""`Catalog`: the one door to all that is kept."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from types import TracebackType
from typing import Self, Unpack

from catalog import filing, migrate, piece_search, pieces
from catalog.bench.bench import Bench
from catalog.cards import Cards
from catalog.casebook.casebook import Casebook
from catalog.database import BUSY_TIMEOUT_S, Database, translated
from catalog.drive import refuse_network
from catalog.errors import ReadingNotFoundError
from catalog.faults import effective_faults
from catalog.home import DATABASE_NAME, Home, find_home
from catalog.people import watching as _watching  # noqa: F401 (it watches every transaction)
from catalog.people.changes import Changes
from catalog.people.passphrase import PassphraseHasher
from catalog.people.people import People, checked_person_name
from catalog.people.records import Person
from catalog.people.rights import Permission, not_mine, permission
from catalog.people.sign_in import SignIns
from catalog.photo_store import files_of
from catalog.piece_search import PieceFilter
from catalog.pieces import PieceFields
from catalog.preferences import Preferences
from catalog.records import (
    FactValue,
    Filing,
    Judgement,
    KeptPhoto,
    Piece,
    PieceDraft,
)
from catalog.restoring import finish_restore
from catalog.studio_records import StudioRecords
from catalog.tables import PhotoRow, ReadingRow
from catalog.unloading.unloadings import Unloadings
from catalog.ware.holders import Ware
from catalog.workshop import Workshop
from vision.reading import PhotoReading

__all__ = ["Catalog", "effective_faults"]


class Catalog(StudioRecords):
    """The studio's memory: bodies, recipes, loads, pieces with their photos, readings and people's words.

    Made by `Catalog.open`. Safe to share between threads; several programs may have one catalogue open.
    Each method is one transaction, kept whole or not at all. All errors are `catalog.errors.CatalogError`.
    """

    def __init__(self, home: Home, database: Database) -> None:
        self.home = home
        self.database = database
        self.photos = files_of(home, "photos")
        self.views = files_of(home, "views")
        self.casebook = Casebook(database)
        self.workshop = Workshop(database, files_of(home, "logs"))
        self.preferences = Preferences(database)
        self.ware = Ware(database)
        self.bench = Bench(database, self.photos)
        self.cards = Cards(database, self.photos)
        self.unloadings = Unloadings(database, self.photos, self.views, files_of(home, "unloading"))
        hasher = PassphraseHasher()
        self.people = People(database, hasher)
        self.sign_ins = SignIns(database.acting_as(None), hasher)
        self.changes = Changes(database)
        self._in_hands: dict[Person, Catalog] = {}

    @classmethod
    def open(
        cls, home: str | os.PathLike[str] | None = None, *, busy_timeout_s: float = BUSY_TIMEOUT_S
    ) -> Catalog:
        """Open the catalogue, making or upgrading it where needed. A restore that was cut off is settled.

        Parameters
        ----------
        home : its folder; None takes ``GLOSTBOOK_HOME``, then the user's data folder (see `find_home`)
        busy_timeout_s : how long to wait for another writer, seconds

        Raises
        ------
        NewerCatalogError, ReadOnlyCatalogError, CatalogLockedError, CatalogFullError, DamagedCatalogError,
        DatabaseAddressError, NetworkDriveError
        """
        place = find_home(home)
        file = place.database_file
        shared = file is not None and refuse_network(file.parent)
        with translated(str(place.folder)):
            finish_restore(place.folder)
            place.folder.mkdir(parents=True, exist_ok=True)
            if file is not None:
                file.parent.mkdir(parents=True, exist_ok=True)
        address = place.database_url or place.folder / DATABASE_NAME
        database = Database(address, busy_timeout_s=busy_timeout_s)
        try:
            migrate.migrate(database, place)
            if shared:
                database.leave_wal()
        except BaseException:
            database.close()
            raise
        return cls(place, database)

    def acting_as(self, person: Person | None) -> Catalog:
        """Give the same catalogue in the hands of a person: their rights hold, their name stands on changes.

        It shares this one's database; close only this one.
        """
        if person is None:
            return Catalog(self.home, self.database.acting_as(None))
        if person not in self._in_hands:
            self._in_hands[person] = Catalog(self.home, self.database.acting_as(person))
        return self._in_hands[person]

    def signed_by(self, name: str, *, is_person: bool = True) -> Catalog:
        """Give the same catalogue, asking for no rights, with a name on what is changed.

        Parameters
        ----------
        name : one of the people, where there are any: what is made is theirs then; else any name
        is_person : False for a name that is none of a person's

        Raises
        ------
        InvalidRecordError, PersonNotFoundError
        """
        person = self.people.named(name) if is_person and self.people.any() else None
        who = checked_person_name(name) if person is None else person.name
        return Catalog(self.home, self.database.signed_by(who, person))

    def may_write(self) -> bool:
        """Tell whether who has this catalogue in hands may file new things."""
        actor = self.database.actor
        return actor is None or actor.may_write

    def permission(self, thing: str, number: int | None = None) -> Permission:
        """Tell whether who has this catalogue in hands may change a thing, or make one, and who else may.

        Parameters
        ----------
        thing, number : as `catalog.people.rights.permission` has them
        """
        with self.database.reading() as session:
            return permission(session, self.database.actor, thing, number)

    def not_mine(self, codes: Sequence[str]) -> dict[str, Permission]:
        """Give those of the pieces with these codes that may not be changed; unknown codes are left out."""
        actor = self.database.actor
        if actor is None or actor.is_keeper:
            return {}
        with self.database.reading() as session:
            return not_mine(session, actor, codes)

    def close(self) -> None:
        """Close the database."""
        self.database.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    # --- filing

    def file_photo(
        self,
        data: bytes,
        reading: PhotoReading,
        drafts: Sequence[PieceDraft],
        load_id: int | None = None,
        views: Mapping[int, bytes] | None = None,
    ) -> Filing:
        """Keep a photo with its readings and pieces, all or nothing; the photo's file is safe on disk first.

        Parameters
        ----------
        data : the photo's bytes, untouched
        reading : what the photo says; its digest must be that of `data`
        drafts : one for each tile to file. Without a code the next free one is given. A code kept already
            adds a further reading to that piece and fills only what it did not know yet.
        load_id : the load the pieces come from
        views : JPEG bytes of the straightened view by tile index

        Returns
        -------
        Filing
            The pieces in the order of `drafts`, and which of them were added, gained a reading, or were filed
            from this photo before.

        Raises
        ------
        CodeTakenError : a code belongs to a piece of another body, glaze, kind or load.
        InvalidRecordError, PhotoMismatchError, BodyNotFoundError, RecipeNotFoundError, LoadNotFoundError,
        CatalogLockedError, CatalogFullError, ReadOnlyCatalogError
        """
        filing.check_filing(data, reading, drafts)
        sha256 = self.photos.keep(data)
        kept_views = {index: self.views.keep(view) for index, view in (views or {}).items()}
        with self.database.writing() as session:
            # Before this transaction nothing pointed at the files, so a check may have put them aside.
            self.photos.keep_again(sha256, data)
            for index, view in (views or {}).items():
                self.views.keep_again(kept_views[index], view)
            return filing.file_rows(session, sha256, len(data), reading, drafts, load_id, kept_views)

    def photo(self, sha256: str) -> KeptPhoto | None:
        """Give what is known of a kept photo, None if it was never filed."""
        with self.database.reading() as session:
            row = session.get(PhotoRow, sha256)
            return None if row is None else KeptPhoto(row.sha256, row.name, row.size_bytes, row.kept_at)

    def photo_bytes(self, sha256: str) -> bytes:
        """Give a kept photo, byte for byte. Raises PhotoMissingError, PhotoDamagedError."""
        return self.photos.read(sha256)

    def view_bytes(self, reading_id: int) -> bytes | None:
        """Give the straightened view filed with a reading, None if none was. Raises ReadingNotFoundError."""
        with self.database.reading() as session:
            row = session.get(ReadingRow, reading_id)
            if row is None:
                raise ReadingNotFoundError(reading_id)
            sha256 = row.view_sha256
        return None if sha256 is None else self.views.read(sha256)

    # --- pieces

    def pieces(
        self,
        *,
        limit: int | None = None,
        offset: int = 0,
        order: str = "newest",
        **filters: Unpack[PieceFilter],
    ) -> tuple[Piece, ...]:
        """Give the pieces that pass all filters, a page at a time.

        Parameters
        ----------
        limit, offset : the page; None gives all
        order : "newest", "oldest", "code", "glaze" (the outermost), "firing" (latest first) or "fault"
        filters : `load_id`, `kind`, `body_id`, `recipe_id` (this revision), `recipe_name` (any revision),
            `fault` (one that stands, see `effective_faults`), `faulty` (any or none), `finish`, `cone`
            (aimed at), `held` (somebody has it, or nobody), `text` (every word found in code, notes, shelf,
            fault or the names of clay, glaze, load, kiln), `codes`, `photo_sha256`, `deleted` (only the
            removed ones)
        """
        with self.database.reading() as session:
            return piece_search.select_pieces(session, filters, limit=limit, offset=offset, order=order)

    def photographed_codes(self) -> tuple[str, ...]:
        """Give the codes of pieces on the shelf that a photo was read of, in order."""
        with self.database.reading() as session:
            return piece_search.photographed_codes(session)

    def count_pieces(self, **filters: Unpack[PieceFilter]) -> int:
        """Count the pieces that pass all filters (those of `pieces`)."""
        with self.database.reading() as session:
            return piece_search.count_pieces(session, filters)

    def piece(self, code: str) -> Piece:
        """Give one piece by its code, in any case. Raises PieceNotFoundError with the nearest codes."""
        with self.database.reading() as session:
            return pieces.one_piece(session, code)

    def update_piece(self, code: str, /, **changes: Unpack[PieceFields]) -> Piece:
        """Change what is said of a piece. Raises PieceNotFoundError, CodeTakenError, InvalidRecordError."""
        with self.database.writing() as session:
            return pieces.update_piece(session, code, changes)

    def set_fact(self, code: str, key: str, value: FactValue | None) -> Piece:
        """Set one fact of a piece, such as ``application.coats``; None makes it unknown again."""
        with self.database.writing() as session:
            return pieces.set_fact(session, code, key, value)

    def delete_piece(self, code: str) -> None:
        """Take a piece off the shelf. Nothing is erased; `restore_piece` brings it back."""
        with self.database.writing() as session:
            pieces.delete_piece(session, code)

    def restore_piece(self, code: str) -> Piece:
        """Bring back the piece removed last under this code. Raises CodeTakenError, PieceNotFoundError."""
        with self.database.writing() as session:
            return pieces.restore_piece(session, code)

    def reserve_codes(self, count: int, kind: str = "tile") -> tuple[str, ...]:
        """Give codes for labels yet to be printed; nobody gets them again."""
        with self.database.writing() as session:
            return pieces.next_codes(session, count, kind)

    # --- a person's word

    def add_judgement(
        self, code: str, about: str, subject: str, verdict: str, by: str = "", note: str = ""
    ) -> Judgement:
        """Keep a person's word on a piece; it outranks the readings.

        Parameters
        ----------
        about, verdict : "fault" with "present", "absent" or "intended"; "cause" with "confirmed", "refuted"
            or "fix_worked"; "use" with any of these but "fix_worked"
        subject : the fault, cause or use meant
        by, note : who says so, and in which words
        """
        with self.database.writing() as session:
            return pieces.add_judgement(session, code, about, subject, verdict, by, note)

    def remove_judgement(self, judgement_id: int) -> Piece:
        """Take a judgement back; gives the piece as it stands then. Raises JudgementNotFoundError."""
        with self.database.writing() as session:
            return pieces.remove_judgement(session, judgement_id)
