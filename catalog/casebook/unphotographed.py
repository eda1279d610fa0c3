"""A piece that nobody has photographed, filed for a fault that a person names."""

from __future__ import annotations

from sqlalchemy.orm import Session

from catalog import pieces, studio
from catalog.causes.knowledge import fault_of
from catalog.new_pieces import free_code, new_row
from catalog.records import Layer

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
    code = free_code(session, kind)
    row = new_row(
        session,
        code,
        kind,
        body_id=None if body_id is None else studio.body_row(session, body_id).id,
        load_id=None if load_id is None else studio.load_row(session, load_id).id,
        shelf=shelf,
    )
    if glaze and glaze.strip():
        known = {
            recipe.name.casefold(): recipe.id for recipe in studio.list_recipes(session, latest_only=True)
        }
        number = known.get(" ".join(glaze.split()).casefold())
        pieces.set_layers(session, row, [Layer(number, "" if number else glaze, coats)])
    session.flush()
    pieces.add_judgement(session, code, "fault", name, "present", "", "named without a photo")
    return code
