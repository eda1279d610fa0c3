"""One case whole: a piece, its fault, why, who else, what was tried, what it may be used for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from catalog.casebook.answers import facts_of_answers
from catalog.casebook.leach_results import results_for
from catalog.casebook.outcomes import plain_facts
from catalog.casebook.records import Answer, KeptLeach, KeptTrial, Ways
from catalog.causes.diagnosis import Diagnosis
from catalog.causes.errors import NoFaultError
from catalog.causes.exact_test import Tally
from catalog.causes.explain import faults_with_causes, why_piece
from catalog.causes.knowledge import causes_of, fault_of
from catalog.causes.learning import Learned, Outcome
from catalog.causes.likeness import Likeness, likeness
from catalog.causes.load_table import LoadTable, load_table
from catalog.causes.trial import Limits
from catalog.causes.wider_facts import wider_facts
from catalog.records import FactValue, Piece
from catalog.ware.of_piece import ware_of
from catalog.ware.sisters import Sister
from catalog.ware.statement import UseStatement, use_statement

if TYPE_CHECKING:
    from catalog.store import Catalog

__all__ = ["Case", "Use", "case_of", "diagnose", "load_why", "use_of"]


@dataclass(frozen=True, slots=True)
class Case:
    """Everything a person needs to see of one fault on one piece.

    Attributes
    ----------
    load : the piece's load in one table, None without a load
    tallies : who else shows it over all loads, by bucket, clay lot, layers, shelf
    trials : planned about this piece and fault, newest first
    answers : what a person said
    learned : the studio's counts
    """

    piece: Piece
    fault: str
    diagnosis: Diagnosis
    ways: Ways
    load: LoadTable | None
    tallies: tuple[Tally, ...]
    trials: tuple[KeptTrial, ...]
    answers: tuple[Answer, ...]
    learned: Learned
    outcomes: tuple[Outcome, ...]

    @property
    def plain_facts(self) -> dict[str, FactValue]:
        """Facts to keep with a person's word."""
        return plain_facts(self.diagnosis.facts)

    def likeness(self) -> Likeness:
        """Ask the studio's own confirmed pieces (slow from `likeness.FEWEST_PIECES` on: it fits)."""
        titles = {rule.pair_id: rule.cause for rule, _ in causes_of(self.fault)}
        cases = [
            (one.pair_id, one.facts)
            for one in self.outcomes
            if one.fault == self.fault and one.verdict != "refuted" and one.pair_id in titles
        ]
        first = self.diagnosis.causes[0]
        return likeness(cases, self.plain_facts, first.pair_id or first.cause_id, titles)


@dataclass(frozen=True, slots=True)
class Use:
    """What a piece may be used for, with what the statement rests on."""

    statement: UseStatement
    sisters: tuple[Sister, ...]
    results: tuple[KeptLeach, ...]
    places: Mapping[str, str]
    ware: str
    region: str


def case_of(catalog: Catalog, code: str, fault: str | None = None, *, limits: Limits | None = None) -> Case:
    """Give the whole case of a fault on a filed piece.

    Parameters
    ----------
    catalog : Catalog
    code : str
    fault : str, optional
        Without it the first that stands on the piece.
    limits : Limits, optional
        What a trial may ask for; by default what the studio's ways say.

    Raises
    ------
    PieceNotFoundError, NoFaultError, UnknownFaultError
    """
    book = catalog.casebook
    piece = catalog.piece(code)
    standing = faults_with_causes(piece)
    if fault is None and not standing:
        raise NoFaultError(piece.code)
    name = fault_of(fault) if fault is not None else standing[0]
    ways = book.ways()
    learned, outcomes = book.learned()
    answers = book.answers(piece)
    trials = tuple(t for t in book.trials(piece) if t.fault == name and t.code == piece.code)
    tallies = book.tallies(piece, name)
    load_pieces = () if piece.load is None else catalog.pieces(load_id=piece.load.id)
    diagnosis = why_piece(
        catalog,
        piece,
        name,
        load_pieces,
        facts_of_answers(answers),
        learned=learned if outcomes else None,
        limits=ways.limits if limits is None else limits,
        results=[
            *(trial.result for trial in trials if trial.result is not None),
            *book.sister_results(piece, name),
        ],
        wider=wider_facts(tallies),
    )
    nobody = {answer.fact for answer in answers if answer.value is None}
    questions = tuple(q for q in diagnosis.questions if q.key not in nobody)
    table = load_table(load_pieces, name) if load_pieces else None
    return Case(
        piece,
        name,
        replace(diagnosis, questions=questions),
        ways,
        table,
        tallies,
        trials,
        answers,
        learned,
        outcomes,
    )


def diagnose(catalog: Catalog, code: str, fault: str | None = None) -> Diagnosis:
    """Give the diagnosis alone (see `case_of`)."""
    return case_of(catalog, code, fault).diagnosis


def load_why(catalog: Catalog, load_id: int, fault: str) -> LoadTable:
    """Set all pieces of a load side by side for one fault. Raises LoadNotFoundError, UnknownFaultError."""
    load = catalog.load(load_id)
    return load_table(catalog.pieces(load_id=load.id), fault_of(fault))


def use_of(catalog: Catalog, piece: Piece) -> Use:
    """Say what a piece may be used for, and which pieces go with it if it fails."""
    book = catalog.casebook
    places, ware = book.places(piece)
    ways = book.ways()
    results = book.leach(piece)
    numbers = {layer.recipe_id for layer in piece.layers if layer.recipe_id is not None}
    known = ware_of(
        piece,
        recipes={number: catalog.recipe(number) for number in numbers},
        places=places,
        ware=ware or "hollow",
        region=ways.region,
        results=results_for(piece, results),
    )
    return Use(use_statement(known), book.sisters(piece), results, places, known.ware, known.region)
