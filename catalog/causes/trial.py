"""Which trial would teach most about the present causes.

Each cause brings one trial, which tells it from the causes it names (`discriminates_from`). The trial has
two outcomes, "points to this cause" and "does not". Assumed, in want of records: the outcome points to the
cause 85 times in 100 when that cause is at work, 15 in 100 when one of the causes it is told from is, and
50 in 100 (it says nothing) for every other cause. The expected gain is the entropy of the present
probabilities less the expected entropy after the outcome, in bits (Shannon 1948). Trials are ranked by these
bits over their cost in firings, work and favours; each comes as a plan with the prediction to write down.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache

from catalog.causes.diagnosis import Trial, TrialPlan
from catalog.causes.knowledge import CauseRule, causes_of
from catalog.package_data import read_rows

__all__ = [
    "HIT",
    "Limits",
    "TrialCost",
    "chance_of_pointing",
    "entropy_bits",
    "expected_gain_bits",
    "next_trials",
    "plan_of",
    "split_of",
]

HIT = 0.85
"""Chance that a trial points the right way when it has something to say (judgement, no source)."""

_SHOWN = 5
_LEAST_GAIN_BITS = 0.005


def entropy_bits(probabilities: Iterable[float]) -> float:
    """Give the Shannon entropy of probabilities that add to 1, in bits."""
    return -sum(p * math.log2(p) for p in probabilities if p > 0.0)


def expected_gain_bits(probabilities: Mapping[str, float], about: str, told_from: Iterable[str]) -> float:
    """Give the expected information of a two-outcome trial.

    Parameters
    ----------
    probabilities : mapping of str to float
        Present probability of each cause; adds to 1.
    about : str
        The cause the trial is about.
    told_from : iterable of str
        The causes it tells that cause from.

    Returns
    -------
    float
        Bits, from 0 to 1.
    """
    rivals = set(told_from)
    likelihood = {key: HIT if key == about else 1.0 - HIT if key in rivals else 0.5 for key in probabilities}
    gain = entropy_bits(probabilities.values())
    for outcome in (True, False):
        joint = [p * (likelihood[k] if outcome else 1.0 - likelihood[k]) for k, p in probabilities.items()]
        chance = sum(joint)
        gain -= chance * entropy_bits(value / chance for value in joint)
    return max(0.0, gain)


@dataclass(frozen=True, slots=True)
class Limits:
    """What a trial may ask of the user.

    Attributes
    ----------
    schedule_may_change : bool
        False in a shared kiln: trials that need another schedule are left out.
    most_firings : int or None
        More firings than this are left out.
    most_minutes : int or None
        More minutes of work than this are left out.
    """

    schedule_may_change: bool = True
    most_firings: int | None = None
    most_minutes: int | None = None

    def allow(self, cost: TrialCost) -> bool:
        """Tell whether a trial keeps within the limits."""
        return (
            (self.schedule_may_change or not cost.changes_schedule)
            and (self.most_firings is None or cost.firings <= self.most_firings)
            and (self.most_minutes is None or cost.minutes <= self.most_minutes)
        )


@dataclass(frozen=True, slots=True)
class TrialCost:
    """What a trial takes (a row of `data/trial_costs.csv`); `split` names its plan in `data/splits.csv`."""

    firings: int
    minutes: int
    changes_schedule: bool
    split: str

    @property
    def units(self) -> float:
        """Cost in firings: one firing counts 1, two hours of work count 1, a schedule to be asked for 1.

        Judgement, no source: a firing is three to eight weeks of waiting (practice.md), so it outweighs work.
        """
        return 0.1 + self.firings + self.minutes / 120.0 + (1.0 if self.changes_schedule else 0.0)


@cache
def _costs() -> Mapping[str, TrialCost]:
    rows = read_rows("catalog.causes", "trial_costs.csv")
    return {
        row["pair_id"]: TrialCost(
            int(row["firings"]), int(row["minutes_of_work"]), row["changes_schedule"] == "true", row["split"]
        )
        for row in rows
    }


def split_of(pair_id: str) -> str:
    """Give the kind of split (a row of `data/splits.csv`) that a cause's trial is."""
    return _costs()[pair_id].split


