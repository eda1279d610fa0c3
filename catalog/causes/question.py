"""Which unanswered question would teach most, for the minutes it takes.

For each fact that is not known, the answers worth telling apart are the allowed words, yes and no, or one
value from each stretch between the numbers that the rules name. Each answer's chance under a cause is its
everyday chance times the factor that the model would give it, made to add to 1 over the answers. The expected
information is that of the answer about the causes, in bits (Lindley 1956: the expected fall of entropy). It
treats the shares of the blame as one cause at work, and answers as independent of facts already known but
for the caps of `weigh`.

The costliest mistake is to take holes that need more heat for an early over-firing that needs less, or the
other way about: while both are open, the question that parts them best is asked first.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from itertools import pairwise

from catalog.causes.diagnosis import Question
from catalog.causes.fact import Fact, Origin, completed, in_words
from catalog.causes.knowledge import CauseRule, causes_of, seat_evidence
from catalog.causes.vocabulary import field
from catalog.causes.weigh import BASE_RATE, capped, raw_logs, weigh
from catalog.firing.cones import LADDER, cone_position
from catalog.records import FactValue

__all__ = ["answer_chances", "answers_worth_offering", "information_bits", "keys_of", "next_questions"]

_SHOWN = 8
_LEAST_GAIN_BITS = 0.002
_NOT_ASKED = frozenset({"measured", "calculated", "estimated", "calculated or measured"})
_MINUTES: Mapping[str, float] = {
    "asked": 1.0,
    "seen": 1.0,
    "declared": 1.0,
    "log": 3.0,
    "witness cone": 1.0,
    "supplier sheet": 5.0,
    "measured or felt": 1.0,
    "measured or seen": 1.0,
    "measured or declared": 2.0,
    "asked or witness": 2.0,
    "seen on a break": 10.0,
    "boil or soak test": 60.0,
    "chip or edge": 5.0,
}
"""Minutes that finding out takes, by how a fact is obtained (judgement, no source)."""

_MINUTES_ELSE = 4.0

_MINUTES_IN_WORDS = 2.0
"""What a fact counts for that can be said in words: a minute to say, and half the worth of a figure."""

_OPPOSITES: Mapping[str, tuple[str, str]] = {
    "pinhole": ("pinhole/P09_overfire", "pinhole/P04_underfired_not_healed"),
    "pit_dimple": ("pinhole/P09_overfire", "pinhole/P04_underfired_not_healed"),
    "blister": ("blister/B01_overfire", "blister/B21_unhealed_taken_for_blister"),
    "crater": ("blister/B01_overfire", "blister/B21_unhealed_taken_for_blister"),
}
"""Causes with opposite remedies that look alike: too much heat, too little."""

_PARTING = ("firing.cone_over_target", "image.rim_sharp", "history.refire")
"""Facts that part them: a cone beside the piece, the lip, a second firing (defects.md section 3)."""

_SETTLED = 0.9
"""Between the opposites: once one has this part of what both have, the question is settled (our choice)."""

OPPOSITE_REMEDIES = "more heat heals the one and worsens the other: part these two before anything else"


@cache
def keys_of(fault: str) -> tuple[str, ...]:
    """Give every fact that evidence about a fault's causes hangs on, in the vocabulary's name order."""
    keys = set()
    for rule, _ in causes_of(fault):
        keys |= {c.key for item in rule.evidence for c in item.conditions}
        for seat in rule.seats:
            keys |= {c.key for shared in seat_evidence(seat) for c in shared.rule.conditions}
    return tuple(sorted(keys))


@cache
def _conditions(fault: str, key: str) -> tuple[tuple[str, FactValue], ...]:
    found: dict[tuple[str, FactValue], None] = {}
    for rule, _ in causes_of(fault):
        items = list(rule.evidence)
        items += [shared.rule for seat in rule.seats for shared in seat_evidence(seat)]
        for item in items:
            for condition in item.conditions:
                if condition.key == key:
                    found[condition.op, condition.value] = None
    return tuple(found)


@cache
def answers_worth_offering(fault: str, key: str) -> tuple[FactValue, ...]:
    """Give the answers to a question that the rules about a fault tell apart.

    Returns
    -------
    tuple of bool, str or float
        Yes and no; the allowed words; for numbers and cones one value in each stretch between the named ones.
    """
    spec = field(key)
    if spec.type == "bool":
        return (True, False)
    if spec.type == "class":
        return spec.allowed
    named = [value for _, value in _conditions(fault, key)]
    if spec.type == "cone":
        places = sorted({cone_position(str(value)) for value in named})
        near = {place + step for place in places for step in (-1, 0, 1)}
        return tuple(cone for cone in LADDER if cone_position(cone) in near)
    cuts = sorted({float(value) for value in named})
    if not cuts:
        return ()
    step = 1.0 if spec.unit == "cone steps" else max(abs(cuts[0]), abs(cuts[-1]), 0.1) * 0.2
    between = [(a + b) / 2.0 for a, b in pairwise(cuts)]
    values = sorted({cuts[0] - step, *cuts, *between, cuts[-1] + step})
    if spec.type == "fraction":
        values = [value for value in values if 0.0 <= value <= 1.0]
    return tuple(values)


@cache
def _everyday(fault: str, key: str) -> tuple[float, ...]:
    """Give each answer's chance where no cause speaks of it: a telling one is met in one case in ten."""
    answers = answers_worth_offering(fault, key)
    spoken: set[FactValue] = set()
    for rule, _ in causes_of(fault):
        items = [item for item in rule.evidence if item.speaks_for]
        items += [s.rule for seat in rule.seats for s in seat_evidence(seat) if s.rule.speaks_for]
        for item in items:
            for condition in item.conditions:
                if condition.key == key:
                    spoken |= {answer for answer in answers if condition.holds(answer)}
    telling = [answer in spoken for answer in answers]
    many = sum(telling)
    if many in (0, len(answers)):
        return tuple(1.0 / len(answers) for _ in answers)
    each = min(BASE_RATE, 0.5 / many)
    left = (1.0 - each * many) / (len(answers) - many)
    return tuple(each if tells else left for tells in telling)


