"""The weighing of causes: which evidence applies, how much it counts, and what that makes likely.

What the model assumes, all of it:

1. One cause is at work, or two together, or something that is not in the list; never more than two. Before
   any fact about one case in seven has two (`TWO_CAUSES`); pairs that feed each other (`data/pairs.csv`: too
   thick and too hot) are met up to four times as often as their shares alone would make them.
2. A piece of evidence multiplies the odds of its cause by its ratio R (weak 1.5, medium 3, strong 8; against:
   divided). A fact held with certainty p counts with p R + (1 - p).
3. Evidence of different themes (image, spread, recipe, ...) is independent given the cause; within a theme it
   is not, so a theme's product is held to a factor of ten either way.
4. A fact that is not known says nothing. A known fact that is not what a cause's strong or medium evidence
   asks for speaks against it as much as the ratio implies when the fact is met in one case in ten without
   that cause: (1 - R b) / (1 - b), b = 0.1.
5. Evidence of several conditions, the first known and met, the others not known, counts with the certainty
   0.25 that the rest holds too.
6. Two causes together: for each theme the stronger word counts when both say for (or both against), and both
   words when one says for and one against.
7. "Something else" keeps what the priors leave over, is touched by no evidence, and never falls below
   `OTHER_LEAST`: of 40 cases collected by somebody who had not seen the list, two had a cause it could not
   hold. So no cause in the list is ever put above 0.95.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from catalog.causes.errors import KnowledgeError
from catalog.causes.fact import Fact
from catalog.causes.knowledge import (
    CauseRule,
    EvidenceRule,
    SeatEvidence,
    causes_of,
    fault_of,
    seat_evidence,
)
from catalog.package_data import read_rows

__all__ = [
    "BASE_RATE",
    "OTHER_LEAST",
    "THEME_CAP",
    "TWO_CAUSES",
    "Strengths",
    "Weighed",
    "Weights",
    "capped",
    "posterior",
    "raw_logs",
    "theme_logs",
    "times_likelier",
    "together",
    "weigh",
]

THEME_CAP = 10.0
"""Largest factor one theme of evidence may give for or against a cause (defects.md section 7; judgement)."""

TWO_CAUSES = 0.15
"""Share of cases with two causes at work: the texts of 12 of the 81 collected cases name two (our count)."""

OTHER_LEAST = 0.05
"""Least share of "something else": 2 of 40 independently collected cases had a cause not in the list."""

BASE_RATE = 0.1
"""How often a telling fact is met where its cause is not at work (judgement; sets what "not so" is worth)."""

PARTNER = 0.25
"""Certainty that the unknown conditions of an item hold when its first one does (judgement)."""

_CONTEXT = frozenset(
    {
        "firing.kiln",
        "firing.witness_cone",
        "application.method",
        "application.layers",
        "body.kind",
        "body.surface",
        "history.ok_before",
        "recipe.batch_new",
    }
)
"""Facts that are ordinary in themselves: as the first of several conditions they are no part-evidence."""

Strengths = Mapping[tuple[str, str], float]
"""Ratios learned in a studio, by pair id and `EvidenceRule.text`; they stand in place of the table's."""


@dataclass(frozen=True, slots=True)
class Weighed:
    """One piece of evidence that applies to one cause.

    `how` is "own" (the cause's row), "seat" (what its seat's causes share), "part" (the first of several
    conditions) or "denied" (known not to be so). `ratio` is after certainty, before the cap of its theme.
    """

    item: EvidenceRule
    facts: tuple[Fact, ...]
    ratio: float
    how: str
    basis: str

    @property
    def group(self) -> str:
        """Theme that the evidence counts under."""
        return self.item.group


@dataclass(frozen=True, slots=True)
class Weights:
    """What the evidence makes likely. `sole`, `pairs` and `other` add to 1.

    Attributes
    ----------
    sole : probability that a cause alone is at work, by pair id
    pairs : probability that two are, by their pair ids in the table's order
    other : probability of something that is not in the list
    """

    sole: Mapping[str, float]
    pairs: Mapping[tuple[str, str], float]
    other: float

    def share(self, pair_id: str) -> float:
        """Give a cause's share of the blame: alone, and half of each pair it is in."""
        return self.sole[pair_id] + 0.5 * sum(p for pair, p in self.pairs.items() if pair_id in pair)

    def involved(self, pair_id: str) -> float:
        """Give the probability that a cause is at work, alone or with another."""
        return self.sole[pair_id] + sum(p for pair, p in self.pairs.items() if pair_id in pair)


