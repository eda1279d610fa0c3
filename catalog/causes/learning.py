"""What a studio's confirmed outcomes teach: priors and strengths, as counts, with the way back.

Priors are a Dirichlet model: published shares stand for `PRIOR_CASES` cases seen elsewhere, each confirmed
case here adds one, and a refuted cause's case is shared among the others by their shares. Strengths are two
Beta models for each piece of evidence: how often it holds where its cause was confirmed, how often where
another was. The published ratio R stands for `STRENGTH_CASES` such cases each, holding in R b and b of them
(b is `weigh.BASE_RATE`); for evidence against, b is the greater chance. The learned ratio keeps within a
factor of ten either way.

Outcomes are plain records. Nothing here keeps them: `learn` is a function of the list, so to undo one is to
leave it out (`without`), and another studio's are joined by their ids (`joined`).
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any

from catalog.causes.errors import CausesError, OutcomeNotFoundError, nearest
from catalog.causes.fact import checked, completed
from catalog.causes.knowledge import EvidenceRule, causes_of, fault_names, fault_of
from catalog.causes.weigh import BASE_RATE, THEME_CAP
from catalog.records import FactValue, Piece

__all__ = [
    "PRIOR_CASES",
    "STRENGTH_CASES",
    "VERDICTS",
    "Learned",
    "Outcome",
    "exported",
    "imported",
    "joined",
    "learn",
    "outcomes_of",
    "without",
]

PRIOR_CASES = 20.0
"""Cases of a fault that the published shares are worth (judgement: about the collected cases of a fault)."""

STRENGTH_CASES = 20.0
"""Cases with and cases without the cause that a published strength is worth (judgement)."""

VERDICTS = ("confirmed", "refuted", "fix_worked")

_OTHER = "other"
_FORM = "glostbook outcomes 1"


@dataclass(frozen=True, slots=True)
class Outcome:
    """A person's word on a cause of one fault on one piece.

    Attributes
    ----------
    id : unique over studios, such as "north-shed/T-0042/blister/1"
    fault : the fault's own name
    pair_id : the cause, or "other"
    verdict : "confirmed", "refuted" or "fix_worked" (which confirms)
    facts : what was known of the piece, plain values
    said_by, said_on : who, and the day (ISO 8601), "" where not kept
    """

    id: str
    fault: str
    pair_id: str
    verdict: str
    facts: Mapping[str, FactValue] = field(default_factory=dict)
    said_by: str = ""
    said_on: str = ""


@dataclass(frozen=True, slots=True)
class Learned:
    """What outcomes have taught.

    Attributes
    ----------
    confirmed, refuted : count of cases by fault and pair id
    strengths : learned ratio by pair id and evidence text, only where outcomes spoke of it
    counts : for the same keys, (held, known) with the cause and (held, known) with another
    """

    confirmed: Mapping[tuple[str, str], int] = field(default_factory=dict)
    refuted: Mapping[tuple[str, str], int] = field(default_factory=dict)
    strengths: Mapping[tuple[str, str], float] = field(default_factory=dict)
    counts: Mapping[tuple[str, str], tuple[int, int, int, int]] = field(default_factory=dict)

    def cases(self, fault: str) -> int:
        """Give how many cases of a fault have a confirmed cause here."""
        return sum(count for (name, _), count in self.confirmed.items() if name == fault)

    def priors(self, fault: str, published: Mapping[str, float]) -> dict[str, float]:
        """Give the shares of a fault's causes, learned here on top of the published ones.

        Parameters
        ----------
        fault : str
            The fault's own name.
        published : mapping of str to float
            Shares by pair id; what they leave of 1 is "something else".

        Returns
        -------
        dict of str to float
            Shares by pair id, adding to less than 1.
        """
        shares = {**published, _OTHER: 1.0 - sum(published.values())}
        cases = {pair: PRIOR_CASES * share for pair, share in shares.items()}
        for pair in shares:
            cases[pair] += self.confirmed.get((fault, pair), 0)
            count = self.refuted.get((fault, pair), 0)
            for rival in shares.keys() - {pair}:
                cases[rival] += count * shares[rival] / (1.0 - shares[pair])
        total = sum(cases.values())
        return {pair: cases[pair] / total for pair in published}

    def count_words(self, fault: str, pair_id: str) -> str:
        """Say the studio's own count ("4 of 11 like this here"), "" where there is none."""
        total = self.cases(fault)
        words = f"{self.confirmed.get((fault, pair_id), 0)} of {total} like this here" if total else ""
        refuted = self.refuted.get((fault, pair_id), 0)
        if refuted:
            words = f"{words}; ruled out {refuted} times" if words else f"ruled out {refuted} times here"
        return words


def learn(outcomes: Iterable[Outcome]) -> Learned:
    """Give what outcomes teach.

    Raises
    ------
    CausesError
        An outcome names a fault, a cause or a verdict that the tables do not hold.
    UnknownFactError, FactValueError
        An outcome's facts are not of the vocabulary.
    """
    confirmed: dict[tuple[str, str], int] = {}
    refuted: dict[tuple[str, str], int] = {}
    tallies: dict[tuple[str, str], list[int]] = {}
    for outcome in outcomes:
        name = fault_of(outcome.fault)
        _check(outcome, name)
        where = (name, outcome.pair_id)
        if outcome.verdict == "refuted":
            refuted[where] = refuted.get(where, 0) + 1
            continue
        confirmed[where] = confirmed.get(where, 0) + 1
        _tally(outcome, name, tallies)
    items = _items()
    strengths = {key: _ratio(items[key], tally) for key, tally in tallies.items()}
    counts = {key: (tally[0], tally[1], tally[2], tally[3]) for key, tally in tallies.items()}
    return Learned(confirmed, refuted, strengths, counts)


