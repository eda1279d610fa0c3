"""From a fault and facts to ranked causes.

The model: prior share of each cause, times the likelihood ratio of each piece of evidence that holds,
made to add to 1 over the fault's causes and "something else". What it assumes: one cause is at work;
evidence of different themes (image, spread, recipe, application, body, firing, history) is independent
given the cause; within a theme it is not, so a theme's product is held to a factor of ten either way; a
fact that is not known changes nothing; "something else" keeps the prior that the causes leave over, and no
evidence touches it.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping

from catalog.causes.caution import cautions_for
from catalog.causes.diagnosis import Diagnosis, EvidenceLine, RankedCause, UnknownLine
from catalog.causes.fact import Fact, checked, completed, show_value
from catalog.causes.knowledge import CauseRule, Condition, EvidenceRule, causes_of, fault_info, fault_of
from catalog.causes.trial import next_trials
from catalog.causes.vocabulary import field
from catalog.records import FactValue

__all__ = ["OTHER", "THEME_CAP", "infer_causes"]

OTHER = "other"
"""Cause id of "something else"."""

THEME_CAP = 10.0
"""Largest factor one theme of evidence may give for or against a cause (defects.md section 7; judgement)."""

_OP_WORDS: Mapping[str, str] = {
    ">=": "at least",
    "<=": "at most",
    ">": "more than",
    "<": "less than",
}

NO_EVIDENCE = "No known fact speaks for or against any cause: the ranking shows only how often each is met."


def infer_causes(fault: str, facts: Mapping[str, FactValue | Fact]) -> Diagnosis:
    """Rank the causes of a fault in the light of facts.

    Parameters
    ----------
    fault : str
        A fault's name, or the reading's adjective ("blister", "blistered", "crazing", ...).
    facts : mapping
        Keys of the vocabulary to plain values (bool, number, text) or `Fact`s; leave out what is not known.

    Returns
    -------
    Diagnosis
        Causes likeliest first, "something else" (`other`) among them, probabilities adding to 1; the
        trials that would teach most; cautions, stop notices first.

    Raises
    ------
    UnknownFaultError
        No causes are known under that word.
    UnknownFactError
        A key is not in the vocabulary; the error names the nearest known one.
    FactValueError
        A value does not fit its key (type, unit or allowed words).

    Notes
    -----
    Source of priors and ratios: `data/causes.csv`, each row with its own source and basis.
    """
    name = fault_of(fault)
    known = completed(checked(facts))
    rules = causes_of(name)
    weights: dict[str, float] = {}
    lines: dict[str, tuple[EvidenceLine, ...]] = {}
    for rule, share in rules:
        lines[rule.pair_id] = _evidence(rule, known)
        weights[rule.pair_id] = share * _capped_product(lines[rule.pair_id])
    left = 1.0 - sum(share for _, share in rules)
    total = sum(weights.values()) + left
    ranked = [
        RankedCause(
            cause_id=rule.cause_id,
            title=rule.cause,
            mechanism=rule.mechanism,
            probability=weights[rule.pair_id] / total,
            prior=share,
            evidence=lines[rule.pair_id],
            unknown=_unknown(rule, known),
            remedy=rule.remedy,
            caution=rule.risk_caution,
            source=rule.source,
            basis=rule.basis,
            pair_id=rule.pair_id,
        )
        for rule, share in rules
    ]
    ranked.append(_something_else(left, total))
    ranked.sort(key=lambda cause: -cause.probability)
    trials = next_trials(name, {c.pair_id or OTHER: c.probability for c in ranked})
    info = fault_info(name)
    return Diagnosis(
        fault=name,
        causes=tuple(ranked),
        next_trials=trials,
        cautions=cautions_for(name, ranked, trials, known),
        notes=() if any(lines.values()) else (NO_EVIDENCE,),
        look_alikes=info.look_alikes,
        how_to_tell=info.how_to_tell,
        facts=known,
    )


def _something_else(left: float, total: float) -> RankedCause:
    return RankedCause(
        cause_id=OTHER,
        title="Something else",
        mechanism="a cause that is not in this list, or two causes together",
        probability=left / total,
        prior=left,
        evidence=(),
        unknown=(),
        remedy="compare one bad and one good piece: what differs in clay, glaze, coat, place and date",
        caution="",
        source="what the listed causes leave over of the whole",
        basis="our own statement of limits",
    )


def _capped_product(lines: tuple[EvidenceLine, ...]) -> float:
    by_group: dict[str, float] = defaultdict(float)
    for line in lines:
        by_group[line.group] += math.log(line.ratio)
    cap = math.log(THEME_CAP)
    return math.exp(sum(min(cap, max(-cap, value)) for value in by_group.values()))


def _evidence(rule: CauseRule, known: Mapping[str, Fact]) -> tuple[EvidenceLine, ...]:
    found = []
    for item in rule.evidence:
        facts = [known.get(condition.key) for condition in item.conditions]
        present = [fact for fact in facts if fact is not None]
        if len(present) < len(facts):
            continue
        if all(c.holds(f.value) for c, f in zip(item.conditions, present, strict=True)):
            found.append(_line(rule, item, present))
    found.sort(key=lambda line: -abs(math.log(line.ratio)))
    return tuple(found)


def _line(rule: CauseRule, item: EvidenceRule, facts: list[Fact]) -> EvidenceLine:
    certainty = math.prod(fact.certainty for fact in facts)
    told = [_told(c, f) for c, f in zip(item.conditions, facts, strict=True)]
    return EvidenceLine(
        sentence=_joined(told),
        direction="for" if item.speaks_for else "against",
        strength=item.strength,
        ratio=certainty * item.ratio + (1.0 - certainty),
        group=item.group,
        keys=tuple(c.key for c in item.conditions),
        source=rule.source,
    )


def _joined(sentences: list[str]) -> str:
    """Join sentences, saying once what several begin with ("The witness cone ...; ...; ...")."""
    said: list[str] = []
    for sentence in sentences:
        said += [part for part in sentence.split("; ") if part not in said]
    return "; ".join(said)


def _told(condition: Condition, fact: Fact) -> str:
    if condition.op == "==":
        return fact.sentence
    limit = show_value(condition.key, condition.value)
    return f"{fact.sentence} (the rule: {_OP_WORDS[condition.op]} {limit})"


def _unknown(rule: CauseRule, known: Mapping[str, Fact]) -> tuple[UnknownLine, ...]:
    found = []
    for item in rule.evidence:
        missing = [c for c in item.conditions if c.key not in known]
        have = [c for c in item.conditions if c.key in known]
        if not missing or not all(c.holds(known[c.key].value) for c in have):
            continue
        direction = "for" if item.speaks_for else "against"
        asked = "; ".join(_asked(c) for c in missing)
        text = f"Not known: {asked}. If so, {item.strength} evidence {direction}."
        found.append(UnknownLine(text, direction, item.strength, tuple(c.key for c in missing)))
    found.sort(key=lambda line: ("strong", "medium", "weak").index(line.strength))
    return tuple(found)


def _asked(condition: Condition) -> str:
    limit = show_value(condition.key, condition.value)
    words = limit if condition.op == "==" else f"{_OP_WORDS[condition.op]} {limit}"
    return f"{field(condition.key).label}: {words} ({condition.key})"
