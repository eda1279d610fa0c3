"""`Bench`: the part of the catalogue about the work before the firing."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import PurePath

from catalog import piece_search, pieces, studio
from catalog.bench import buckets, events, glazing, running
from catalog.bench.records import Bucket, Glazing, GlazingDraft, Progress
from catalog.bench.warnings import LoadWarning, look_over
from catalog.columns import now
from catalog.database import Database
from catalog.photos import KeptFiles
from catalog.records import Piece
from catalog.tables import PhotoRow

__all__ = ["Bench"]


class Bench:
    """Buckets, glazings, stages, losses, and what to look at before a load is packed.

    Made by `Catalog`; each method is one transaction. All errors are `catalog.errors.CatalogError`.
    """

    def __init__(self, database: Database, photos: KeptFiles) -> None:
        self.database = database
        self.photos = photos

    def _members_own(self) -> int | None:
        """Give who may undo only what is theirs, None where it may be anybody's."""
        actor = self.database.actor
        return None if actor is None or actor.is_keeper else actor.id

    # --- buckets

    def add_bucket(
        self,
        name: str,
        *,
        kind: str = "glaze",
        code: str | None = None,
        recipe_id: int | None = None,
        mixed_on: date | None = None,
        gravity: float | None = None,
        note: str = "",
    ) -> Bucket:
        """Keep a bucket of a glaze or colour; without a code it gets the next free one, such as B-0003.

        Without a recipe the newest revision of that name is taken, where one is kept.

        Raises
        ------
        CodeTakenError, InvalidRecordError, RecipeNotFoundError
        """
        with self.database.writing() as session:
            return buckets.add_bucket(
                session,
                name,
                kind=kind,
                code=code,
                recipe_id=recipe_id,
                mixed_on=mixed_on,
                gravity=gravity,
                note=note,
            )

    def buckets(self) -> tuple[Bucket, ...]:
        """Give the buckets that stand, the newest first."""
        with self.database.reading() as session:
            return buckets.list_buckets(session)

    def bucket(self, code: str) -> Bucket:
        """Give a bucket by the code on its label (or its glaze's name: the newest). BucketNotFoundError."""
        with self.database.reading() as session:
            return buckets.bucket_record(buckets.bucket_row(session, code))

    def weigh_bucket(self, code: str, gravity: float | None, on: date | None = None) -> Bucket:
        """Keep a bucket's gravity (g/ml) as measured. Raises BucketNotFoundError, InvalidRecordError."""
        with self.database.writing() as session:
            return buckets.weigh_bucket(session, code, gravity, on)

    def remove_bucket(self, code: str) -> Bucket:
        """Take a bucket away, empty or thrown out; nothing is erased. Raises BucketNotFoundError."""
        with self.database.writing() as session:
            return buckets.remove_bucket(session, code)

    def restore_bucket(self, code: str) -> Bucket:
        """Bring a bucket back. Raises BucketNotFoundError, CodeTakenError."""
        with self.database.writing() as session:
            return buckets.restore_bucket(session, code)

    # --- glazing

    def glaze(self, draft: GlazingDraft) -> Glazing:
        """Keep that pieces were glazed together: layers, bucket and stage of each, the new ones made.

        Raises
        ------
        BucketNotFoundError, BodyNotFoundError, InvalidRecordError, CatalogLockedError, CatalogFullError,
        ReadOnlyCatalogError : nothing is kept then.
        """
        glazing.checked_draft(draft)
        sha256 = None if draft.photo is None else self.photos.keep(draft.photo)
        with self.database.writing() as session:
            if sha256 is not None and draft.photo is not None:
                self.photos.keep_again(sha256, draft.photo)
                if session.get(PhotoRow, sha256) is None:
                    session.add(
                        PhotoRow(
                            sha256=sha256,
                            name=PurePath(draft.photo_name.replace("\\", "/")).name or "raw-coat.jpg",
                            size_bytes=len(draft.photo),
                            kept_at=now(),
                        )
                    )
                    session.flush()
            return glazing.keep_glazing(session, draft, sha256)

    def glazings(self, limit: int | None = None) -> tuple[Glazing, ...]:
        """Give the glazings that stand, the last said first."""
        with self.database.reading() as session:
            return glazing.list_glazings(session, limit)

    def last_glazing(self, bucket: str | None = None) -> Glazing | None:
        """Give the last glazing; with a bucket, the last whose outermost layer came from it."""
        with self.database.reading() as session:
            return glazing.last_glazing(session, bucket)

    def glazings_of(self, code: str) -> tuple[Glazing, ...]:
        """Give the glazings of one piece, the first first. Raises PieceNotFoundError."""
        with self.database.reading() as session:
            row = pieces.piece_row(session, code)
            return glazing.glazings_of(session, [row.id]).get(row.id, ())

    def first_from_bucket(self, glazed: Glazing) -> bool:
        """Tell whether a glazing was the first from the bucket of its outermost layer."""
        code = glazed.layers[-1].bucket
        with self.database.reading() as session:
            return code is not None and not glazing.earlier_glazing(session, glazed.id, code)

    def undo_glazing(self, glazing_id: int | None = None) -> tuple[str, ...]:
        """Take a glazing back (the last one, a member's own last), with all it did; gives its codes.

        Raises
        ------
        NothingToUndoError
        """
        with self.database.writing() as session:
            return glazing.undo_glazing(session, glazing_id, self._members_own())

    # --- stages, cracks, losses

    def make_pieces(
        self,
        count: int,
        *,
        kind: str = "tile",
        body_id: int | None = None,
        stage: str = "made",
        on: date | None = None,
    ) -> tuple[str, ...]:
        """Make new pieces with codes, to scratch in or print. BodyNotFoundError, InvalidRecordError."""
        with self.database.writing() as session:
            return events.make_pieces(session, count, kind, body_id, stage, on)

    def set_stage(self, codes: Sequence[str], stage: str, on: date | None = None) -> None:
        """Say that pieces reached a stage on a day (today). PieceNotFoundError, InvalidRecordError."""
        with self.database.writing() as session:
            events.keep_event(session, "stage", codes, stage, on=on)

    def crack_seen(self, codes: Sequence[str], stage: str, on: date | None = None) -> None:
        """Say at which stage a crack was first seen. PieceNotFoundError, InvalidRecordError."""
        with self.database.writing() as session:
            events.keep_event(session, "crack", codes, stage, on=on)

    def lose(
        self, codes: Sequence[str], stage: str, reason: str, *, on: date | None = None, note: str = ""
    ) -> None:
        """Say that pieces were lost; they stay in the catalogue. PieceNotFoundError, InvalidRecordError."""
        with self.database.writing() as session:
            events.keep_event(session, "loss", codes, stage, on=on, reason=reason, note=note)

    def last_said(self, kind: str) -> tuple[str, ...]:
        """Give the codes of the last "stage", "crack" or "loss" said, that `undo` would take back."""
        with self.database.reading() as session:
            return events.last_codes(session, kind, self._members_own())

    def undo(self, kind: str) -> tuple[str, ...]:
        """Take back the last "stage", "crack" or "loss" (a member's own last); gives its codes.

        Raises
        ------
        NothingToUndoError
        """
        with self.database.writing() as session:
            return events.undo_event(session, kind, self._members_own())

    def progress(self, codes: Sequence[str] | None = None) -> dict[str, Progress]:
        """Give how far pieces are, by code; of those named, or of all of which something was said."""
        with self.database.reading() as session:
            if codes is None:
                return events.progress_of(session)
            ids = piece_search.piece_ids(session, {"codes": codes})
            return events.progress_of(session, ids)

    # --- before loading

    def to_load(self) -> tuple[Piece, ...]:
        """Give the pieces that are glazed, in no load yet, not lost and not photographed, by code."""
        with self.database.reading() as session:
            said = events.progress_of(session, piece_search.unloaded_ids())
            ready = [code for code, each in said.items() if each.stage == "glazed" and each.loss is None]
            return piece_search.select_pieces(session, {"codes": ready}, limit=None, offset=0, order="code")

    def warnings(self, found: Sequence[Piece]) -> tuple[LoadWarning, ...]:
        """Give what to look at on pieces before they are loaded (`catalog.bench.warnings`)."""
        named = {layer.name.casefold() for piece in found for layer in piece.layers}
        with self.database.reading() as session:
            recipes = studio.list_recipes(session, latest_only=False)
            runs = running.glaze_runs(session, named, recipes)
            glazed = glazing.glazings_of(session, [piece.id for piece in found])
        return look_over(found, glazed, {recipe.id: recipe for recipe in recipes}, runs)
