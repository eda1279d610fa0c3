"""From a fault and facts to ranked causes, in sentences. What the model assumes is said in `weigh`."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from catalog.causes.caution import cautions_for
from catalog.causes.diagnosis import CausePair, Diagnosis, EvidenceLine, RankedCause, UnknownLine
from catalog.causes.fact import Fact, checked, completed, show_value
from catalog.causes.knowledge import CauseRule, Condition, causes_of, fault_info, fault_of
from catalog.causes.question import next_questions
from catalog.causes.trial import Limits, next_trials
from catalog.causes.trial_result import TrialResult
from catalog.causes.vocabulary import field
from catalog.causes.weigh import (
    OTHER_LEAST,
    THEME_CAP,
    Weighed,
    Weights,
    capped,
    posterior,
    theme_logs,
    times_likelier,
    weigh,
)
from catalog.records import FactValue

if TYPE_CHECKING:
    from catalog.causes.learning import Learned

__all__ = ["NO_EVIDENCE", "OTHER", "OTHER_LEAST", "THEME_CAP", "infer_causes"]

OTHER = "other"
"""Cause id of "something else"."""

_OP_WORDS: Mapping[str, str] = {
    ">=": "at least",
    "<=": "at most",
    ">": "more than",
    "<": "less than",
}

NO_EVIDENCE = "No known fact speaks for or against any cause: the ranking shows only how often each is met."

_PAIRS_SHOWN = 5
_LEAST_PAIR = 0.02


def infer_causes(
    fault: str,
    facts: Mapping[str, FactValue | Fact],
    *,
    learned: Learned | None = None,
    limits: Limits | None = None,
    results: Sequence[TrialResult] = (),
) -> Diagnosis:
    """Rank the causes of a fault in the light of facts.

    Parameters
    ----------
    fault : str
        A fault's name, or the reading's adjective ("blister", "blistered", "crazing", ...).
    facts : mapping
        Keys of the vocabulary to plain values (bool, number, text) or `Fact`s; leave out what is not known.
    learned : Learned, optional
        What this studio's confirmed outcomes have taught (`learning.learn`).
    limits : Limits, optional
        What a trial may ask for (no change of the schedule in a shared kiln, ...).
    results : sequence of TrialResult
        What trials that were fired have said; they count under a theme of their own.

    Returns
    -------
    Diagnosis
        Causes likeliest first, "something else" (`other`) among them, by their share of the blame: the
        probability that a cause is at work alone and half of that of each pair it is in, adding to 1; the
        likely pairs; the questions and trials that would teach most for what they cost; cautions, stop
        notices first.

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
    priors = {rule.pair_id: share for rule, share in rules}
    if learned is not None:
        priors = learned.priors(name, priors)
    strengths = None if learned is None else learned.strengths
    weighed = {rule.pair_id: weigh(rule, known, strengths) for rule, _ in rules}
    logs = {
        pair: {**theme_logs(found), **_trial_logs(name, pair, results)} for pair, found in weighed.items()
    }
    weights = posterior(name, priors, logs)
    ranked = [
        RankedCause(
            cause_id=rule.cause_id,
            title=rule.cause,
            mechanism=rule.mechanism,
            probability=weights.share(rule.pair_id),
            prior=priors[rule.pair_id],
            evidence=_lines(weighed[rule.pair_id], _trial_lines(name, rule.pair_id, results)),
            unknown=_unknown(rule, known),
            remedy=rule.remedy,
            caution=rule.risk_caution,
            source=rule.source,
            basis=rule.basis,
            pair_id=rule.pair_id,
            involved=weights.involved(rule.pair_id),
            here="" if learned is None else learned.count_words(name, rule.pair_id),
        )
        for rule, _ in rules
    ]
    ranked.append(_something_else(weights.other, 1.0 - sum(priors.values())))
    ranked.sort(key=lambda cause: -cause.probability)
    shares = {cause.pair_id or OTHER: cause.probability for cause in ranked}
    trials = next_trials(name, shares, limits)
    info = fault_info(name)
    return Diagnosis(
        fault=name,
        causes=tuple(ranked),
        next_trials=trials,
        cautions=cautions_for(name, ranked, trials, known),
        notes=() if any(weighed.values()) or results else (NO_EVIDENCE,),
        look_alikes=info.look_alikes,
        how_to_tell=info.how_to_tell,
        facts=known,
        pairs=_pairs(name, weights),
        questions=next_questions(name, known, shares),
    )


