"""Pieces found by what is known of them: filters, orders, counts, and the query that loads whole records."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any, TypedDict

from sqlalchemy import ColumnElement, Select, exists, func, or_, select
from sqlalchemy.orm import Session, joinedload, selectinload

from catalog import studio, values
from catalog.casebook.tables import GlazeEffectRow
from catalog.faults import fault_word
from catalog.records import PIECE_KINDS, Piece
from catalog.row_records import RecordMaker
from catalog.tables import BodyRow, LayerRow, LoadRow, PieceFaultRow, PieceRow, ReadingRow, RecipeRow
from catalog.ware.tables import HolderRow

__all__ = [
    "PIECE_ORDERS",
    "PieceFilter",
    "count_pieces",
    "loading",
    "passing",
    "photographed_codes",
    "piece_ids",
    "pieces_by_id",
    "record_maker",
    "select_pieces",
    "unloaded_ids",
]

PIECE_ORDERS = ("newest", "oldest", "code", "glaze", "firing", "fault")


class PieceFilter(TypedDict, total=False):
    """What `pieces` and `count_pieces` filter by; what is None or left out does not filter."""

    load_id: int | None
    kind: str | None
    body_id: int | None
    recipe_id: int | None
    recipe_name: str | None
    fault: str | None
    faulty: bool | None
    finish: str | None
    cone: str | None
    held: bool | None
    text: str | None
    codes: Sequence[str] | None
    photo_sha256: str | None
    deleted: bool


def loading() -> Select[PieceRow]:
    """Select pieces with all that their records hold: a fixed number of queries, however many pieces."""
    return select(PieceRow).options(
        selectinload(PieceRow.body),
        selectinload(PieceRow.load).options(selectinload(LoadRow.cones), selectinload(LoadRow.segments)),
        selectinload(PieceRow.layers).options(joinedload(LayerRow.recipe)),
        selectinload(PieceRow.readings),
        selectinload(PieceRow.judgements),
    )


def record_maker(session: Session) -> RecordMaker:
    """Give what makes records of pieces, knowing which effects their glazes are meant to have."""
    effects: dict[str, frozenset[str]] = {}
    for key, effect in session.execute(select(GlazeEffectRow.glaze_key, GlazeEffectRow.effect)):
        effects[key] = effects.get(key, frozenset()) | {effect}
    return RecordMaker(effects)


def _conditions(filters: PieceFilter) -> list[ColumnElement[bool]]:
    studio.only(filters, PieceFilter)
    deleted = filters.get("deleted", False)
    found: list[ColumnElement[bool]] = [
        PieceRow.deleted_at.is_not(None) if deleted else PieceRow.deleted_at.is_(None)
    ]
    if (load_id := filters.get("load_id")) is not None:
        found.append(PieceRow.load_id == load_id)
    if (kind := filters.get("kind")) is not None:
        found.append(PieceRow.kind == values.checked_choice("kind", kind, PIECE_KINDS))
    if (body_id := filters.get("body_id")) is not None:
        found.append(PieceRow.body_id == body_id)
    if (recipe_id := filters.get("recipe_id")) is not None:
        found.append(exists().where(LayerRow.piece_id == PieceRow.id, LayerRow.recipe_id == recipe_id))
    if (recipe_name := filters.get("recipe_name")) is not None:
        found.append(
            exists().where(
                LayerRow.piece_id == PieceRow.id,
                LayerRow.recipe_id == RecipeRow.id,
                RecipeRow.name_key == recipe_name.strip().casefold(),
            )
        )
    if (fault := filters.get("fault")) is not None:
        found.append(
            exists().where(PieceFaultRow.piece_id == PieceRow.id, PieceFaultRow.fault == fault_word(fault))
        )
    if (faulty := filters.get("faulty")) is not None:
        any_fault = exists().where(PieceFaultRow.piece_id == PieceRow.id)
        found.append(any_fault if faulty else ~any_fault)
    if (finish := filters.get("finish")) is not None:
        found.append(PieceRow.readings.any(finish=finish, superseded_by_id=None))
    if (cone := filters.get("cone")) is not None:
        found.append(PieceRow.load.has(cone_aimed=cone))
    if (held := filters.get("held")) is not None:
        somebody = exists().where(HolderRow.piece_id == PieceRow.id)
        found.append(somebody if held else ~somebody)
    if (sha256 := filters.get("photo_sha256")) is not None:
        found.append(PieceRow.readings.any(photo_sha256=sha256))
    if (codes := filters.get("codes")) is not None:
        found.append(PieceRow.code_key.in_([values.code_key(code) for code in codes]))
    for word in (filters.get("text") or "").split():
        found.append(_mentions(word))
    return found


def _mentions(word: str) -> ColumnElement[bool]:
    """Give the condition that a piece, its clay, its glazes or its load names `word`."""
    escaped = re.sub(r"([\\%_])", r"\\\1", word.lower())
    pattern = f"%{escaped}%"

    def like(column: Any) -> ColumnElement[bool]:
        return func.lower(column).like(pattern, escape="\\")

    return or_(
        like(PieceRow.code),
        like(PieceRow.notes),
        like(PieceRow.shelf),
        PieceRow.body_id.in_(select(BodyRow.id).where(like(BodyRow.name))),
        PieceRow.load_id.in_(select(LoadRow.id).where(or_(like(LoadRow.name), like(LoadRow.kiln)))),
        PieceRow.id.in_(
            select(LayerRow.piece_id)
            .join(LayerRow.recipe, isouter=True)
            .where(or_(like(LayerRow.name), like(RecipeRow.name)))
        ),
        PieceRow.id.in_(select(PieceFaultRow.piece_id).where(like(PieceFaultRow.fault))),
    )


def select_pieces(
    session: Session, filters: PieceFilter, *, limit: int | None, offset: int, order: str
) -> tuple[Piece, ...]:
    """Give the pieces that pass all filters, a page at a time."""
    query = loading().where(*_conditions(filters))
    match values.checked_choice("order", order, PIECE_ORDERS):
        case "newest":
            query = query.order_by(PieceRow.filed_at.desc(), PieceRow.id.desc())
        case "oldest":
            query = query.order_by(PieceRow.filed_at, PieceRow.id)
        case "glaze":
            query = query.order_by(_outer_glaze().nulls_last(), PieceRow.code_key, PieceRow.id)
        case "firing":
            query = query.join(PieceRow.load, isouter=True).order_by(
                LoadRow.fired_on.desc().nulls_last(), LoadRow.id.desc(), PieceRow.code_key, PieceRow.id
            )
        case "fault":
            query = query.order_by(_first_fault().nulls_last(), PieceRow.code_key, PieceRow.id)
        case _:
            query = query.order_by(PieceRow.code_key, PieceRow.id)
    maker = record_maker(session)
    return tuple(maker.piece(row) for row in session.scalars(query.limit(limit).offset(offset)))


def _outer_glaze() -> ColumnElement[str]:
    """Give the name of a piece's layer furthest from the clay."""
    return (
        select(func.lower(func.coalesce(RecipeRow.name, LayerRow.name)))
        .join(LayerRow.recipe, isouter=True)
        .where(LayerRow.piece_id == PieceRow.id)
        .order_by(LayerRow.position.desc())
        .limit(1)
        .scalar_subquery()
    )


