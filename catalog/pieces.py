"""Pieces: changed, removed and brought back, judged, given codes. Found by `catalog.piece_search`."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping, Sequence
from typing import TypedDict

from sqlalchemy import delete, exists, select
from sqlalchemy.orm import Session

from catalog import studio, values
from catalog.columns import now
from catalog.errors import CodeTakenError, InvalidRecordError, JudgementNotFoundError, PieceNotFoundError
from catalog.faults import effective_faults, fault_word
from catalog.piece_search import loading, record_maker
from catalog.records import PIECE_KINDS, FactValue, Judgement, Layer, Piece
from catalog.row_records import judgement_record
from catalog.tables import (
    CounterRow,
    JudgementRow,
    LayerRow,
    PieceFaultRow,
    PieceRow,
)

__all__ = ["PieceFields"]

VERDICTS = {
    "fault": ("present", "absent", "intended"),
    "cause": ("confirmed", "refuted", "fix_worked"),
    "use": ("present", "absent", "intended", "confirmed", "refuted"),
}


class PieceFields(TypedDict, total=False):
    """What `update_piece` may change. `facts` replaces all facts; `set_fact` changes one."""

    code: str
    kind: str
    body_id: int | None
    layers: Sequence[Layer]
    load_id: int | None
    shelf: str | None
    facts: Mapping[str, FactValue]
    notes: str


def find_row(session: Session, code: str) -> PieceRow | None:
    """Give the row of a kept piece by code, None if there is none."""
    return find_rows(session, [code])[0]


def find_rows(session: Session, codes: Sequence[str]) -> list[PieceRow | None]:
    """Give the rows of kept pieces by their codes, in that order, None where there is none."""
    keys = [values.code_key(code) for code in codes]
    rows = session.scalars(loading().where(PieceRow.code_key.in_(keys), PieceRow.deleted_at.is_(None)))
    found = {row.code_key: row for row in rows}
    return [found.get(key) for key in keys]


def piece_row(session: Session, code: str) -> PieceRow:
    """Give the row of a kept piece by code.

    Raises
    ------
    PieceNotFoundError : with the nearest codes, and whether it was removed.
    """
    row = find_row(session, code)
    if row is not None:
        return row
    known = {
        values.code_key(c): c
        for c in session.scalars(select(PieceRow.code).where(PieceRow.deleted_at.is_(None)))
    }
    near = difflib.get_close_matches(values.code_key(code), list(known), n=3, cutoff=0.5)
    deleted = session.scalar(
        select(exists().where(PieceRow.code_key == values.code_key(code), PieceRow.deleted_at.is_not(None)))
    )
    raise PieceNotFoundError(code, tuple(known[key] for key in near), deleted=bool(deleted))


def one_piece(session: Session, code: str) -> Piece:
    """Give the record of a piece by code."""
    return record_maker(session).piece(piece_row(session, code))


def record_of(session: Session, row: PieceRow) -> Piece:
    """Give the record of a piece as the database has it now."""
    session.flush()
    session.expire(row)
    fresh = session.scalars(loading().where(PieceRow.id == row.id)).one()
    return record_maker(session).piece(fresh)


def set_layers(session: Session, row: PieceRow, layers: Sequence[Layer]) -> None:
    """Put layers in place of those of a piece; a layer without a name takes its recipe's."""
    checked = values.checked_layers(layers)
    if row.layers:
        row.layers.clear()
        session.flush()
    made = []
    for position, layer in enumerate(checked):
        name = layer.name
        if layer.recipe_id is not None:
            recipe = studio.recipe_row(session, layer.recipe_id)
            name = name or recipe.name
        made.append(
            LayerRow(
                position=position,
                recipe_id=layer.recipe_id,
                name=name,
                coats=layer.coats,
                method=layer.method,
                raw_thickness_mm=layer.raw_thickness_mm,
            )
        )
    row.layers = made


def update_piece(session: Session, code: str, fields: PieceFields) -> Piece:
    """Change what is said of a piece."""
    studio.only(fields, PieceFields)
    row = piece_row(session, code)
    if "code" in fields:
        new = values.checked_code(fields["code"])
        holder = find_row(session, new)
        if holder is not None and holder.id != row.id:
            raise CodeTakenError(holder.code, "code", holder.code, new)
        row.code, row.code_key = new, values.code_key(new)
        note_code(session, new)
    if "kind" in fields:
        row.kind = values.checked_choice("kind", fields["kind"], PIECE_KINDS)
    if "body_id" in fields:
        row.body_id = None if fields["body_id"] is None else studio.body_row(session, fields["body_id"]).id
    if "load_id" in fields:
        row.load_id = None if fields["load_id"] is None else studio.load_row(session, fields["load_id"]).id
    if "shelf" in fields:
        row.shelf = (fields["shelf"] or "").strip() or None
    if "facts" in fields:
        row.facts = dict(values.checked_facts(fields["facts"]))
    if "notes" in fields:
        row.notes = fields["notes"].strip()
    if "layers" in fields:
        set_layers(session, row, fields["layers"])
    return refreshed(session, row)