def _softened(ratio: float, certainty: float) -> float:
    return certainty * ratio + (1.0 - certainty)


def weigh(rule: CauseRule, known: Mapping[str, Fact], strengths: Strengths | None = None) -> list[Weighed]:
    """Give the evidence that applies to a cause.

    Parameters
    ----------
    rule : CauseRule
    known : mapping of str to Fact
        Checked and completed facts.
    strengths : mapping, optional
        Ratios learned in this studio.

    Returns
    -------
    list of Weighed
        In the table's order; what the seat says and what is not so come last.
    """
    found: list[Weighed] = []
    heard: set[str] = set()
    for item in rule.evidence:
        facts = [known.get(condition.key) for condition in item.conditions]
        present = tuple(fact for fact in facts if fact is not None)
        if len(present) < len(facts):
            continue
        if all(c.holds(f.value) for c, f in zip(item.conditions, present, strict=True)):
            ratio = item.ratio if strengths is None else strengths.get((rule.pair_id, item.text), item.ratio)
            sure = math.prod(fact.certainty for fact in present)
            found.append(Weighed(item, present, _softened(ratio, sure), "own", rule.source))
            heard.update(c.key for c in item.conditions)
    found += _seats(rule, known, heard)
    found += _parts(rule, known, heard)
    found += _denied(rule, known, heard)
    return found


def _parts(rule: CauseRule, known: Mapping[str, Fact], heard: set[str]) -> list[Weighed]:
    found = []
    for item in rule.evidence:
        first, *rest = item.conditions
        fact = known.get(first.key)
        if not rest or fact is None or first.key in heard or first.key in _CONTEXT:
            continue
        others = [(c, known.get(c.key)) for c in rest]
        missing = [c for c, f in others if f is None]
        if not missing or not first.holds(fact.value):
            continue
        if any(f is not None and not c.holds(f.value) for c, f in others):
            continue
        found.append(
            Weighed(item, (fact,), _softened(item.ratio, PARTNER * fact.certainty), "part", rule.source)
        )
        heard.add(first.key)
    return found


def _seats(rule: CauseRule, known: Mapping[str, Fact], heard: set[str]) -> list[Weighed]:
    best: dict[str, Weighed] = {}
    spoken = _by_key(rule.seats)
    for key in known.keys() & spoken.keys():
        fact = known[key]
        if key in heard:
            continue
        for shared in spoken[key]:
            (condition,) = shared.rule.conditions
            if not condition.holds(fact.value):
                continue
            ratio = _softened(shared.rule.ratio, fact.certainty)
            if condition.key not in best or ratio > best[condition.key].ratio:
                best[condition.key] = Weighed(shared.rule, (fact,), ratio, "seat", shared.basis)
    heard.update(best)
    return [best[key] for key in sorted(best)]


@cache
def _by_key(seats: tuple[str, ...]) -> Mapping[str, tuple[SeatEvidence, ...]]:
    found: dict[str, tuple[SeatEvidence, ...]] = {}
    for seat in seats:
        for shared in seat_evidence(seat):
            key = shared.rule.conditions[0].key
            found[key] = (*found.get(key, ()), shared)
    return found


def _denied(rule: CauseRule, known: Mapping[str, Fact], heard: set[str]) -> list[Weighed]:
    spoken_against = {c.key for item in rule.evidence if not item.speaks_for for c in item.conditions}
    best: dict[str, Weighed] = {}
    for item in rule.evidence:
        (first, *rest) = item.conditions
        fact = known.get(first.key)
        if rest or fact is None or not item.speaks_for or item.strength == "weak":
            continue
        if first.key in heard or first.key in spoken_against:
            continue
        not_so = (1.0 - item.ratio * BASE_RATE) / (1.0 - BASE_RATE)
        ratio = _softened(not_so, fact.certainty)
        if first.key not in best or ratio < best[first.key].ratio:
            best[first.key] = Weighed(item, (fact,), ratio, "denied", rule.source)
    return list(best.values())


