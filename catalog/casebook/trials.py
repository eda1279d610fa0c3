"""Trials: planned, made into labelled tiles of the catalogue, and heard again when those are photographed."""

from __future__ import annotations

from collections.abc import Mapping

from sqlalchemy import Select, or_, select
from sqlalchemy.orm import Session, selectinload

from catalog import piece_search, pieces, values
from catalog.casebook.records import KeptTrial, TrialPiece
from catalog.casebook.tables import TrialPieceRow, TrialRow
from catalog.causes.diagnosis import Diagnosis, Trial
from catalog.causes.errors import CausesError
from catalog.causes.knowledge import causes_of
from catalog.causes.trial import split_of
from catalog.causes.trial_result import OUTCOMES, outcome_of, sides_of
from catalog.columns import now
from catalog.firing.cones import cone_position
from catalog.firing.errors import UnknownConeError
from catalog.new_pieces import free_code, new_row
from catalog.records import Layer, Piece
from catalog.tables import PieceRow

__all__ = ["about_others", "drop_trial", "list_trials", "plan_trial", "say_outcome", "trials_of"]


def plan_trial(
    session: Session, code: str, diagnosis: Diagnosis, trial: Trial | None, about: str
) -> KeptTrial:
    """Write a trial down with the ranking as it stands, and make its tiles, each with a code for its label.

    The tiles take clay and glazes of the faulty piece where these are not what differs; the load is said when
    they are photographed. A look or a refire has no tiles: its outcome is a person's word.
    """
    row = pieces.piece_row(session, code)
    pair_id = next((c.pair_id for c in diagnosis.causes if c.cause_id == about), None)
    if trial is None or trial.plan is None or pair_id is None:
        msg = f"no trial about {about!r} is among those that would teach something"
        raise CausesError(msg)
    plan, name = trial.plan, diagnosis.fault
    ranking = {cause.pair_id or cause.cause_id: cause.probability for cause in diagnosis.causes}
    words = {
        "trial": trial.trial,
        "differs": plan.differs,
        "alike": plan.alike,
        "if_so": plan.if_so,
        "if_not": plan.if_not,
        "pieces": "; ".join(plan.pieces),
    }
    made = TrialRow(
        piece_id=row.id,
        fault=name,
        pair_id=pair_id,
        split=split_of(pair_id),
        plan=words,
        prediction=plan.prediction,
        ranking=ranking,
        planned_at=now(),
        said=None,
        said_by="",
        said_at=None,
        note="",
        removed_at=None,
    )
    session.add(made)
    session.flush()
    for side in sides_of(pair_id):
        for _ in range(side.count):
            tile = _tile(session, row, made, side.side)
            position = len(made.pieces)
            made.pieces.append(
                TrialPieceRow(
                    position=position, piece_id=tile.id, side=side.side, shows_if_so=side.shows_if_so
                )
            )
    session.flush()
    return _record(session, made)


_OTHER_CLAY = ("clays", "two_by_two")
_OTHER_GLAZE = ("two_by_two", "crossover", "slip_line", "recipe_line")


def _tile(session: Session, like: PieceRow, trial: TrialRow, side: str) -> PieceRow:
    row = new_row(
        session,
        free_code(session, "tile"),
        "tile",
        body_id=None if trial.split in _OTHER_CLAY else like.body_id,
        shelf=side.split(" ", 1)[0] if trial.split == "shelves" else None,
        notes=f"Trial {trial.id}: {side}",
    )
    if trial.split not in _OTHER_GLAZE:
        layers = [Layer(layer.recipe_id, layer.name, None, layer.method) for layer in like.layers]
        pieces.set_layers(session, row, layers)
    session.flush()
    return row


def list_trials(session: Session) -> tuple[KeptTrial, ...]:
    """Give all trials that stand, newest first."""
    query = _standing().order_by(TrialRow.id.desc())
    return tuple(_record(session, row) for row in session.scalars(query))


def trials_of(session: Session, piece_id: int) -> tuple[KeptTrial, ...]:
    """Give the trials about a piece, or of which it is a part, newest first."""
    part = select(TrialPieceRow.trial_id).where(TrialPieceRow.piece_id == piece_id)
    query = _standing().where(or_(TrialRow.piece_id == piece_id, TrialRow.id.in_(part)))
    return tuple(_record(session, row) for row in session.scalars(query.order_by(TrialRow.id.desc())))


