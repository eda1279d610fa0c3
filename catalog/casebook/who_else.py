"""Who else shows it, over the whole catalogue: counted in the database, no piece's readings are opened."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import ColumnElement, Select, and_, case, exists, func, or_, select
from sqlalchemy.orm import Session, aliased

from catalog.casebook.tables import PieceBatchRow
from catalog.causes.exact_test import Tally
from catalog.causes.pattern_facts import family, looked_at, shows
from catalog.causes.wider_facts import Traits
from catalog.records import Piece
from catalog.tables import JudgementRow, LayerRow, LoadRow, PieceFaultRow, PieceRow, ReadingRow
from catalog.ware.sisters import Sister

__all__ = ["counted", "like_pieces", "sisters_of", "traits_of"]


def _seen() -> ColumnElement[bool]:
    """Give the condition that a photo or a person has looked at a piece (`pattern_facts.looked_at`)."""
    return or_(
        exists().where(ReadingRow.piece_id == PieceRow.id, ReadingRow.superseded_by_id.is_(None)),
        exists().where(
            JudgementRow.piece_id == PieceRow.id,
            JudgementRow.about == "fault",
            JudgementRow.removed_at.is_(None),
        ),
    )


def traits_of(session: Session, piece: Piece, fault: str) -> Traits:
    """Give what a piece shares with others."""
    batches = {
        row.kind: row.name_key
        for row in session.scalars(select(PieceBatchRow).where(PieceBatchRow.piece_id == piece.id))
    }
    return Traits(
        piece_id=piece.id,
        load_id=None if piece.load is None else piece.load.id,
        kiln=None if piece.load is None else piece.load.kiln.casefold() or None,
        shelf=None if piece.shelf is None else piece.shelf.casefold(),
        clay=None if piece.body is None else piece.body.name.casefold(),
        glazes=tuple(layer.name.casefold() for layer in piece.layers),
        bucket=batches.get("bucket"),
        clay_lot=batches.get("clay_lot"),
        shows=shows(piece, fault) or not looked_at(piece),
    )


def like_pieces(session: Session, piece: Piece, own: Traits, fault: str) -> tuple[Traits, ...]:
    """Give the looked-at pieces that carry the piece's outermost glaze, with bucket and layers only."""
    if own.glaze is None or (own.bucket is None and len(own.glazes) < 2):
        return ()
    layers = _layers(session, (piece.layers[-1].name,))
    bucket = aliased(PieceBatchRow)
    query = (
        select(PieceRow.id, bucket.name_key, _hit(session, fault))
        .outerjoin(bucket, and_(bucket.piece_id == PieceRow.id, bucket.kind == "bucket"))
        .where(PieceRow.deleted_at.is_(None), PieceRow.id.in_(_carrying((piece.layers[-1].name,))), _seen())
    )
    return tuple(
        Traits(
            piece_id=number,
            load_id=None,
            kiln=None,
            shelf=None,
            clay=None,
            glazes=layers.get(number, ()),
            bucket=in_bucket,
            clay_lot=None,
            shows=bool(affected),
        )
        for number, in_bucket, affected in session.execute(query)
    )


def counted(session: Session, piece: Piece, own: Traits, fault: str) -> tuple[Tally, ...]:
    """Count by lot of the clay and by shelf of the kiln: groups as large as the catalogue, so in SQL."""
    found = []
    if own.clay_lot is not None and piece.body is not None:
        lot = aliased(PieceBatchRow)
        query = select(PieceRow.id).join(lot, and_(lot.piece_id == PieceRow.id, lot.kind == "clay_lot"))
        query = query.where(PieceRow.body_id == piece.body.id)
        tally, _ = _tally(session, query, lot.name_key == own.clay_lot, fault, "clay lot", own.clay_lot)
        found.append(tally)
    if own.shelf is not None and own.kiln is not None and piece.load is not None and piece.shelf:
        query = select(PieceRow.id).join(LoadRow, LoadRow.id == PieceRow.load_id)
        query = query.where(LoadRow.kiln == piece.load.kiln, PieceRow.shelf.is_not(None))
        tally, loads = _tally(
            session, query, func.lower(PieceRow.shelf) == own.shelf, fault, "shelf", own.shelf
        )
        if loads > 1:
            found.append(tally)
    return tuple(tally for tally in found if tally.seen and tally.seen_else)


