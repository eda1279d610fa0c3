"""Results of release tests, kept with the tested piece and heard for every piece made alike."""

from __future__ import annotations

from dataclasses import asdict

from sqlalchemy import select
from sqlalchemy.orm import Session

from catalog import pieces, values
from catalog.casebook.records import KeptLeach
from catalog.casebook.tables import LeachRow
from catalog.causes.errors import CausesError
from catalog.columns import now
from catalog.errors import InvalidRecordError
from catalog.records import Piece
from catalog.tables import LayerRow, PieceRow
from catalog.ware.leach import REGIONS, UNITS, WARE_CLASSES, LeachResult
from catalog.ware.make import make_of, same_make

__all__ = ["add_leach", "leach_of", "remove_leach", "results_for"]


def add_leach(
    session: Session, code: str, result: LeachResult, ware: str, region: str, note: str
) -> KeptLeach:
    """Keep one figure of a laboratory's report on a tested piece, with how that piece was made then.

    Raises
    ------
    InvalidRecordError
        A figure below zero, an unknown unit, ware class or region, no laboratory, a day still to come.
    """
    row = pieces.piece_row(session, code)
    amount = values.checked_amount("amount", result.amount)
    if amount is None:
        raise InvalidRecordError("amount", None, "the figure of the report; for “less than” the limit named")
    values.checked_day("tested_on", result.tested_on)
    kept = LeachRow(
        piece_id=row.id,
        element=values.checked_name("element", result.element).lower(),
        amount=amount,
        unit=values.checked_choice("unit", result.unit, UNITS),
        below_reporting_limit=result.below_reporting_limit,
        method=values.checked_name("method", result.method),
        laboratory=values.checked_name("laboratory", result.laboratory),
        accredited=result.accredited,
        tested_on=result.tested_on,
        ware=values.checked_choice("ware", ware, WARE_CLASSES),
        region=values.checked_choice("region", region, REGIONS),
        make=asdict(make_of(pieces.one_piece(session, code))),
        note=note.strip(),
        removed_at=None,
        kept_at=now(),
    )
    session.add(kept)
    session.flush()
    return _record(session, kept)


def remove_leach(session: Session, number: int) -> None:
    """Take a result away; its row stays. Raises CausesError where there is none."""
    row = session.get(LeachRow, number)
    if row is None or row.removed_at is not None:
        msg = f"no test result {number} is kept"
        raise CausesError(msg)
    row.removed_at = now()


def leach_of(session: Session, piece: Piece) -> tuple[KeptLeach, ...]:
    """Give the results that bear on a piece: its own, and those of pieces that share a glaze."""
    names = [layer.name for layer in piece.layers]
    sharing = select(LayerRow.piece_id).where(LayerRow.name.in_(names))
    query = (
        select(LeachRow)
        .where(
            LeachRow.removed_at.is_(None), (LeachRow.piece_id == piece.id) | LeachRow.piece_id.in_(sharing)
        )
        .order_by(LeachRow.tested_on.desc(), LeachRow.id.desc())
    )
    return tuple(_record(session, row) for row in session.scalars(query))


def results_for(piece: Piece, kept: tuple[KeptLeach, ...]) -> tuple[LeachResult, ...]:
    """Give the results in the form the statement takes, each saying whether the piece is of the same make."""
    return tuple(
        LeachResult(
            element=one.element,
            amount=one.amount,
            unit=one.unit,
            method=one.method,
            laboratory=one.laboratory,
            accredited=one.accredited,
            tested_on=one.tested_on,
            below_reporting_limit=one.below_reporting_limit,
            same_make=same_make(one.make, make_of(piece)),
        )
        for one in kept
    )


def _record(session: Session, row: LeachRow) -> KeptLeach:
    piece = session.get(PieceRow, row.piece_id)
    return KeptLeach(
        id=row.id,
        code="" if piece is None else piece.code,
        element=row.element,
        amount=row.amount,
        unit=row.unit,
        method=row.method,
        laboratory=row.laboratory,
        accredited=row.accredited,
        tested_on=row.tested_on,
        ware=row.ware,
        region=row.region,
        below_reporting_limit=row.below_reporting_limit,
        note=row.note,
        make=dict(row.make),
    )
