"""Faults and causes for screens and commands: the case, what is kept of it, what is handed on."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from catalog.causes.diagnosis import Diagnosis, Question
from catalog.causes.vocabulary import field
from catalog.records import FactValue, Load, Piece
from catalog.store import Catalog

if TYPE_CHECKING:
    from catalog.casebook.case import Case, Use
    from catalog.causes.load_table import LoadTable

__all__ = [
    "ask_case",
    "choices",
    "faults_of",
    "import_from_file",
    "keep_leach",
    "keep_word",
    "load_faults",
    "load_table",
    "moved_words",
    "new_piece",
    "shares",
    "use_case",
    "why",
    "why_from_file",
]


def why(
    catalog: Catalog, code: str, fault: str | None = None, *, schedule_may_change: bool | None = None
) -> Diagnosis:
    """Rank the causes of a filed piece's fault.

    Raises
    ------
    PieceNotFoundError, NoFaultError, UnknownFaultError
    """
    from catalog.casebook.case import case_of
    from catalog.causes.trial import Limits

    limits = None if schedule_may_change is None else Limits(schedule_may_change=schedule_may_change)
    return case_of(catalog, code, fault, limits=limits).diagnosis


def why_from_file(path: str, fault: str | None = None) -> Diagnosis:
    """Rank the causes from a facts file. Raises the errors of `catalog.causes`."""
    from catalog.causes.explain import why_facts_file

    return why_facts_file(Path(path), fault)


def ask_case(catalog: Catalog, code: str, fault: str) -> Case:
    """Give the whole case of a fault on a piece (see `catalog.casebook.case.case_of`)."""
    from catalog.casebook.case import case_of

    return case_of(catalog, code, fault)


def use_case(catalog: Catalog, piece: Piece) -> Use:
    """Give what a piece may be used for."""
    from catalog.casebook.case import use_of

    return use_of(catalog, piece)


def load_table(catalog: Catalog, load: Load, fault: str) -> LoadTable:
    """Set all pieces of a load side by side for one fault."""
    from catalog.casebook.case import load_why

    return load_why(catalog, load.id, fault)


def load_faults(catalog: Catalog, load: Load) -> list[str]:
    """Give the faults that stand on pieces of a load, the most frequent first."""
    from collections import Counter

    found = Counter(fault for piece in catalog.pieces(load_id=load.id) for fault in faults_of(piece))
    return [fault for fault, _ in found.most_common()]


def faults_of(piece: Piece) -> list[str]:
    """Give the faults that stand on a piece and whose causes are known, the surest first."""
    from catalog.causes.explain import faults_with_causes

    return list(faults_with_causes(piece))


def choices(question: Question) -> list[tuple[str, FactValue, str]]:
    """Give the answers to tap for a question: fact, value, words.

    A figure that can be said in words is asked for in words; other figures by one value of each stretch that
    the rules tell apart.
    """
    from catalog.causes.fact import show_value

    if question.in_words is not None:
        spoken = field(question.in_words)
        return [(spoken.name, word, word.replace("_", " ")) for word in spoken.allowed]
    return [(question.key, value, show_value(question.key, value)) for value in question.answers]


def keep_word(catalog: Catalog, case: Case, pair_id: str, verdict: str, by: str = "") -> None:
    """Keep a person's word on a cause with the facts known now."""
    catalog.casebook.keep_word(case.piece.code, case.fault, pair_id, verdict, case.plain_facts, by=by)


def keep_leach(
    catalog: Catalog,
    code: str,
    element: str,
    amount: float,
    *,
    unit: str,
    method: str,
    laboratory: str,
    accredited: bool,
    tested_on: date,
    below: bool,
    ware: str,
    region: str,
) -> None:
    """Keep one figure of a laboratory's report. Raises InvalidRecordError."""
    from catalog.ware.leach import LeachResult

    result = LeachResult(element, amount, unit, method, laboratory, accredited, tested_on, below)
    catalog.casebook.add_leach(code, result, ware=ware, region=region)


def import_from_file(catalog: Catalog, data: bytes) -> tuple[int, int]:
    """Add another studio's outcomes from a file's bytes; gives added and known. Raises CausesError."""
    from catalog.casebook.exchange import outcomes_text

    return catalog.casebook.import_outcomes(outcomes_text(data))


def new_piece(
    catalog: Catalog,
    fault: str,
    *,
    kind: str,
    glaze: str | None,
    body_id: int | None,
    load_id: int | None,
    shelf: str | None,
    coats: int | None,
) -> str:
    """File a piece that has no photo, with its fault; gives its code."""
    return catalog.casebook.add_piece(
        fault, kind=kind, glaze=glaze, body_id=body_id, load_id=load_id, shelf=shelf, coats=coats
    )


def shares(diagnosis: Diagnosis) -> dict[str, float]:
    """Give each cause's share by its id, to compare with the ranking before."""
    return {cause.cause_id: cause.probability for cause in diagnosis.causes}


def moved_words(before: dict[str, float], diagnosis: Diagnosis) -> str | None:
    """Say which cause moved most since a ranking before, None if none moved by two in a hundred."""
    from catalog.causes.diagnosis import most_moved

    moved = most_moved(before, diagnosis)
    if moved is None:
        return None
    cause, was = moved
    way = "up" if cause.probability > was else "down"
    then, now = f"{was:.0%}".rstrip("%"), f"{cause.probability:.0%}".rstrip("%")
    return f"“{cause.title}” went {way} from {then} to {now} of 100."
