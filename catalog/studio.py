"""What pieces are made of and fired in: clay bodies, glaze recipes with their revisions, loads."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import TypedDict

from sqlalchemy import func, select
from sqlalchemy.orm import Session, selectinload

from catalog import values
from catalog.columns import canonical_json
from catalog.errors import (
    BodyNotFoundError,
    InUseError,
    LoadNotFoundError,
    NameTakenError,
    RecipeNotFoundError,
)
from catalog.faults import fault_word
from catalog.photos import digest_of
from catalog.records import (
    ATMOSPHERES,
    BODY_KINDS,
    LOAD_KINDS,
    Body,
    ConeResult,
    FactValue,
    Load,
    Recipe,
    RecipeLine,
    Segment,
)
from catalog.row_records import body_record, load_record, recipe_record
from catalog.tables import BodyRow, ConeRow, LineRow, LoadRow, PieceRow, RecipeRow, SegmentRow

__all__ = ["BodyFields", "LoadFields"]


class BodyFields(TypedDict, total=False):
    """What `update_body` may change."""

    name: str
    kind: str
    rated_cone: str | None
    absorption_pct: float | None
    facts: Mapping[str, FactValue]
    notes: str


class LoadFields(TypedDict, total=False):
    """What `update_load` may change."""

    name: str
    kind: str
    kiln: str
    fired_on: date | None
    cone_aimed: str | None
    cones: Sequence[ConeResult]
    atmosphere: str | None
    schedule: Sequence[Segment]
    facts: Mapping[str, FactValue]
    notes: str


# --- bodies


def body_row(session: Session, body_id: int) -> BodyRow:
    """Give the row of a body."""
    row = session.get(BodyRow, body_id)
    if row is None:
        raise BodyNotFoundError(body_id)
    return row


def list_bodies(session: Session) -> tuple[Body, ...]:
    """Give all bodies by name."""
    return tuple(body_record(row) for row in session.scalars(select(BodyRow).order_by(BodyRow.name_key)))


def add_body(session: Session, fields: BodyFields) -> Body:
    """Add a body."""
    row = BodyRow(kind="other", rated_cone=None, absorption_pct=None, facts={}, notes="")
    _set_body(session, row, fields)
    session.add(row)
    session.flush()
    return body_record(row)


def update_body(session: Session, body_id: int, fields: BodyFields) -> Body:
    """Change a body in place."""
    row = body_row(session, body_id)
    _set_body(session, row, fields)
    session.flush()
    return body_record(row)


def _set_body(session: Session, row: BodyRow, fields: BodyFields) -> None:
    only(fields, BodyFields)
    if "name" in fields:
        name = values.checked_name("name", fields["name"])
        holder = session.scalar(select(BodyRow.id).where(BodyRow.name_key == name.casefold()))
        if holder is not None and holder != row.id:
            raise NameTakenError("body", name)
        row.name, row.name_key = name, name.casefold()
    if "kind" in fields:
        row.kind = values.checked_choice("kind", fields["kind"], BODY_KINDS)
    if "rated_cone" in fields:
        row.rated_cone = values.checked_cone("rated_cone", fields["rated_cone"])
    if "absorption_pct" in fields:
        row.absorption_pct = values.checked_amount("absorption_pct", fields["absorption_pct"], high=100)
    if "facts" in fields:
        row.facts = dict(values.checked_facts(fields["facts"]))
    if "notes" in fields:
        row.notes = fields["notes"].strip()


# --- recipes


def add_recipe(
    session: Session,
    name: str,
    lines: Sequence[RecipeLine],
    *,
    cone_low: str | None,
    cone_high: str | None,
    intended: Sequence[str],
    facts: Mapping[str, FactValue],
    notes: str,
) -> Recipe:
    """Add a recipe, or its next revision; give the newest revision back if nothing in it differs."""
    name = values.checked_name("name", name)
    kept_lines = values.checked_lines(lines)
    row = RecipeRow(
        name=name,
        name_key=name.casefold(),
        revision=1,
        cone_low=values.checked_cone("cone_low", cone_low),
        cone_high=values.checked_cone("cone_high", cone_high),
        intended=sorted({fault_word(effect) for effect in intended if effect.strip()}),
        facts=dict(values.checked_facts(facts)),
        notes=notes.strip(),
        lines=[
            LineRow(position=i, material=line.material, amount=line.amount, addition=line.addition)
            for i, line in enumerate(kept_lines)
        ],
    )
    row.content = content_digest(row)
    newest = session.scalar(
        select(RecipeRow)
        .where(RecipeRow.name_key == row.name_key)
        .order_by(RecipeRow.revision.desc())
        .limit(1)
    )
    if newest is not None:
        if newest.content == row.content:
            return recipe_record(newest)
        row.revision = newest.revision + 1
    session.add(row)
    session.flush()
    return recipe_record(row)


def content_digest(row: RecipeRow) -> str:
    """Give the digest of what a revision says, its lines included."""
    content = {
        "lines": [[line.material, float(line.amount), line.addition] for line in row.lines],
        "cone_low": row.cone_low,
        "cone_high": row.cone_high,
        "intended": row.intended,
        "facts": row.facts,
        "notes": row.notes,
    }
    return digest_of(canonical_json(content).encode())


def recipe_row(session: Session, recipe_id: int) -> RecipeRow:
    """Give the row of a recipe's revision."""
    row = session.get(RecipeRow, recipe_id)
    if row is None:
        raise RecipeNotFoundError(recipe_id)
    return row


