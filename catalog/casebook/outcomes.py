"""People's words on causes with the facts known then: kept, undone, handed from studio to studio."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from catalog import pieces
from catalog.casebook.answers import ways
from catalog.casebook.records import KeptOutcome
from catalog.casebook.tables import OutcomeRow
from catalog.causes.errors import OutcomeNotFoundError
from catalog.causes.fact import Fact, Origin
from catalog.causes.knowledge import fault_of
from catalog.causes.learning import Outcome, learn
from catalog.columns import now
from catalog.records import FactValue
from catalog.tables import JudgementRow, PieceRow

__all__ = ["import_outcomes", "keep_word", "list_outcomes", "plain_facts", "state", "undo"]


def plain_facts(facts: Mapping[str, Fact]) -> dict[str, FactValue]:
    """Give the values of facts that somebody or something told; what follows from others is left out."""
    return {key: fact.value for key, fact in facts.items() if fact.origin is not Origin.INFERRED}


def keep_word(
    session: Session,
    code: str,
    fault: str,
    pair_id: str,
    verdict: str,
    facts: Mapping[str, FactValue],
    by: str,
) -> KeptOutcome:
    """Keep a person's word on a cause: as a judgement on the piece, and as an outcome to learn from.

    A later word on the same cause of the same piece stands in place of the earlier.
    """
    row = pieces.piece_row(session, code)
    name = fault_of(fault)
    studio = ways(session).studio
    outcome_id = f"{studio}/{row.uid}/{pair_id}"
    earlier = session.scalar(select(OutcomeRow).where(OutcomeRow.name == outcome_id))
    if earlier is not None and earlier.removed_at is None:
        undo(session, earlier.id)
    outcome = Outcome(outcome_id, name, pair_id, verdict, dict(facts), by.strip(), now().date().isoformat())
    learn([outcome])
    word = pieces.add_judgement(session, code, "cause", pair_id.rsplit("/", 1)[-1], verdict, by, "")
    kept = earlier or OutcomeRow(name=outcome_id)
    kept.studio, kept.piece_id, kept.judgement_id = studio, row.id, word.id
    kept.fault, kept.pair_id, kept.verdict = name, pair_id, verdict
    kept.facts, kept.said_by, kept.said_on = dict(facts), outcome.said_by, outcome.said_on
    kept.kept_at, kept.removed_at = now(), None
    session.add(kept)
    session.flush()
    return _record(kept, {row.id: row.code})


def undo(session: Session, number: int) -> None:
    """Take an outcome back: nothing is learned from it any more, and the word on the piece goes too.

    Raises OutcomeNotFoundError where there is none.
    """
    row = session.get(OutcomeRow, number)
    if row is None or row.removed_at is not None:
        raise OutcomeNotFoundError(str(number))
    row.removed_at = now()
    if row.judgement_id is not None:
        word = session.get(JudgementRow, row.judgement_id)
        if word is not None and word.removed_at is None:
            pieces.remove_judgement(session, word.id)
    session.flush()


def list_outcomes(session: Session, *, undone: bool = False) -> tuple[KeptOutcome, ...]:
    """Give the outcomes that stand (or those taken back), newest first."""
    gone = OutcomeRow.removed_at.is_not(None) if undone else OutcomeRow.removed_at.is_(None)
    query = select(OutcomeRow).where(gone).order_by(OutcomeRow.kept_at.desc(), OutcomeRow.id.desc())
    rows = session.scalars(query).all()
    numbers = {row.piece_id for row in rows if row.piece_id is not None}
    pairs = session.execute(select(PieceRow.id, PieceRow.code).where(PieceRow.id.in_(numbers)))
    codes = {row.id: row.code for row in pairs}
    return tuple(_record(row, codes) for row in rows)


def state(session: Session) -> tuple[object, ...]:
    """Give what changes whenever an outcome is kept or taken back."""
    query = select(func.count(OutcomeRow.id), func.max(OutcomeRow.kept_at), func.max(OutcomeRow.removed_at))
    return tuple(session.execute(query).one())


def import_outcomes(session: Session, outcomes: Iterable[Outcome]) -> tuple[int, int]:
    """Add another studio's outcomes; one whose id is known (even undone) is left as it is.

    Returns
    -------
    added, known : int
    """
    known = set(session.scalars(select(OutcomeRow.name)))
    added = seen = 0
    for outcome in outcomes:
        if outcome.id in known:
            seen += 1
            continue
        known.add(outcome.id)
        added += 1
        session.add(
            OutcomeRow(
                name=outcome.id,
                studio=outcome.id.split("/", 1)[0],
                piece_id=None,
                judgement_id=None,
                fault=fault_of(outcome.fault),
                pair_id=outcome.pair_id,
                verdict=outcome.verdict,
                facts=dict(outcome.facts),
                said_by="",
                said_on=outcome.said_on,
                kept_at=now(),
                removed_at=None,
            )
        )
    session.flush()
    return added, seen


def _record(row: OutcomeRow, codes: Mapping[int, str]) -> KeptOutcome:
    outcome = Outcome(
        row.name, row.fault, row.pair_id, row.verdict, dict(row.facts), row.said_by, row.said_on
    )
    code = None if row.piece_id is None else codes.get(row.piece_id)
    return KeptOutcome(row.id, row.studio, code, outcome, row.kept_at, row.removed_at is not None)
