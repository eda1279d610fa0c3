"""Answers, batches, wanted effects and the studio's ways: each function runs in the caller's session."""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from catalog import pieces, values
from catalog.casebook.records import BATCH_KINDS, Answer, Ways
from catalog.casebook.tables import AnswerRow, GlazeEffectRow, PieceBatchRow, SettingRow
from catalog.causes.fact import Fact, Origin, checked
from catalog.causes.knowledge import fault_of
from catalog.causes.vocabulary import check_value, field
from catalog.columns import now
from catalog.errors import InvalidRecordError
from catalog.faults import fault_word
from catalog.records import FactValue
from catalog.tables import LayerRow, PieceRow
from catalog.ware.leach import REGIONS, WARE_CLASSES
from catalog.ware.statement import PLACES

__all__ = [
    "answers_of",
    "batches_of",
    "checked_answer",
    "facts_of_answers",
    "glaze_effects",
    "keep_answer",
    "places_of",
    "set_batch",
    "set_glaze_effects",
    "set_place",
    "set_ware",
    "set_ways",
    "take_back",
    "ware_of_answers",
    "ways",
]

_PLACE = "place."
_WARE = "use.ware"


def _say(session: Session, piece_id: int, fact: str, value: FactValue | None, sure: float, by: str) -> None:
    _unsay(session, piece_id, fact)
    kept = {} if value is None else {"value": value}
    session.add(
        AnswerRow(
            piece_id=piece_id,
            fact=fact,
            value=kept,
            certainty=sure,
            said_by=by.strip(),
            said_at=now(),
            removed_at=None,
        )
    )
    session.flush()


def _unsay(session: Session, piece_id: int, fact: str) -> None:
    query = select(AnswerRow).where(
        AnswerRow.piece_id == piece_id, AnswerRow.fact == fact, AnswerRow.removed_at.is_(None)
    )
    for row in session.scalars(query):
        row.removed_at = now()


def keep_answer(
    session: Session, code: str, fact: str, value: FactValue | None, certainty: float, by: str
) -> None:
    """Keep an answer in place of the one before; None says that nobody knows."""
    row = pieces.piece_row(session, code)
    field(fact)
    sure = values.checked_amount("certainty", certainty, high=1.0)
    if sure is None or sure <= 0.0:
        raise InvalidRecordError("certainty", certainty, "a number above 0, up to 1")
    _say(session, row.id, fact, None if value is None else check_value(fact, value), sure, by)


def checked_answer(fact: str, value: FactValue) -> FactValue:
    """Give a value that may stand as the answer about a fact, a place of a fault or a class of ware.

    Raises
    ------
    UnknownFactError, FactValueError, InvalidRecordError
    """
    if fact.startswith(_PLACE):
        return values.checked_choice("place", str(value), PLACES)
    if fact == _WARE:
        return values.checked_choice("ware", str(value), WARE_CLASSES)
    field(fact)
    return check_value(fact, value)


def take_back(session: Session, code: str, fact: str) -> None:
    """Take an answer back; a fact kept with the piece itself goes too."""
    row = pieces.piece_row(session, code)
    _unsay(session, row.id, fact)
    row.facts = {key: value for key, value in row.facts.items() if key != fact}


def answers_of(session: Session, piece_id: int) -> tuple[Answer, ...]:
    """Give the answers that stand for a piece, in the order given; places and ware class are left out."""
    query = (
        select(AnswerRow)
        .where(AnswerRow.piece_id == piece_id, AnswerRow.removed_at.is_(None))
        .order_by(AnswerRow.id)
    )
    return tuple(
        Answer(row.fact, row.value.get("value"), row.certainty, row.said_by, row.said_at)
        for row in session.scalars(query)
        if not row.fact.startswith((_PLACE, _WARE))
    )


def facts_of_answers(answers: Iterable[Answer]) -> dict[str, Fact]:
    """Give answers as facts, each as sure as its person was; "nobody knows" says nothing."""
    found = {}
    for answer in answers:
        if answer.value is None:
            continue
        (fact,) = checked({answer.fact: answer.value}, Origin.ANSWERED).values()
        found[fact.key] = Fact(fact.key, fact.value, fact.origin, fact.sentence, answer.certainty)
    return found


# --- where a fault stands, what kind of ware: for the statement of use