def theme_logs(weighed: Sequence[Weighed]) -> dict[str, float]:
    """Give the natural logarithm of each theme's factor, held to `THEME_CAP` either way."""
    return capped(raw_logs(weighed))


def raw_logs(weighed: Sequence[Weighed]) -> dict[str, float]:
    """Give the natural logarithm of each theme's factor before the cap."""
    logs: dict[str, float] = {}
    for one in weighed:
        logs[one.group] = logs.get(one.group, 0.0) + math.log(one.ratio)
    return logs


def capped(logs: Mapping[str, float]) -> dict[str, float]:
    """Hold each theme's log to that of `THEME_CAP` either way."""
    cap = math.log(THEME_CAP)
    return {group: min(cap, max(-cap, value)) for group, value in logs.items()}


def together(one: Mapping[str, float], two: Mapping[str, float]) -> float:
    """Give the log factor of two causes at work together (assumption 6), from their theme logs."""
    total = 0.0
    for group in one.keys() | two.keys():
        a, b = one.get(group, 0.0), two.get(group, 0.0)
        if a >= 0.0 and b >= 0.0:
            total += max(a, b)
        elif a <= 0.0 and b <= 0.0:
            total += min(a, b)
        else:
            total += a + b
    return total


@cache
def times_likelier(fault: str) -> Mapping[frozenset[str], tuple[float, str]]:
    """Give the pairs of causes of a fault that feed each other: how much likelier, and why.

    Raises
    ------
    KnowledgeError
        `data/pairs.csv` names a cause that the fault does not have, or a factor outside 1 to 4.
    """
    name = fault_of(fault)
    by_id = {rule.cause_id: rule.pair_id for rule, _ in causes_of(name)}
    found: dict[frozenset[str], tuple[float, str]] = {}
    for row in read_rows("catalog.causes", "pairs.csv"):
        both = (row["cause_a"], row["cause_b"])
        if not all(cause in by_id for cause in both):
            if row["fault"] == name:
                raise KnowledgeError(f"pairs.csv: {name} has no {' or '.join(both)}")
            continue
        factor = float(row["times_likelier"])
        if not 1.0 <= factor <= 4.0:
            raise KnowledgeError(f"pairs.csv: {' and '.join(both)}: {factor} is not from 1 to 4")
        found[frozenset(by_id[cause] for cause in both)] = (factor, row["why"])
    return found


def posterior(fault: str, priors: Mapping[str, float], logs: Mapping[str, Mapping[str, float]]) -> Weights:
    """Give how likely each cause, each pair and something else is.

    Parameters
    ----------
    fault : str
        The fault's own name.
    priors : mapping of str to float
        Prior share of the blame by pair id; what they leave of 1 is "something else".
    logs : mapping of str to mapping
        Theme logs by pair id (`theme_logs`).

    Returns
    -------
    Weights
        With no evidence, every cause's share of the blame is its prior.
    """
    ids = list(priors)
    feeding = times_likelier(fault)
    pairs: dict[tuple[str, str], float] = {}
    sole = dict(priors)
    for i, a in enumerate(ids):
        for b in ids[i + 1 :]:
            factor = feeding.get(frozenset((a, b)), (1.0, ""))[0]
            mass = 2.0 * TWO_CAUSES * factor * priors[a] * priors[b]
            sole[a] -= 0.5 * mass
            sole[b] -= 0.5 * mass
            pairs[a, b] = mass * math.exp(together(logs[a], logs[b]))
    for pair_id in ids:
        sole[pair_id] *= math.exp(sum(logs[pair_id].values()))
    other = 1.0 - sum(priors.values())
    total = sum(sole.values()) + sum(pairs.values()) + other
    share = max(OTHER_LEAST, other / total)
    scale = (1.0 - share) / (total - other)
    return Weights(
        {key: value * scale for key, value in sole.items()},
        {key: value * scale for key, value in pairs.items()},
        share,
    )
