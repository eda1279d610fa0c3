"""Why a filed piece, or a facts file, shows a fault: facts, ranking, trials and cautions in one answer."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, Protocol

from catalog.causes.derive import derive_facts
from catalog.causes.diagnosis import Diagnosis
from catalog.causes.errors import FactsFileError, NoFaultError, UnknownFaultError
from catalog.causes.fact import Fact, checked
from catalog.causes.infer import infer_causes
from catalog.causes.knowledge import fault_info, fault_of
from catalog.causes.learning import Learned
from catalog.causes.shop_facts import shop_knowledge
from catalog.causes.trial import Limits
from catalog.causes.trial_result import TrialResult
from catalog.faults import effective_faults
from catalog.records import FactValue, Piece, Recipe

__all__ = ["PieceSource", "faults_with_causes", "why", "why_facts_file", "why_piece"]

FACTS_FILE_LIMIT_BYTES = 1_000_000
"""Larger facts files are refused (our choice; all facts together have under 10 kB)."""


class PieceSource(Protocol):
    """What `why` asks of a catalogue; `catalog.store.Catalog` has it."""

    def piece(self, code: str) -> Piece:
        """Give one piece by its code."""
        ...

    def pieces(self, *, load_id: int | None) -> tuple[Piece, ...]:
        """Give the pieces of a load."""
        ...

    def recipe(self, recipe_id: int) -> Recipe:
        """Give one recipe revision."""
        ...


def faults_with_causes(piece: Piece) -> tuple[str, ...]:
    """Give the faults that stand on a piece and whose causes are known, a person's first, then likeliest."""
    found = []
    for fault in effective_faults(piece):
        try:
            found.append(fault_of(fault.fault))
        except UnknownFaultError:
            continue
    return tuple(dict.fromkeys(found))


def why(
    source: PieceSource,
    code: str,
    fault: str | None = None,
    extra: Mapping[str, FactValue | Fact] | None = None,
    *,
    learned: Learned | None = None,
    limits: Limits | None = None,
    results: Sequence[TrialResult] = (),
    wider: Mapping[str, Fact] | None = None,
) -> Diagnosis:
    """Answer why a filed piece shows a fault.

    Parameters
    ----------
    source : PieceSource
        The open catalogue.
    code : str
        The piece's code.
    fault : str, optional
        Which fault; without it the first that stands on the piece (a person's word first, then likeliest).
    extra : mapping, optional
        Answers just given, not yet kept; they outrank everything.
    learned : Learned, optional
        What the studio's outcomes have taught: ``learn(outcomes_of(source.pieces()))``.
    limits : Limits, optional
        What a trial may ask for.
    results : sequence of TrialResult
        What trials that were fired have said of this fault on this piece.
    wider : mapping of str to Fact, optional
        What pieces of other loads tell (`wider_facts`); the records and a person outrank it.

    Returns
    -------
    Diagnosis
        With every fact used and where it came from.

    Raises
    ------
    PieceNotFoundError
        No piece has this code.
    NoFaultError
        No fault stands on the piece and none was named.
    UnknownFaultError, UnknownFactError, FactValueError
        A word or an answer that the tables do not hold.
    """
    piece = source.piece(code)
    standing = faults_with_causes(piece)
    if fault is None and not standing:
        raise NoFaultError(piece.code)
    name = fault_of(fault) if fault is not None else standing[0]
    load_pieces = () if piece.load is None else source.pieces(load_id=piece.load.id)
    return why_piece(
        source,
        piece,
        name,
        load_pieces,
        extra,
        learned=learned,
        limits=limits,
        results=results,
        wider=wider,
    )