def set_place(session: Session, code: str, fault: str, place: str) -> None:
    """Keep where on a piece a fault stands, one of `ware.statement.PLACES`."""
    row = pieces.piece_row(session, code)
    _say(session, row.id, _PLACE + fault_of(fault), values.checked_choice("place", place, PLACES), 1.0, "")


def places_of(session: Session, piece_id: int) -> dict[str, str]:
    """Give where each fault stands, by the fault's own name."""
    query = select(AnswerRow).where(
        AnswerRow.piece_id == piece_id,
        AnswerRow.removed_at.is_(None),
        AnswerRow.fact.startswith(_PLACE, autoescape=True),
    )
    return {row.fact.removeprefix(_PLACE): str(row.value["value"]) for row in session.scalars(query)}


def set_ware(session: Session, code: str, ware: str) -> None:
    """Keep which class of ware a piece is, one of `ware.leach.WARE_CLASSES`."""
    row = pieces.piece_row(session, code)
    _say(session, row.id, _WARE, values.checked_choice("ware", ware, WARE_CLASSES), 1.0, "")


def ware_of_answers(session: Session, piece_id: int) -> str | None:
    """Give the class of ware that a person named, None without one."""
    query = select(AnswerRow).where(
        AnswerRow.piece_id == piece_id, AnswerRow.removed_at.is_(None), AnswerRow.fact == _WARE
    )
    row = session.scalars(query).first()
    return None if row is None else str(row.value["value"])


# --- batches


def set_batch(session: Session, code: str, kind: str, name: str | None) -> None:
    """Keep which bucket or lot of clay a piece is of; None or "" takes it away."""
    row = pieces.piece_row(session, code)
    values.checked_choice("kind", kind, BATCH_KINDS)
    session.execute(delete(PieceBatchRow).where(PieceBatchRow.piece_id == row.id, PieceBatchRow.kind == kind))
    if name and name.strip():
        kept = values.checked_name(kind, name)
        session.add(PieceBatchRow(piece_id=row.id, kind=kind, name=kept, name_key=kept.casefold()))
    session.flush()


def batches_of(session: Session, piece_id: int) -> dict[str, str]:
    """Give the bucket and lot of clay that a piece is of, by kind."""
    query = select(PieceBatchRow).where(PieceBatchRow.piece_id == piece_id)
    return {row.kind: row.name for row in session.scalars(query)}


# --- wanted effects


def glaze_effects(session: Session, glaze: str | None = None) -> dict[str, frozenset[str]]:
    """Give the effects that glazes are meant to have, by casefolded name."""
    query = select(GlazeEffectRow)
    if glaze is not None:
        query = query.where(GlazeEffectRow.glaze_key == glaze.casefold())
    found: dict[str, frozenset[str]] = {}
    for row in session.scalars(query):
        found[row.glaze_key] = found.get(row.glaze_key, frozenset()) | {row.effect}
    return found


def set_glaze_effects(session: Session, glaze: str, effects: Iterable[str]) -> None:
    """Say which effects a glaze is meant to have; the faults of its pieces are derived again."""
    key = values.checked_name("glaze", glaze).casefold()
    session.execute(delete(GlazeEffectRow).where(GlazeEffectRow.glaze_key == key))
    wanted = sorted({fault_word(effect) for effect in effects if effect.strip()})
    session.add_all(GlazeEffectRow(glaze_key=key, effect=effect) for effect in wanted)
    session.flush()
    named = {name for name in session.scalars(select(LayerRow.name).distinct()) if name.casefold() == key}
    query = select(LayerRow.piece_id).where(LayerRow.name.in_(named)).distinct()
    for number in session.scalars(query).all():
        row = session.get(PieceRow, number)
        if row is not None:
            pieces.refreshed(session, row)


# --- the studio's ways


def ways(session: Session) -> Ways:
    """Give how the studio works."""
    kept = {row.name: row.value for row in session.scalars(select(SettingRow))}
    return Ways(
        shared_kiln=kept.get("shared_kiln", "yes") == "yes",
        region=kept.get("region", Ways().region),
        studio=kept.get("studio", Ways().studio),
    )


def set_ways(session: Session, given: Ways) -> Ways:
    """Keep how the studio works."""
    values.checked_choice("region", given.region, REGIONS)
    studio = values.checked_name("studio", given.studio).replace("/", "-")
    told = {"shared_kiln": "yes" if given.shared_kiln else "no", "region": given.region, "studio": studio}
    for name, value in told.items():
        session.merge(SettingRow(name=name, value=value))
    session.flush()
    return ways(session)