def _check(outcome: Outcome, fault: str) -> None:
    known = [rule.pair_id for rule, _ in causes_of(fault)]
    if outcome.pair_id not in (*known, _OTHER):
        near = nearest(outcome.pair_id, known)
        hint = f"; the nearest known one is {near}" if near else ""
        raise CausesError(f"{outcome.id}: {outcome.pair_id!r} is not a known cause of {fault}{hint}")
    if outcome.verdict not in VERDICTS:
        raise CausesError(f"{outcome.id}: verdict {outcome.verdict!r} is not one of {', '.join(VERDICTS)}")


def _tally(outcome: Outcome, fault: str, tallies: dict[tuple[str, str], list[int]]) -> None:
    facts = completed(checked(outcome.facts))
    for rule, _ in causes_of(fault):
        at = 0 if rule.pair_id == outcome.pair_id else 2
        for item in rule.evidence:
            if not all(condition.key in facts for condition in item.conditions):
                continue
            held = all(c.holds(facts[c.key].value) for c in item.conditions)
            tally = tallies.setdefault((rule.pair_id, item.text), [0, 0, 0, 0])
            tally[at] += held
            tally[at + 1] += 1


def _items() -> dict[tuple[str, str], EvidenceRule]:
    return {
        (rule.pair_id, item.text): item
        for fault in fault_names()
        for rule, _ in causes_of(fault)
        for item in rule.evidence
    }


def _ratio(item: EvidenceRule, tally: Sequence[int]) -> float:
    """Give the ratio of two Beta means: holding with the cause, holding with another."""
    if item.speaks_for:
        with_it, without_it = item.ratio * BASE_RATE, BASE_RATE
    else:
        with_it, without_it = item.ratio * 0.5, 0.5
    held, known, held_else, known_else = tally
    chance = (STRENGTH_CASES * with_it + held) / (STRENGTH_CASES + known)
    chance_else = (STRENGTH_CASES * without_it + held_else) / (STRENGTH_CASES + known_else)
    cap = math.log(THEME_CAP)
    return math.exp(min(cap, max(-cap, math.log(chance / chance_else))))


def outcomes_of(pieces: Iterable[Piece], studio: str = "here") -> tuple[Outcome, ...]:
    """Give the outcomes that people's words on causes make.

    Parameters
    ----------
    pieces : iterable of Piece
        Their judgements about "cause" name a cause id (or "other", which is left out: it has no fault).
    studio : str
        Goes into the ids, so that outcomes of several studios can be joined.

    Returns
    -------
    tuple of Outcome
        A later word on the same cause of the same piece stands in place of the earlier. Facts are those
        answered for the piece.
    """
    by_cause = {rule.cause_id: rule for fault in fault_names() for rule, _ in causes_of(fault)}
    found: dict[str, Outcome] = {}
    for piece in pieces:
        for word in sorted((j for j in piece.judgements if j.about == "cause"), key=lambda j: j.id):
            rule = by_cause.get(word.subject)
            if rule is None or word.verdict not in VERDICTS:
                continue
            name = f"{studio}/{piece.code}/{rule.pair_id}"
            found[name] = Outcome(
                name,
                rule.fault,
                rule.pair_id,
                word.verdict,
                dict(piece.facts),
                word.by,
                word.made_at.date().isoformat(),
            )
    return tuple(found.values())


def without(outcomes: Iterable[Outcome], outcome_id: str) -> tuple[Outcome, ...]:
    """Give the outcomes less one: what was learned from it is undone when `learn` runs again.

    Raises
    ------
    CausesError
        None has this id.
    """
    given = tuple(outcomes)
    kept = tuple(outcome for outcome in given if outcome.id != outcome_id)
    if len(kept) == len(given):
        raise OutcomeNotFoundError(outcome_id)
    return kept


def joined(own: Iterable[Outcome], others: Iterable[Outcome]) -> tuple[Outcome, ...]:
    """Join outcomes of several studios; of two with one id the first given stays."""
    found: dict[str, Outcome] = {}
    for outcome in (*own, *others):
        found.setdefault(outcome.id, outcome)
    return tuple(found.values())


def exported(outcomes: Iterable[Outcome]) -> str:
    """Give outcomes as JSON text, without who said them."""
    rows = [{k: v for k, v in asdict(outcome).items() if k != "said_by"} for outcome in outcomes]
    return json.dumps({"form": _FORM, "outcomes": rows}, indent=1, ensure_ascii=False, allow_nan=False)


def imported(text: str) -> tuple[Outcome, ...]:
    """Read outcomes from `exported` text, each checked.

    Raises
    ------
    CausesError
        Not JSON, not of that form, or a fault, cause, fact or verdict that the tables do not hold.
    """
    try:
        data: Any = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise CausesError(f"this is no JSON ({error})") from error
    if not isinstance(data, dict) or data.get("form") != _FORM or not isinstance(data.get("outcomes"), list):
        raise CausesError(f'wanted: {{"form": "{_FORM}", "outcomes": [...]}}')
    found = tuple(_outcome(row) for row in data["outcomes"])
    learn(found)
    return found


def _outcome(row: Any) -> Outcome:
    texts = ("id", "fault", "pair_id", "verdict")
    if not isinstance(row, dict) or not all(isinstance(row.get(key), str) for key in texts):
        raise CausesError(f"an outcome needs {', '.join(texts)} as text; got {str(row)[:80]}")
    facts = row.get("facts", {})
    if not isinstance(facts, dict):
        raise CausesError(f"{row['id']}: facts is not an object")
    return Outcome(
        row["id"], row["fault"], row["pair_id"], row["verdict"], facts, "", str(row.get("said_on", ""))
    )
