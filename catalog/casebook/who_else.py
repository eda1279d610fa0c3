"""Who else shows it, over the whole catalogue: counted in the database, no piece's readings are opened."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import ColumnElement, Select, and_, exists, func, or_, select
from sqlalchemy.orm import Session, aliased

from catalog.casebook.tables import PieceBatchRow
from catalog.causes.pattern_facts import family, looked_at, shows
from catalog.causes.wider_facts import Traits
from catalog.records import Piece
from catalog.tables import BodyRow, JudgementRow, LayerRow, LoadRow, PieceFaultRow, PieceRow, ReadingRow
from catalog.ware.sisters import Sister

__all__ = ["like_pieces", "sisters_of", "traits_of"]


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
    """Give the looked-at pieces that share glaze, clay lot's clay or kiln with a piece, readings unopened."""
    reasons: list[ColumnElement[bool]] = []
    names = tuple({layer.name for layer in piece.layers[-1:]})
    if names and (own.bucket is not None or len(own.glazes) > 1):
        reasons.append(PieceRow.id.in_(select(LayerRow.piece_id).where(LayerRow.name.in_(names))))
    if own.clay_lot is not None and piece.body is not None:
        reasons.append(PieceRow.body_id == piece.body.id)
    if own.shelf is not None and own.kiln is not None and piece.load is not None:
        reasons.append(LoadRow.kiln == piece.load.kiln)
    if not reasons:
        return ()
    bucket, lot = aliased(PieceBatchRow), aliased(PieceBatchRow)
    wanted = family(fault)
    words = [
        word for word in session.scalars(select(PieceFaultRow.fault).distinct()) if family(word) == wanted
    ]
    hit = exists().where(PieceFaultRow.piece_id == PieceRow.id, PieceFaultRow.fault.in_(words))
    query = (
        select(
            PieceRow.id,
            PieceRow.load_id,
            LoadRow.kiln,
            PieceRow.shelf,
            BodyRow.name,
            bucket.name_key,
            lot.name_key,
            hit,
        )
        .outerjoin(LoadRow, LoadRow.id == PieceRow.load_id)
        .outerjoin(BodyRow, BodyRow.id == PieceRow.body_id)
        .outerjoin(bucket, and_(bucket.piece_id == PieceRow.id, bucket.kind == "bucket"))
        .outerjoin(lot, and_(lot.piece_id == PieceRow.id, lot.kind == "clay_lot"))
        .where(PieceRow.deleted_at.is_(None), _seen(), or_(*reasons))
    )
    rows = session.execute(query).all()
    layers = _layers(session, names) if names else {}
    return tuple(
        Traits(
            piece_id=number,
            load_id=load,
            kiln=_key(kiln),
            shelf=_key(shelf),
            clay=_key(clay),
            glazes=layers.get(number, ()),
            bucket=in_bucket,
            clay_lot=of_lot,
            shows=bool(affected),
        )
        for number, load, kiln, shelf, clay, in_bucket, of_lot, affected in rows
    )


def _key(name: str | None) -> str | None:
    return name.casefold() if name else None


def _layers(session: Session, names: Sequence[str]) -> dict[int, tuple[str, ...]]:
    """Give the glazes, from the clay outward, of all pieces that carry one of these."""
    carrying = select(LayerRow.piece_id).where(LayerRow.name.in_(names))
    query = (
        select(LayerRow.piece_id, LayerRow.name)
        .where(LayerRow.piece_id.in_(carrying))
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