@cache
def _splits() -> Mapping[str, Mapping[str, str]]:
    return {row["split"]: row for row in read_rows("catalog.causes", "splits.csv")}


def _cost_words(cost: TrialCost) -> str:
    fires = ("no firing", "one firing")[cost.firings] if cost.firings < 2 else f"{cost.firings} firings"
    words = f"{fires}, about {cost.minutes} minutes of work"
    if cost.changes_schedule:
        words += "; needs another schedule, so ask the kiln keeper"
    return words


def chance_of_pointing(probabilities: Mapping[str, float], about: str, told_from: Iterable[str]) -> float:
    """Give the chance that a trial points to its cause, as things stand: the prediction to write down."""
    rivals = set(told_from)
    likely = {key: HIT if key == about else 1.0 - HIT if key in rivals else 0.5 for key in probabilities}
    return sum(p * likely[key] for key, p in probabilities.items()) / sum(probabilities.values())


def plan_of(rule: CauseRule, probabilities: Mapping[str, float], titles: Mapping[str, str]) -> TrialPlan:
    """Give a cause's trial as a plan with the prediction as the ranking stands now.

    Parameters
    ----------
    rule : CauseRule
        The cause the trial is about.
    probabilities : mapping of str to float
        Present share of each cause by pair id, with one more key for "something else".
    titles : mapping of str to str
        The causes' titles by pair id.
    """
    split = _splits()[_costs()[rule.pair_id].split]
    rivals = tuple(pair for pair in rule.discriminates_from if pair in probabilities)
    others = "; ".join(titles[pair] for pair in rivals) or "the other causes"
    return TrialPlan(
        pieces=tuple(part.strip() for part in split["pieces"].split(";")),
        differs=split["differs"],
        alike=f"{split['alike']}; place: {split['where']}",
        if_so=f"The fault follows {split['differs']}: it points to “{rule.cause}”.",
        if_not=f"The fault does not follow it: it points away from “{rule.cause}”, towards: {others}.",
        prediction=chance_of_pointing(probabilities, rule.pair_id, rivals),
    )


def next_trials(
    fault: str, probabilities: Mapping[str, float], limits: Limits | None = None
) -> tuple[Trial, ...]:
    """Give the trials worth making, most expected bits for what they cost first.

    Parameters
    ----------
    fault : str
        Any word `knowledge.fault_of` takes.
    probabilities : mapping of str to float
        Present probability by pair id, with one more key for "something else".
    limits : Limits, optional
        What a trial may ask for; without it everything.

    Returns
    -------
    tuple of Trial
        At most five, each worth at least 0.005 bit, each with its plan.
    """
    found = []
    allowed = limits or Limits()
    titles = {rule.pair_id: rule.cause for rule, _ in causes_of(fault)}
    for rule, _ in causes_of(fault):
        rivals = tuple(pair for pair in rule.discriminates_from if pair in probabilities)
        gain = expected_gain_bits(probabilities, rule.pair_id, rivals)
        cost = _costs()[rule.pair_id]
        if gain < _LEAST_GAIN_BITS or not rule.next_trial or not allowed.allow(cost):
            continue
        found.append(
            Trial(
                trial=rule.next_trial,
                about=rule.cause_id,
                separates=(rule.cause_id, *(pair.split("/", 1)[1] for pair in rivals)),
                expected_gain_bits=gain,
                firings=cost.firings,
                minutes=cost.minutes,
                changes_schedule=cost.changes_schedule,
                cost=_cost_words(cost),
                bits_per_cost=gain / cost.units,
                plan=plan_of(rule, probabilities, titles),
            )
        )
    found.sort(key=lambda trial: (-trial.bits_per_cost, trial.firings, trial.minutes))
    return tuple(found[:_SHOWN])