def _something_else(share: float, prior: float) -> RankedCause:
    return RankedCause(
        cause_id=OTHER,
        title="Something else",
        mechanism="a cause that is not in this list",
        probability=share,
        prior=prior,
        evidence=(),
        unknown=(),
        remedy="compare one bad and one good piece: what differs in clay, glaze, coat, place and date",
        caution="",
        source="what the listed causes leave over of the whole",
        basis="our own statement of limits",
        involved=share,
    )


def _pairs(fault: str, weights: Weights) -> tuple[CausePair, ...]:
    titles = {rule.pair_id: rule.cause for rule, _ in causes_of(fault)}
    feeding = times_likelier(fault)
    likely = sorted(weights.pairs.items(), key=lambda item: -item[1])[:_PAIRS_SHOWN]
    return tuple(
        CausePair(
            causes=(a.split("/", 1)[1], b.split("/", 1)[1]),
            title=f"{titles[a]}, and {titles[b][:1].lower()}{titles[b][1:]}",
            probability=chance,
            why=feeding.get(frozenset((a, b)), (1.0, ""))[1],
        )
        for (a, b), chance in likely
        if chance >= _LEAST_PAIR
    )


def _trial_logs(fault: str, pair_id: str, results: Sequence[TrialResult]) -> dict[str, float]:
    total = sum(result.log(fault, pair_id) for result in results)
    return capped({"trial": total}) if results else {}


def _trial_lines(fault: str, pair_id: str, results: Sequence[TrialResult]) -> list[EvidenceLine]:
    found = []
    for result in results:
        ratio = result.ratio(pair_id, result.rivals(fault))
        if ratio == 1.0:
            continue
        direction = "for" if ratio > 1.0 else "against"
        strength = "weak" if 1.0 / 3.0 < ratio < 3.0 else "medium"
        found.append(
            EvidenceLine(result.sentence, direction, strength, ratio, "trial", (), result.source, "trial")
        )
    return found


def _lines(found: list[Weighed], trials: list[EvidenceLine]) -> tuple[EvidenceLine, ...]:
    lines = [*(_line(one) for one in found), *trials]
    lines.sort(key=lambda line: -abs(math.log(line.ratio)))
    return tuple(lines)


_DENIED_STRENGTH = {"strong": "medium", "medium": "weak"}


def _line(one: Weighed) -> EvidenceLine:
    item = one.item
    speaks_for, strength = item.speaks_for, item.strength
    told = [_told(c, f) for c, f in zip(item.conditions, one.facts, strict=False)]
    if one.how == "denied":
        speaks_for, strength = False, _DENIED_STRENGTH[item.strength]
        (condition,) = item.conditions
        wanted = _wanted(condition)
        told = [f"{one.facts[0].sentence} (it would be {wanted} if this were the cause)"]
    elif one.how == "part":
        strength = "weak"
        rest = "; ".join(_asked(c) for c in item.conditions[1:])
        told.append(f"not known, and it would count more with it: {rest}")
    basis = f"what causes of this kind share ({one.basis})" if one.how == "seat" else one.basis
    return EvidenceLine(
        sentence=_joined(told),
        direction="for" if speaks_for else "against",
        strength=strength,
        ratio=one.ratio,
        group=one.group,
        keys=tuple(c.key for c in item.conditions),
        source=basis,
        how=one.how,
    )


def _wanted(condition: Condition) -> str:
    limit = show_value(condition.key, condition.value)
    return limit if condition.op == "==" else f"{_OP_WORDS[condition.op]} {limit}"


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