@cache
def _about(pair_id: str, fault: str, key: str) -> CauseRule:
    """Give a cause's rule with only the evidence that the fact (or what follows from it) touches."""
    (rule,) = (rule for rule, _ in causes_of(fault) if rule.pair_id == pair_id)
    keys = {key, *_LEADS_TO.get(key, ())}
    kept = tuple(item for item in rule.evidence if any(c.key in keys for c in item.conditions))
    return replace(rule, evidence=kept)


def _logs_about(rule: CauseRule, known: Mapping[str, Fact]) -> dict[str, float]:
    return raw_logs(weigh(rule, known))


def _factors(
    rule: CauseRule, fault: str, base: Mapping[str, float], known: Mapping[str, Fact], key: str
) -> list[float]:
    """Give the factor that each answer would give a cause, the caps of its themes kept."""
    part = _about(rule.pair_id, fault, key)
    keys = {key, *_LEADS_TO.get(key, ())} | {c.key for item in part.evidence for c in item.conditions}
    near = {k: f for k, f in known.items() if k in keys}
    without = _logs_about(part, near)
    before = sum(capped(base).values())
    found = []
    for value in answers_worth_offering(fault, key):
        told = {**near, key: Fact(key, value, Origin.ANSWERED, "")}
        with_it = _logs_about(part, completed(told) if key in _LEADS_TO else told)
        moved = {
            group: base.get(group, 0.0) + with_it.get(group, 0.0) - without.get(group, 0.0)
            for group in base.keys() | with_it.keys()
        }
        found.append(math.exp(sum(capped(moved).values()) - before))
    return found


@cache
def _speaks_of(pair_id: str, fault: str) -> frozenset[str]:
    (rule,) = (rule for rule, _ in causes_of(fault) if rule.pair_id == pair_id)
    keys = {c.key for item in rule.evidence for c in item.conditions}
    return frozenset(
        keys | {c.key for seat in rule.seats for s in seat_evidence(seat) for c in s.rule.conditions}
    )


_LEADS_TO: Mapping[str, tuple[str, ...]] = {
    "firing.cone_over_target": ("firing.cone_over_range", "firing.cone_under_range"),
    "firing.cone_over_range": ("firing.cone_under_range",),
    "firing.cone_under_range": ("firing.cone_over_range",),
}


