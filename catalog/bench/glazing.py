"""Pieces glazed together: kept, asked for, taken back. Each function runs in the caller's session."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from sqlalchemy import Select, func, select
from sqlalchemy.orm import Session, selectinload

from catalog import pieces, studio, values
from catalog.bench.buckets import bucket_row
from catalog.bench.codes import MOST_CODES
from catalog.bench.records import METHODS, Glazing, GlazingDraft, GlazingLayer
from catalog.bench.tables import (
    BucketRow,
    GlazingBeforeRow,
    GlazingLayerRow,
    GlazingPieceRow,
    GlazingRow,
    PieceEventRow,
)
from catalog.casebook.tables import PieceBatchRow
from catalog.columns import new_uid, now
from catalog.errors import InvalidRecordError, NothingToUndoError
from catalog.new_pieces import new_row
from catalog.people.tables import OwnedRow
from catalog.records import Layer
from catalog.tables import PieceRow

__all__ = [
    "checked_draft",
    "earlier_glazing",
    "glazings_of",
    "keep_glazing",
    "last_glazing",
    "list_glazings",
    "made_pieces",
    "undo_glazing",
]


def checked_draft(draft: GlazingDraft) -> None:
    """Refuse what cannot be kept, before anything is written. Raises InvalidRecordError."""
    if not draft.layers:
        raise InvalidRecordError("layers", (), "at least one bucket")
    if not 0 <= draft.new <= MOST_CODES:
        raise InvalidRecordError("new pieces", draft.new, f"a whole number from 0 to {MOST_CODES}")
    if not draft.codes and not draft.new:
        raise InvalidRecordError("pieces", (), "codes of pieces, or how many new ones")
    values.checked_amount("foot_gap_mm", draft.foot_gap_mm, high=100.0)
    for layer in draft.layers:
        values.checked_amount("seconds", layer.seconds, high=600.0)
        values.checked_layers([Layer(None, layer.bucket, layer.coats, layer.method)])
        if layer.method is not None:
            values.checked_choice("method", layer.method, METHODS)


def keep_glazing(session: Session, draft: GlazingDraft, photo_sha256: str | None = None) -> Glazing:
    """Keep that pieces were glazed, make those that are new, and say what each is covered with now.

    Layers go on top of those that a piece has, unless it was only planned with the very same ones: then they
    are filled in.

    Raises
    ------
    BucketNotFoundError, BodyNotFoundError, InvalidRecordError : nothing is kept then.
    """
    buckets = [bucket_row(session, layer.bucket) for layer in draft.layers]
    if draft.body_id is not None:
        studio.body_row(session, draft.body_id)
    day = values.checked_day("on", draft.on) or now().date()
    layers = [
        Layer(bucket.recipe_id, bucket.name, layer.coats, layer.method)
        for bucket, layer in zip(buckets, draft.layers, strict=True)
    ]
    codes = list({values.code_key(code): code for code in draft.codes}.values())
    rows = pieces.find_rows(session, codes)
    unknown = [code for code, row in zip(codes, rows, strict=True) if row is None]
    made = made_pieces(session, draft.kind, draft.body_id, codes=unknown, count=draft.new)
    old = [row for row in rows if row is not None]
    glazed_before = _glazed_ids(session, [row.id for row in old])
    row = GlazingRow(
        glazed_on=day,
        bisque_wiped=draft.bisque_wiped,
        foot_wiped=draft.foot_wiped,
        overlap=draft.overlap,
        touches=draft.touches,
        catch=draft.catch,
        foot_gap_mm=draft.foot_gap_mm,
        photo_sha256=photo_sha256,
        note=draft.note.strip(),
        said_at=now(),
        removed_at=None,
        layers=[
            GlazingLayerRow(
                position=position,
                bucket_id=bucket.id,
                kind=bucket.kind,
                name=bucket.name,
                method=layer.method,
                coats=layer.coats,
                seconds=layer.seconds,
                gravity=bucket.gravity,
            )
            for position, (bucket, layer) in enumerate(zip(buckets, draft.layers, strict=True))
        ],
    )
    session.add(row)
    session.flush()
    fresh = {piece.id for piece in made}
    entry = new_uid()
    everyone = [*old, *made]
    batches = _buckets_of(session, [piece.id for piece in everyone])
    # One flush writes the batch: twenty pieces cost hardly more than one.
    with session.no_autoflush:
        for position, piece in enumerate(everyone):
            before = _state(piece, batches.get(piece.id))
            _cover(session, piece, layers, planned=piece.id in fresh or piece.id not in glazed_before)
            if piece.body_id is None:
                piece.body_id = draft.body_id
            _set_bucket(session, piece.id, batches.get(piece.id), buckets[-1].code)
            row.pieces.append(GlazingPieceRow(position=position, piece_id=piece.id, made=piece.id in fresh))
            after = _state(piece, None) | {"bucket": buckets[-1].code}
            session.add(GlazingBeforeRow(glazing_id=row.id, piece_id=piece.id, before=before, after=after))
            session.add(
                PieceEventRow(
                    piece_id=piece.id,
                    kind="stage",
                    stage="glazed",
                    happened_on=day,
                    reason="",
                    note="",
                    made=False,
                    entry=entry,
                    glazing_id=row.id,
                    said_at=now(),
                    removed_at=None,
                )
            )
    session.flush()
    for piece in old:
        if piece.readings or piece.judgements:  # no others have faults to derive again
            pieces.refreshed(session, piece)
    return _records(session, [row])[0]


def made_pieces(
    session: Session, kind: str, body_id: int | None, *, codes: Sequence[str] = (), count: int = 0
) -> list[PieceRow]:
    """Make pieces with these codes, and as many more with the next free ones."""
    given = [values.checked_code(code) for code in codes]
    for code in given:
        pieces.note_code(session, code)
    while len(given) < len(codes) + count:
        wanted = len(codes) + count - len(given)
        fresh = pieces.next_codes(session, wanted, kind)
        keys = {values.code_key(code) for code in fresh}
        taken = set(
            session.scalars(
                select(PieceRow.code_key).where(PieceRow.code_key.in_(keys), PieceRow.deleted_at.is_(None))
            )
        ) | {values.code_key(code) for code in given}
        given += [code for code in fresh if values.code_key(code) not in taken]
    values.checked_choice("kind", kind, ("tile", "ware"))
    made = [new_row(session, code, kind, body_id=body_id) for code in given]
    session.flush()
    return made


def _cover(session: Session, piece: PieceRow, layers: Sequence[Layer], *, planned: bool) -> None:
    there = [
        Layer(each.recipe_id, each.name, each.coats, each.method, each.raw_thickness_mm)
        for each in piece.layers
    ]
    same = [each.name.casefold() for each in there] == [each.name.casefold() for each in layers]
    pieces.set_layers(session, piece, layers if planned and same else [*there, *layers])


def _glazed_ids(session: Session, ids: Sequence[int]) -> set[int]:
    query = (
        select(GlazingPieceRow.piece_id)
        .join(GlazingRow, GlazingRow.id == GlazingPieceRow.glazing_id)
        .where(GlazingPieceRow.piece_id.in_(ids), GlazingRow.removed_at.is_(None))
    )
    return set(session.scalars(query))


def _buckets_of(session: Session, piece_ids: Sequence[int]) -> dict[int, PieceBatchRow]:
    query = select(PieceBatchRow).where(PieceBatchRow.piece_id.in_(piece_ids), PieceBatchRow.kind == "bucket")
    return {row.piece_id: row for row in session.scalars(query)}


def _set_bucket(session: Session, piece_id: int, row: PieceBatchRow | None, name: str | None) -> None:
    if name is None:
        if row is not None:
            session.delete(row)
    elif row is None:
        session.add(PieceBatchRow(piece_id=piece_id, kind="bucket", name=name, name_key=name.casefold()))
    else:
        row.name, row.name_key = name, name.casefold()


def _state(piece: PieceRow, batch: PieceBatchRow | None) -> dict[str, Any]:
    return {
        "layers": [
            [each.recipe_id, each.name, each.coats, each.method, each.raw_thickness_mm]
            for each in piece.layers
        ],
        "bucket": None if batch is None else batch.name,
        "body_id": piece.body_id,
    }


# --- asked for


def _standing() -> Select[GlazingRow]:
    return (
        select(GlazingRow)
        .options(
            selectinload(GlazingRow.layers).selectinload(GlazingLayerRow.bucket),
            selectinload(GlazingRow.pieces),
        )
        .where(GlazingRow.removed_at.is_(None))
    )


def list_glazings(session: Session, limit: int | None = None) -> tuple[Glazing, ...]:
    """Give the glazings that stand, the last said first."""
    rows = session.scalars(_standing().order_by(GlazingRow.id.desc()).limit(limit)).all()
    return _records(session, rows)


def last_glazing(session: Session, bucket: str | None = None) -> Glazing | None:
    """Give the last glazing that stands; with a bucket, the last whose outermost layer came from it."""
    query = _standing().order_by(GlazingRow.id.desc()).limit(1)
    if bucket is not None:
        outer = (
            select(func.max(GlazingLayerRow.position))
            .where(GlazingLayerRow.glazing_id == GlazingRow.id)
            .correlate(GlazingRow)
            .scalar_subquery()
        )
        query = query.where(
            GlazingRow.layers.any(
                (GlazingLayerRow.bucket_id == bucket_row(session, bucket).id)
                & (GlazingLayerRow.position == outer)
            )
        )
    rows = session.scalars(query).all()
    return _records(session, rows)[0] if rows else None


def glazings_of(session: Session, piece_ids: Iterable[int]) -> dict[int, tuple[Glazing, ...]]:
    """Give the glazings of each piece by its number, the first first; pieces never glazed are left out."""
    wanted = list(piece_ids)
    mine = select(GlazingPieceRow.glazing_id).where(GlazingPieceRow.piece_id.in_(wanted))
    rows = session.scalars(_standing().where(GlazingRow.id.in_(mine)).order_by(GlazingRow.id)).all()
    found: dict[int, tuple[Glazing, ...]] = {}
    for row, record in zip(rows, _records(session, rows), strict=True):
        for part in row.pieces:
            if part.piece_id in wanted:
                found[part.piece_id] = (*found.get(part.piece_id, ()), record)
    return found


def earlier_glazing(session: Session, glazing_id: int, bucket_code: str) -> bool:
    """Tell whether something was glazed from a bucket before a glazing."""
    query = (
        select(func.count())
        .select_from(GlazingLayerRow)
        .join(BucketRow, BucketRow.id == GlazingLayerRow.bucket_id)
        .join(GlazingRow, GlazingRow.id == GlazingLayerRow.glazing_id)
        .where(BucketRow.code == bucket_code, GlazingRow.removed_at.is_(None), GlazingRow.id < glazing_id)
    )
    return bool(session.scalar(query))


def _records(session: Session, rows: Sequence[GlazingRow]) -> tuple[Glazing, ...]:
    ids = {part.piece_id for row in rows for part in row.pieces}
    found = session.execute(
        select(PieceRow.id, PieceRow.code).where(PieceRow.id.in_(ids), PieceRow.deleted_at.is_(None))
    )
    codes = {row.id: row.code for row in found}
    return tuple(_record(row, codes) for row in rows)


def _record(row: GlazingRow, codes: dict[int, str]) -> Glazing:
    parts = [part for part in row.pieces if part.piece_id in codes]
    return Glazing(
        id=row.id,
        glazed_on=row.glazed_on,
        layers=tuple(
            GlazingLayer(
                bucket=None if layer.bucket is None else layer.bucket.code,
                kind=layer.kind,
                name=layer.name,
                method=layer.method,
                coats=layer.coats,
                seconds=layer.seconds,
                gravity=layer.gravity,
            )
            for layer in row.layers
        ),
        codes=tuple(codes[part.piece_id] for part in parts),
        made=tuple(codes[part.piece_id] for part in parts if part.made),
        said_at=row.said_at,
        bisque_wiped=row.bisque_wiped,
        foot_wiped=row.foot_wiped,
        overlap=row.overlap,
        touches=row.touches,
        catch=row.catch,
        foot_gap_mm=row.foot_gap_mm,
        photo_sha256=row.photo_sha256,
        note=row.note,
    )


# --- taken back


def undo_glazing(
    session: Session, glazing_id: int | None = None, owner_id: int | None = None
) -> tuple[str, ...]:
    """Take a glazing back, the last one (of this owner) if none is named; gives the codes it had.

    Pieces that it made go off the shelf unless they were photographed since; the others get back what they
    were, unless somebody changed that since. Nothing is erased.
    """
    query = _standing().order_by(GlazingRow.id.desc()).limit(1)
    if glazing_id is not None:
        query = query.where(GlazingRow.id == glazing_id)
    elif owner_id is not None:
        mine = select(OwnedRow.uid).where(OwnedRow.person_id == owner_id)
        query = query.where(GlazingRow.uid.in_(mine))
    row: GlazingRow | None = session.scalars(query).first()
    if row is None:
        raise NothingToUndoError("glazing")
    codes = _records(session, [row])[0].codes
    row.removed_at = now()
    for event in session.scalars(
        select(PieceEventRow).where(PieceEventRow.glazing_id == row.id, PieceEventRow.removed_at.is_(None))
    ):
        event.removed_at = now()
    kept = {
        each.piece_id: each
        for each in session.scalars(select(GlazingBeforeRow).where(GlazingBeforeRow.glazing_id == row.id))
    }
    batches = _buckets_of(session, list(kept))
    for part in row.pieces:
        piece = session.get_one(PieceRow, part.piece_id)
        if part.made and not piece.readings:
            piece.deleted_at = piece.deleted_at or now()
        elif part.piece_id in kept:
            _give_back(session, piece, batches.get(piece.id), kept[part.piece_id])
    session.flush()
    return codes


def _give_back(
    session: Session, piece: PieceRow, batch: PieceBatchRow | None, kept: GlazingBeforeRow
) -> None:
    there, before, after = _state(piece, batch), kept.before, kept.after
    if there["layers"] == after["layers"]:
        pieces.set_layers(session, piece, [Layer(*each) for each in before["layers"]])
    if there["bucket"] == after["bucket"]:
        _set_bucket(session, piece.id, batch, before["bucket"])
    if there["body_id"] == after["body_id"]:
        piece.body_id = before["body_id"]
    session.flush()
    if piece.deleted_at is None:
        pieces.refreshed(session, piece)
