"""A piece that nobody has photographed, filed for a fault that a person names."""

from __future__ import annotations

from sqlalchemy.orm import Session

from catalog import pieces, studio, values
from catalog.causes.knowledge import fault_of
from catalog.columns import now
from catalog.records import Layer
from catalog.tables import PieceRow

__all__ = ["add_piece"]


def add_piece(
    session: Session,
    fault: str,
    *,
    kind: str,
    glaze: str | None,
    body_id: int | None,
    load_id: int | None,
    shelf: str | None,
    coats: int | None,
) -> str:
    """File a piece with a fault that a person names; gives its code.

    A glaze known by name is taken as its newest revision. A later photo under the same code joins it.

    Raises UnknownFaultError, InvalidRecordError, BodyNotFoundError, LoadNotFoundError.
    """
    name = fault_of(fault)
    (code,) = pieces.next_codes(session, 1, kind)
    while pieces.find_row(session, code) is not None:
        (code,) = pieces.next_codes(session, 1, kind)
    row = PieceRow(
        code=code,
        code_key=values.code_key(code),
        kind=kind,
        body_id=None if body_id is None else studio.body_row(session, body_id).id,
        load_id=None if load_id is None else studio.load_row(session, load_id).id,
        shelf=(shelf or "").strip() or None,
        facts={},
        notes="",
        filed_at=now(),
        deleted_at=None,
        layers=[],
        readings=[],
        judgements=[],
    )
    session.add(row)
    if glaze and glaze.strip():
        known = {
            recipe.name.casefold(): recipe.id for recipe in studio.list_recipes(session, latest_only=True)
        }
        number = known.get(" ".join(glaze.split()).casefold())
        pieces.set_layers(session, row, [Layer(number, "" if number else glaze, coats)])
    session.flush()
    pieces.add_judgement(session, code, "fault", name, "present", "", "named without a photo")
    return code