def _first_fault() -> ColumnElement[str]:
    query = select(func.min(PieceFaultRow.fault)).where(PieceFaultRow.piece_id == PieceRow.id)
    return query.scalar_subquery()


def pieces_by_id(session: Session, ids: Sequence[int]) -> dict[int, Piece]:
    """Give pieces by number; one removed meanwhile is left out."""
    maker = record_maker(session)
    query = loading().where(PieceRow.id.in_(ids), PieceRow.deleted_at.is_(None))
    return {row.id: maker.piece(row) for row in session.scalars(query)}


def piece_ids(session: Session, filters: PieceFilter) -> list[int]:
    """Give the numbers of the pieces that pass all filters."""
    return list(session.scalars(select(PieceRow.id).where(*_conditions(filters))))


def photographed_codes(session: Session) -> tuple[str, ...]:
    """Give the codes of pieces on the shelf that a photo was read of, in order."""
    query = select(PieceRow.code).where(PieceRow.deleted_at.is_(None), PieceRow.readings.any())
    return tuple(session.scalars(query.order_by(PieceRow.code_key)))


def unloaded_ids() -> Select[int]:
    """Select the numbers of the pieces that are in no load and were never photographed."""
    unread = ~exists().where(ReadingRow.piece_id == PieceRow.id)
    return select(PieceRow.id).where(PieceRow.load_id.is_(None), unread)


def passing(session: Session, filters: PieceFilter, ids: Sequence[int]) -> list[int]:
    """Give which of some pieces, by number, pass all filters."""
    return list(session.scalars(select(PieceRow.id).where(PieceRow.id.in_(ids), *_conditions(filters))))


def count_pieces(session: Session, filters: PieceFilter) -> int:
    """Count the pieces that pass all filters."""
    return session.scalar(select(func.count()).select_from(PieceRow).where(*_conditions(filters))) or 0
