"""Faults and causes for screens and commands: the ranking, what is worth asking, answers kept."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from catalog.causes.diagnosis import Diagnosis
from catalog.causes.vocabulary import Field, field
from catalog.records import FactValue, Piece
from catalog.store import Catalog

__all__ = ["Question", "answer", "faults_of", "moved_words", "questions", "shares", "why", "why_from_file"]

_SHOWN = 12


@dataclass(frozen=True, slots=True)
class Question:
    """A fact that is not known and would move the ranking if it were.

    `weight` is how often strong, medium and weak evidence of the likely causes hangs on it.
    """

    fact: Field
    weight: float


def why(catalog: Catalog, code: str, fault: str | None = None) -> Diagnosis:
    """Rank the causes of a filed piece's fault.

    Raises
    ------
    PieceNotFoundError, NoFaultError, UnknownFaultError
    """
    from catalog.causes.explain import why as explained

    return explained(catalog, code, fault)


def why_from_file(path: str, fault: str | None = None) -> Diagnosis:
    """Rank the causes from a facts file. Raises the errors of `catalog.causes`."""
    from catalog.causes.explain import why_facts_file

    return why_facts_file(Path(path), fault)


def faults_of(piece: Piece) -> list[str]:
    """Give the faults that stand on a piece and whose causes are known, the surest first."""
    from catalog.causes.explain import faults_with_causes

    return list(faults_with_causes(piece))


def questions(diagnosis: Diagnosis) -> list[Question]:
    """Give the unknown facts worth asking for, those that matter most to the likeliest causes first."""
    strengths = {"strong": 3.0, "medium": 1.5, "weak": 0.5}
    weights: dict[str, float] = {}
    for cause in diagnosis.causes:
        for line in cause.unknown:
            for key in line.keys:
                weights[key] = weights.get(key, 0.0) + cause.probability * strengths[line.strength]
    asked = [Question(field(key), weight) for key, weight in weights.items() if _can_be_asked(field(key))]
    return sorted(asked, key=lambda question: -question.weight)[:_SHOWN]


def _can_be_asked(fact: Field) -> bool:
    """Leave out what the photo, the recipe or the load's own record gives, each kept in its own place."""
    return fact.how_obtained not in ("measured", "calculated", "witness cone", "log")


def answer(catalog: Catalog, code: str, key: str, value: FactValue | None) -> Piece:
    """Keep what a person says of one fact of a piece; None makes it unknown again."""
    return catalog.set_fact(code, key, value)


def shares(diagnosis: Diagnosis) -> dict[str, float]:
    """Give each cause's share by its id, to compare with the ranking before."""
    return {cause.cause_id: cause.probability for cause in diagnosis.causes}


def moved_words(before: dict[str, float], diagnosis: Diagnosis) -> str | None:
    """Say which cause moved most since a ranking before, None if none moved by two in a hundred."""
    moves = [
        (abs(cause.probability - before.get(cause.cause_id, 0.0)), cause)
        for cause in diagnosis.causes
        if cause.cause_id in before
    ]
    if not moves:
        return None
    size, cause = max(moves, key=lambda move: move[0])
    if size < 0.02:
        return None
    way = "up" if cause.probability > before[cause.cause_id] else "down"
    return (
        f"“{cause.title}” went {way} from {before[cause.cause_id] * 100:.0f} "
        f"to {cause.probability * 100:.0f} of 100."
    )