def about_others(session: Session, piece_id: int, fault: str) -> tuple[tuple[KeptTrial, Piece], ...]:
    """Give the trials of a fault about other pieces on the shelf, each with the piece it is about."""
    query = _standing().where(TrialRow.fault == fault, TrialRow.piece_id != piece_id)
    rows = session.scalars(query.order_by(TrialRow.id.desc())).all()
    about = piece_search.pieces_by_id(session, [row.piece_id for row in rows])
    return tuple((_record(session, row), about[row.piece_id]) for row in rows if row.piece_id in about)


def _standing() -> Select[TrialRow]:
    return select(TrialRow).options(selectinload(TrialRow.pieces)).where(TrialRow.removed_at.is_(None))


def say_outcome(session: Session, number: int, said: str | None, by: str, note: str) -> KeptTrial:
    """Keep a person's word on what came out; None takes it back, and the photos speak again."""
    row = _row(session, number)
    row.said = None if said is None else values.checked_choice("said", said, OUTCOMES)
    row.said_by, row.note = by.strip(), note.strip()
    row.said_at = None if said is None else now()
    session.flush()
    return _record(session, row)


def drop_trial(session: Session, number: int) -> None:
    """Take a trial away. Its tiles that nobody photographed go from the shelf; nothing is erased."""
    row = _row(session, number)
    row.removed_at = now()
    for part in row.pieces:
        piece = session.get(PieceRow, part.piece_id)
        if piece is not None and piece.deleted_at is None and not piece.readings:
            piece.deleted_at = now()
    session.flush()


def _row(session: Session, number: int) -> TrialRow:
    row = session.get(TrialRow, number)
    if row is None or row.removed_at is not None:
        msg = f"no trial {number} is kept"
        raise CausesError(msg)
    return row


def _expected(row: TrialRow, part: TrialPieceRow, found: Mapping[int, Piece]) -> bool | None:
    """Say where the fault is expected; a trial of shelves learns it from the witness cones, once read.

    On the hottest shelf for a cause of too much heat, on the coolest for one of too little.
    """
    if row.split != "shelves":
        return part.shows_if_so
    reached = {}
    for other in row.pieces:
        piece = found.get(other.piece_id)
        if piece is None or piece.load is None:
            return None
        own = [c.cone for c in piece.load.cones if c.shelf.casefold() == (piece.shelf or "").casefold()]
        place = _position(own[0]) if own else None
        if place is None:
            return None
        reached[other.piece_id] = place
    high, low = max(reached.values()), min(reached.values())
    if high == low or low < reached[part.piece_id] < high:
        return None
    seats = next((r.seats for r, _ in causes_of(row.fault) if r.pair_id == row.pair_id), ())
    return (reached[part.piece_id] == high) != ("under" in seats)


def _position(cone: str) -> float | None:
    try:
        return cone_position(cone)
    except UnknownConeError:
        return None


def _record(session: Session, row: TrialRow) -> KeptTrial:
    found = piece_search.pieces_by_id(session, [part.piece_id for part in row.pieces])
    about = session.get(PieceRow, row.piece_id)
    parts = [part for part in row.pieces if part.piece_id in found]
    expected = {part.piece_id: _expected(row, part, found) for part in parts}
    outcome, told = None, ""
    if parts:
        outcome, told = outcome_of(row.fault, [(expected[p.piece_id], found[p.piece_id]) for p in parts])
    if row.said is not None:
        outcome = row.said
    return KeptTrial(
        id=row.id,
        code="" if about is None else about.code,
        fault=row.fault,
        pair_id=row.pair_id,
        split=row.split,
        plan=dict(row.plan),
        prediction=row.prediction,
        ranking=dict(row.ranking),
        planned_at=row.planned_at,
        pieces=tuple(TrialPiece(found[p.piece_id].code, p.side, expected[p.piece_id]) for p in parts),
        outcome=outcome,
        told=told,
        said=row.said,
        said_by=row.said_by,
        note=row.note,
    )