def set_fact(session: Session, code: str, key: str, value: FactValue | None) -> Piece:
    """Set one fact of a piece; None makes it unknown again."""
    row = piece_row(session, code)
    name = values.checked_fact_key(key)
    facts = dict(row.facts)
    if value is None:
        facts.pop(name, None)
    else:
        facts[name] = values.checked_fact(name, value)
    row.facts = facts
    return record_of(session, row)


def refreshed(session: Session, row: PieceRow) -> Piece:
    """Give the record of a piece after deriving again which faults stand on it."""
    piece = record_of(session, row)
    session.execute(delete(PieceFaultRow).where(PieceFaultRow.piece_id == piece.id))
    session.add_all(
        PieceFaultRow(piece_id=piece.id, fault=fault.fault, probability=fault.probability)
        for fault in effective_faults(piece)
    )
    session.flush()
    return piece


# --- removing and bringing back


def delete_piece(session: Session, code: str) -> None:
    """Take a piece off the shelf; its row, readings and photo stay."""
    piece_row(session, code).deleted_at = now()
    bump(session, "colours")


def restore_piece(session: Session, code: str) -> Piece:
    """Bring back the piece removed last under this code."""
    row = session.scalar(
        loading()
        .where(PieceRow.code_key == values.code_key(code), PieceRow.deleted_at.is_not(None))
        .order_by(PieceRow.id.desc())  # a clock may go back; the last made was removed last
        .limit(1)
    )
    if row is None:
        return one_piece(session, code)
    holder = find_row(session, code)
    if holder is not None:
        raise CodeTakenError(holder.code, "code", holder.code, row.code)
    row.deleted_at = None
    bump(session, "colours")
    return refreshed(session, row)


# --- a person's word


def add_judgement(
    session: Session, code: str, about: str, subject: str, verdict: str, by: str, note: str
) -> Judgement:
    """Keep a person's word on a piece."""
    row = piece_row(session, code)
    values.checked_choice("about", about, tuple(VERDICTS))
    values.checked_choice("verdict", verdict, VERDICTS[about])
    name = values.checked_name("subject", subject)
    judgement = JudgementRow(
        piece_id=row.id,
        about=about,
        subject=fault_word(name) if about == "fault" else name,
        verdict=verdict,
        by=by.strip(),
        note=note.strip(),
        made_at=now(),
        removed_at=None,
    )
    session.add(judgement)
    session.flush()
    refreshed(session, row)
    return judgement_record(judgement)


def remove_judgement(session: Session, judgement_id: int) -> Piece:
    """Take a judgement back; the readings (or the word before) speak again."""
    judgement = session.get(JudgementRow, judgement_id)
    if judgement is None or judgement.removed_at is not None:
        raise JudgementNotFoundError(judgement_id)
    judgement.removed_at = now()
    row = session.get(PieceRow, judgement.piece_id)
    if row is None:
        raise JudgementNotFoundError(judgement_id)
    return refreshed(session, row)


# --- codes and counters

_NUMBERED = re.compile(r"([a-z]{1,8})-(\d{1,9})")
_PREFIX = {"tile": "T", "ware": "W", "patch": "P"}


def bump(session: Session, name: str, *, at_least: int | None = None, by: int = 1) -> int:
    """Raise a counter by `by`, or to `at_least` if that is more than it has; give its value."""
    counter = session.get(CounterRow, name)
    if counter is None:
        counter = CounterRow(name=name, value=0)
        session.add(counter)
    counter.value = counter.value + by if at_least is None else max(counter.value, at_least)
    session.flush()
    return counter.value


def note_code(session: Session, code: str) -> None:
    """Remember a numbered code given by a person, so that generated codes go on after it."""
    match = _NUMBERED.fullmatch(values.code_key(code))
    if match is not None:
        bump(session, f"code:{match[1]}", at_least=int(match[2]))


def next_codes(session: Session, count: int, kind: str) -> tuple[str, ...]:
    """Give `count` codes that were never given before: T-0042 for a tile, W-0007 for ware."""
    if count < 1:
        raise InvalidRecordError("count", count, "one code or more")
    prefix = _PREFIX[values.checked_choice("kind", kind, PIECE_KINDS)]
    last = bump(session, f"code:{prefix.lower()}", by=count)
    return tuple(f"{prefix}-{number:04d}" for number in range(last - count + 1, last + 1))