def why_piece(
    source: PieceSource,
    piece: Piece,
    fault: str,
    load_pieces: Sequence[Piece],
    extra: Mapping[str, FactValue | Fact] | None = None,
    *,
    learned: Learned | None = None,
    limits: Limits | None = None,
    results: Sequence[TrialResult] = (),
    wider: Mapping[str, Fact] | None = None,
) -> Diagnosis:
    """Answer as `why` for a piece whose record and whose load's pieces are at hand already."""
    name, standing = fault_of(fault), faults_with_causes(piece)
    numbers = {layer.recipe_id for layer in piece.layers if layer.recipe_id is not None}
    derived = derive_facts(
        piece,
        name,
        recipes={number: source.recipe(number) for number in numbers},
        load_pieces=load_pieces,
        shop=shop_knowledge(source, piece),
    )
    known = {**(wider or {}), **derived.facts, **(extra or {})}
    diagnosis = infer_causes(name, known, learned=learned, limits=limits, results=results)
    return replace(diagnosis, notes=diagnosis.notes + derived.notes + _about(piece, name, standing))


def _trade_word(fault: str) -> str:
    """Give the first word of the trade for a fault."""
    return re.split(r",| or | \(", fault_info(fault).trade_term)[0]


def _about(piece: Piece, fault: str, standing: tuple[str, ...]) -> tuple[str, ...]:
    notes = []
    if fault not in standing:
        notes.append(
            f"No {_trade_word(fault)} stands on {piece.code}: this is what would be likely if it came."
        )
    others = [other for other in standing if other != fault]
    if others:
        notes.append(f"Also on this piece: {', '.join(map(_trade_word, others))}; two causes may be at work.")
    for judgement in piece.judgements:
        if judgement.about == "cause":
            who = judgement.by or "a person"
            notes.append(f"{judgement.subject}: {judgement.verdict.replace('_', ' ')}, says {who}.")
    return tuple(notes)


def why_facts_file(path: Path, fault: str | None = None) -> Diagnosis:
    """Answer from a facts file: ``{"fault": "blister", "facts": {"firing.cone_over_target": 2}}``.

    Parameters
    ----------
    path : Path
        JSON, UTF-8, at most 1 MB. A fact that is not quite sure is ``{"value": 2, "certainty": 0.6}``.
    fault : str, optional
        Asked about in place of the file's own fault, which may then be left out.

    Raises
    ------
    FactsFileError
        No such file, no JSON, or not of that form; says what is wanted.
    UnknownFaultError, UnknownFactError, FactValueError
        As `infer_causes`.
    """
    wanted = 'wanted: {"fault": "blister", "facts": {"firing.cone_over_target": 2}}'
    try:
        if path.stat().st_size > FACTS_FILE_LIMIT_BYTES:
            raise FactsFileError(path.name, "the file is larger than 1 MB")
        data: Any = json.loads(path.read_text(encoding="utf-8-sig"))
    except OSError as error:
        raise FactsFileError(path.name, f"the file cannot be opened ({error.strerror})") from error
    except UnicodeDecodeError as error:
        raise FactsFileError(path.name, f"this is not a text file; {wanted}") from error
    except json.JSONDecodeError as error:
        raise FactsFileError(path.name, f"line {error.lineno} is no JSON ({error.msg}); {wanted}") from error
    except (ValueError, RecursionError) as error:
        raise FactsFileError(path.name, f"the JSON holds what cannot be read ({error}); {wanted}") from error
    if not isinstance(data, dict):
        raise FactsFileError(path.name, f"this is not an object; {wanted}")
    name = data.get("fault") if fault is None else fault
    if not isinstance(name, str):
        raise FactsFileError(path.name, f"no fault is named; {wanted}")
    facts = data.get("facts", {})
    if not isinstance(facts, dict):
        raise FactsFileError(path.name, f"facts is not an object; {wanted}")
    return infer_causes(name, {key: _soft(path, key, value) for key, value in facts.items()})


def _soft(path: Path, key: str, given: Any) -> FactValue | Fact:
    """Read ``{"value": 1.2, "certainty": 0.6}`` as a fact that is not quite sure; all else as it stands."""
    if not isinstance(given, dict):
        plain: FactValue = given
        return plain
    sure = given.get("certainty", 1.0)
    is_number = isinstance(sure, int | float) and not isinstance(sure, bool)
    if "value" not in given or not is_number or not 0.0 <= sure <= 1.0:
        raise FactsFileError(path.name, f'{key}: wanted {{"value": ..., "certainty": 0 to 1}}')
    fact = checked({key: given["value"]})[key]
    return replace(fact, certainty=float(sure))
