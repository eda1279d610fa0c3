"""Buckets: made, weighed, found by their label. Each function runs in the caller's session."""

from __future__ import annotations

import difflib
from datetime import date

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from catalog import pieces, studio, values
from catalog.bench.records import BUCKET_KINDS, Bucket
from catalog.bench.tables import BucketRow
from catalog.columns import now
from catalog.errors import BucketNotFoundError, CodeTakenError, InvalidRecordError
from catalog.tables import RecipeRow

__all__ = [
    "GRAVITY_HIGH",
    "GRAVITY_LOW",
    "add_bucket",
    "bucket_record",
    "bucket_row",
    "gravity_of_100_ml",
    "list_buckets",
    "remove_bucket",
    "restore_bucket",
    "weigh_bucket",
]

GRAVITY_LOW, GRAVITY_HIGH = 1.0, 2.4
"""g/ml: water, and more than any slip that still pours (clay and feldspar weigh about 2.6)."""


def gravity_of_100_ml(grams: float) -> float:
    """Give the gravity (g/ml) of a slip of which 100 ml weigh this many grams, the vessel not counted.

    Raises
    ------
    InvalidRecordError : under 100 g (lighter than water) or over 240 g.
    """
    low, high = 100 * GRAVITY_LOW, 100 * GRAVITY_HIGH
    if isinstance(grams, bool) or not low <= grams <= high:
        raise InvalidRecordError(
            "weight of 100 ml", grams, f"grams from {low:g} to {high:g}; take the empty vessel off the scale"
        )
    return grams / 100.0


def bucket_record(row: BucketRow) -> Bucket:
    """Give the record of a bucket."""
    return Bucket(
        id=row.id,
        code=row.code,
        kind=row.kind,
        name=row.name,
        recipe_id=row.recipe_id,
        mixed_on=row.mixed_on,
        gravity=row.gravity,
        measured_on=row.measured_on,
        note=row.note,
    )


def _checked_gravity(gravity: float | None) -> float | None:
    return values.checked_amount("gravity", gravity, low=GRAVITY_LOW, high=GRAVITY_HIGH)


def _standing(session: Session) -> list[BucketRow]:
    query = select(BucketRow).where(BucketRow.removed_at.is_(None)).order_by(BucketRow.id.desc())
    return list(session.scalars(query))


def add_bucket(
    session: Session,
    name: str,
    *,
    kind: str = "glaze",
    code: str | None = None,
    recipe_id: int | None = None,
    mixed_on: date | None = None,
    gravity: float | None = None,
    on: date | None = None,
    note: str = "",
) -> Bucket:
    """Keep a bucket; without a code it gets the next free one, without a recipe the newest of its name.

    Raises
    ------
    CodeTakenError, InvalidRecordError, RecipeNotFoundError
    """
    glaze = values.checked_name("glaze", name)
    if recipe_id is not None:
        studio.recipe_row(session, recipe_id)
    else:
        recipe_id = session.scalar(
            select(RecipeRow.id)
            .where(RecipeRow.name_key == glaze.casefold())
            .order_by(RecipeRow.revision.desc())
            .limit(1)
        )
    taken = {values.code_key(row.code): row.code for row in _standing(session)}
    if code is None:
        given = _next_code(session)
        while values.code_key(given) in taken:
            given = _next_code(session)
    else:
        given = values.checked_code(code)
        if values.code_key(given) in taken:
            raise CodeTakenError(taken[values.code_key(given)], "code", given, given)
        pieces.note_code(session, given)
    weighed = _checked_gravity(gravity)
    row = BucketRow(
        code=given,
        kind=values.checked_choice("kind", kind, BUCKET_KINDS),
        name=glaze,
        recipe_id=recipe_id,
        mixed_on=values.checked_day("mixed_on", mixed_on),
        gravity=weighed,
        measured_on=None if weighed is None else _weighed_on(on),
        note=note.strip(),
        kept_at=now(),
        removed_at=None,
    )
    session.add(row)
    session.flush()
    return bucket_record(row)


def _weighed_on(on: date | None) -> date:
    return values.checked_day("on", on) or now().date()


def _next_code(session: Session) -> str:
    return f"B-{pieces.bump(session, 'code:b'):04d}"


def list_buckets(session: Session) -> tuple[Bucket, ...]:
    """Give the buckets that stand, the newest first."""
    return tuple(bucket_record(row) for row in _standing(session))


def bucket_row(session: Session, code: str) -> BucketRow:
    """Give a bucket by the code on its label; an older label bears the glaze's name: the newest of it.

    Raises
    ------
    BucketNotFoundError : with the nearest codes.
    """
    rows = _standing(session)
    wanted = values.code_key(code)
    for row in rows:
        if values.code_key(row.code) == wanted:
            return row
    for row in rows:
        if row.name.casefold() == " ".join(code.split()).casefold():
            return row
    known = {values.code_key(row.code): row.code for row in rows}
    near = difflib.get_close_matches(wanted, list(known), n=3, cutoff=0.5)
    raise BucketNotFoundError(code, tuple(known[key] for key in near))


def weigh_bucket(session: Session, code: str, gravity: float | None, on: date | None = None) -> Bucket:
    """Keep a bucket's gravity as measured now; None says that nobody knows."""
    row = bucket_row(session, code)
    row.gravity = _checked_gravity(gravity)
    row.measured_on = None if row.gravity is None else _weighed_on(on)
    session.flush()
    return bucket_record(row)


def remove_bucket(session: Session, code: str) -> Bucket:
    """Take a bucket away: empty or thrown out. What was glazed from it keeps its name."""
    row = bucket_row(session, code)
    row.removed_at = now()
    session.flush()
    return bucket_record(row)


def restore_bucket(session: Session, code: str) -> Bucket:
    """Bring back the bucket taken away last under this code. Raises BucketNotFoundError, CodeTakenError."""
    key = values.code_key(code)
    gone = select(BucketRow).where(
        func.lower(BucketRow.code) == code.strip().lower(), BucketRow.removed_at.is_not(None)
    )
    row = session.scalars(gone.order_by(BucketRow.id.desc())).first()
    if row is None:
        return bucket_record(bucket_row(session, code))
    if any(values.code_key(each.code) == key for each in _standing(session)):
        raise CodeTakenError(row.code, "code", row.code, code)
    row.removed_at = None
    session.flush()
    return bucket_record(row)