def list_recipes(session: Session, *, latest_only: bool) -> tuple[Recipe, ...]:
    """Give recipes by name, the newest revision first."""
    query = (
        select(RecipeRow)
        .options(selectinload(RecipeRow.lines))
        .order_by(RecipeRow.name_key, RecipeRow.revision.desc())
    )
    if latest_only:
        newest = (
            select(RecipeRow.name_key, func.max(RecipeRow.revision).label("revision"))
            .group_by(RecipeRow.name_key)
            .subquery()
        )
        query = query.join(
            newest, (newest.c.name_key == RecipeRow.name_key) & (newest.c.revision == RecipeRow.revision)
        )
    return tuple(recipe_record(row) for row in session.scalars(query))


# --- loads


def load_row(session: Session, load_id: int) -> LoadRow:
    """Give the row of a load."""
    row = session.get(LoadRow, load_id)
    if row is None:
        raise LoadNotFoundError(load_id)
    return row


def list_loads(session: Session, *, kind: str | None = None) -> tuple[Load, ...]:
    """Give loads, the last fired first; those without a date stand on top, the newest first."""
    query = (
        select(LoadRow)
        .options(selectinload(LoadRow.cones), selectinload(LoadRow.segments))
        .order_by(LoadRow.fired_on.is_not(None), LoadRow.fired_on.desc(), LoadRow.id.desc())
    )
    if kind is not None:
        query = query.where(LoadRow.kind == values.checked_choice("kind", kind, LOAD_KINDS))
    return tuple(load_record(row) for row in session.scalars(query))


def add_load(session: Session, fields: LoadFields) -> Load:
    """Add a load."""
    row = LoadRow(
        kind="glaze", kiln="", fired_on=None, cone_aimed=None, atmosphere=None, facts={}, notes="", cones=[]
    )
    _set_load(session, row, fields)
    session.add(row)
    session.flush()
    return load_record(row)


def update_load(session: Session, load_id: int, fields: LoadFields) -> Load:
    """Change a load in place."""
    row = load_row(session, load_id)
    _set_load(session, row, fields)
    session.flush()
    return load_record(row)


def delete_load(session: Session, load_id: int) -> None:
    """Remove a load that no piece points at, removed pieces included (they may come back)."""
    row = load_row(session, load_id)
    count = session.scalar(select(func.count()).select_from(PieceRow).where(PieceRow.load_id == load_id))
    if count:
        raise InUseError("load", row.name, count)
    session.delete(row)


def _set_load(session: Session, row: LoadRow, fields: LoadFields) -> None:
    only(fields, LoadFields)
    if "name" in fields:
        row.name = values.checked_name("name", fields["name"])
    if "kind" in fields:
        row.kind = values.checked_choice("kind", fields["kind"], LOAD_KINDS)
    if "kiln" in fields:
        row.kiln = fields["kiln"].strip()
    if "fired_on" in fields:
        row.fired_on = fields["fired_on"]
    if "cone_aimed" in fields:
        row.cone_aimed = values.checked_cone("cone_aimed", fields["cone_aimed"])
    if "atmosphere" in fields:
        air = fields["atmosphere"]
        row.atmosphere = values.checked_choice("atmosphere", air, ATMOSPHERES) if air else None
    if "facts" in fields:
        row.facts = dict(values.checked_facts(fields["facts"]))
    if "notes" in fields:
        row.notes = fields["notes"].strip()
    if "cones" in fields:
        cones = values.checked_cones(fields["cones"])
        _clear(session, row.cones)
        row.cones = [
            ConeRow(position=i, shelf=c.shelf, cone=c.cone, note=c.note) for i, c in enumerate(cones)
        ]
    if "schedule" in fields:
        segments = values.checked_segments(fields["schedule"])
        _clear(session, row.segments)
        row.segments = [
            SegmentRow(position=i, rate_c_per_h=s.rate_c_per_h, target_c=s.target_c, hold_min=s.hold_min)
            for i, s in enumerate(segments)
        ]


def _clear(session: Session, rows: list[ConeRow] | list[SegmentRow]) -> None:
    """Take old rows away first: new ones come under the same (load, position)."""
    if rows:
        rows.clear()
        session.flush()


def only(fields: Mapping[str, object], allowed: type) -> None:
    """Refuse a field that `allowed` (a TypedDict) does not know."""
    unknown = sorted(set(fields) - set(allowed.__annotations__))
    if unknown:
        msg = f"unknown field {unknown[0]!r}; known: {', '.join(allowed.__annotations__)}"
        raise TypeError(msg)