def answer_chances(
    fault: str, key: str, known: Mapping[str, Fact], logs: Mapping[str, Mapping[str, float]] | None = None
) -> tuple[tuple[float, ...], dict[str, tuple[float, ...]]]:
    """Give the chance of each answer to a question.

    Parameters
    ----------
    fault : str
        The fault's own name.
    key : str
        The fact asked for.
    known : mapping of str to Fact
        What is known already.
    logs : mapping, optional
        `weigh.raw_logs` of each cause by pair id, where they are worked out already.

    Returns
    -------
    everyday : tuple of float
        Where none of the causes speaks of it ("something else"); adds to 1.
    by_cause : dict of str to tuple of float
        By pair id; each adds to 1.
    """
    everyday = _everyday(fault, key)
    if logs is None:
        logs = {rule.pair_id: raw_logs(weigh(rule, known)) for rule, _ in causes_of(fault)}
    keys = {key, *_LEADS_TO.get(key, ())}
    by_cause: dict[str, tuple[float, ...]] = {}
    for rule, _ in causes_of(fault):
        if not keys & _speaks_of(rule.pair_id, fault):
            by_cause[rule.pair_id] = everyday
            continue
        factors = _factors(rule, fault, logs[rule.pair_id], known, key)
        raw = [base * factor for base, factor in zip(everyday, factors, strict=True)]
        total = sum(raw)
        by_cause[rule.pair_id] = tuple(value / total for value in raw)
    return everyday, by_cause


def information_bits(shares: Sequence[float], chances: Sequence[Sequence[float]]) -> float:
    """Give the mutual information of an answer and the cause.

    Parameters
    ----------
    shares : (causes,) probabilities
        Need not add to 1; they are made to.
    chances : (causes, answers) chance of each answer under each cause

    Returns
    -------
    float
        Bits, 0 or more.
    """
    total = sum(shares)
    weights = [share / total for share in shares]
    bits = 0.0
    for answer in range(len(chances[0])):
        chance = sum(w * row[answer] for w, row in zip(weights, chances, strict=True))
        for weight, row in zip(weights, chances, strict=True):
            if weight > 0.0 and row[answer] > 0.0:
                bits += weight * row[answer] * math.log2(row[answer] / chance)
    return max(0.0, bits)


def next_questions(
    fault: str, known: Mapping[str, Fact], shares: Mapping[str, float], shown: int | None = _SHOWN
) -> tuple[Question, ...]:
    """Give the questions worth asking, most bits for the minute first.

    Parameters
    ----------
    fault : str
        The fault's own name.
    known : mapping of str to Fact
        What is known; facts inferred from others may still be asked for.
    shares : mapping of str to float
        Share of the blame by pair id, with one more key for "something else".
    shown : int or None
        At most so many; None gives all.

    Returns
    -------
    tuple of Question
        While two causes with opposite remedies are open, the question that parts them leads.
    """
    pairs = [rule.pair_id for rule, _ in causes_of(fault)]
    rest = sum(value for key, value in shares.items() if key not in pairs)
    found: list[Question] = []
    parting: list[tuple[float, Question]] = []
    opposites = _OPPOSITES.get(fault)
    logs = {rule.pair_id: raw_logs(weigh(rule, known)) for rule, _ in causes_of(fault)}
    for key in keys_of(fault):
        spec = field(key)
        fact = known.get(key)
        if spec.how_obtained in _NOT_ASKED or (fact is not None and fact.origin is not Origin.INFERRED):
            continue
        if key in ("firing.cone_over_range", "firing.cone_under_range"):
            continue
        others = {k: f for k, f in known.items() if k != key}
        everyday, by_cause = answer_chances(fault, key, others, logs if key not in known else None)
        gain = information_bits(
            [*(shares[pair] for pair in pairs), rest], [*(by_cause[pair] for pair in pairs), everyday]
        )
        words = in_words(key)
        minutes = _MINUTES.get(spec.how_obtained, _MINUTES_ELSE)
        if words is not None:
            minutes = min(minutes, _MINUTES_IN_WORDS)
        offered = answers_worth_offering(fault, key)
        question = Question(key, spec.label, offered, gain, minutes, in_words=words)
        if gain >= _LEAST_GAIN_BITS:
            found.append(question)
        if opposites is not None and key in _PARTING:
            both = [shares[pair] for pair in opposites]
            parts = information_bits(both, [by_cause[pair] for pair in opposites])
            parting.append((parts, question))
    found.sort(key=lambda q: (-q.expected_gain_bits / q.minutes, q.key))
    if opposites is not None and parting and _open(shares, opposites):
        first = max(parting, key=lambda pair: pair[0])[1]
        led = Question(
            first.key,
            first.label,
            first.answers,
            first.expected_gain_bits,
            first.minutes,
            OPPOSITE_REMEDIES,
            first.in_words,
        )
        found = [led, *(q for q in found if q.key != first.key)]
    return tuple(found[:shown])


def _open(shares: Mapping[str, float], opposites: tuple[str, str]) -> bool:
    one, two = (shares[pair] for pair in opposites)
    return max(one, two) < _SETTLED * (one + two)