def _tally(
    session: Session, query: Select[int], inside: ColumnElement[bool], fault: str, trait: str, name: str
) -> tuple[Tally, int]:
    """Count the looked-at pieces of a query inside and outside a group, and over how many loads they go."""
    hit = _hit(session, fault)
    counts = query.with_only_columns(
        inside, func.count(PieceRow.id), func.sum(case((hit, 1), else_=0)), maintain_column_froms=True
    ).where(PieceRow.deleted_at.is_(None), _seen())
    numbers = {True: (0, 0), False: (0, 0)}
    for is_in, seen, affected in session.execute(counts.group_by(inside)):
        numbers[bool(is_in)] = (int(affected or 0), int(seen))
    loads = session.scalar(
        query.with_only_columns(func.count(PieceRow.load_id.distinct()), maintain_column_froms=True)
    )
    return Tally(trait, name, *numbers[True], *numbers[False]), int(loads or 0)


def _hit(session: Session, fault: str) -> ColumnElement[bool]:
    wanted = family(fault)
    every = session.scalars(select(PieceFaultRow.fault).distinct())
    words = [word for word in every if family(word) == wanted]
    return exists().where(PieceFaultRow.piece_id == PieceRow.id, PieceFaultRow.fault.in_(words))


def _carrying(names: Sequence[str]) -> Select[int]:
    return select(LayerRow.piece_id).where(LayerRow.name.in_(names))


def _layers(session: Session, names: Sequence[str]) -> dict[int, tuple[str, ...]]:
    """Give the glazes, from the clay outward, of all pieces that carry one of these."""
    query = (
        select(LayerRow.piece_id, LayerRow.name)
        .where(LayerRow.piece_id.in_(_carrying(names)))
        .order_by(LayerRow.piece_id, LayerRow.position)
    )
    found: dict[int, tuple[str, ...]] = {}
    for number, name in session.execute(query):
        found[number] = (*found.get(number, ()), name.casefold())
    return found


def sisters_of(session: Session, piece: Piece) -> tuple[Sister, ...]:
    """Give the pieces to look at or call back, as `ware.sisters` does, and those of the same bucket.

    Most shared first.
    """
    bucket = session.scalar(
        select(PieceBatchRow.name_key).where(
            PieceBatchRow.piece_id == piece.id, PieceBatchRow.kind == "bucket"
        )
    )
    shared = {
        "bucket": _codes(
            session,
            PieceRow.id.in_(
                select(PieceBatchRow.piece_id).where(
                    PieceBatchRow.kind == "bucket", PieceBatchRow.name_key == bucket
                )
            ),
        )
        if bucket is not None
        else set(),
        "load": _codes(session, PieceRow.load_id == piece.load.id) if piece.load is not None else set(),
        "glaze": _codes(session, PieceRow.id.in_(_same_glaze(piece))) if piece.layers else set(),
    }
    clay = piece.body.id if piece.body is not None else None
    of_clay = _codes(session, PieceRow.body_id == clay) if clay is not None else set()
    found = []
    for code in (shared["load"] | shared["bucket"] | (shared["glaze"] & of_clay)) - {piece.code}:
        shares = tuple(what for what, codes in shared.items() if code in codes)
        found.append(Sister(code, (*shares, "clay") if code in of_clay else shares))
    return tuple(sorted(found, key=lambda sister: (-len(sister.shares), sister.code)))


def _codes(session: Session, condition: ColumnElement[bool]) -> set[str]:
    return set(session.scalars(select(PieceRow.code).where(PieceRow.deleted_at.is_(None), condition)))


def _same_glaze(piece: Piece) -> Select[int]:
    recipes = [layer.recipe_id for layer in piece.layers if layer.recipe_id is not None]
    names = [layer.name.lower() for layer in piece.layers if layer.recipe_id is None]
    return select(LayerRow.piece_id).where(
        or_(
            LayerRow.recipe_id.in_(recipes),
            and_(LayerRow.recipe_id.is_(None), func.lower(LayerRow.name).in_(names)),
        )
    )
