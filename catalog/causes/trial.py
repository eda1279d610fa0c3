"""Which trial would teach most about the present causes.

Each cause brings one trial, which tells it from the causes it names (`discriminates_from`). The trial has
two outcomes, "points to this cause" and "does not". Assumed, in want of records: the outcome points to the
cause 85 times in 100 when that cause is at work, 15 in 100 when one of the causes it is told from is, and
50 in 100 (it says nothing) for every other cause. The expected gain is the entropy of the present
probabilities less the expected entropy after the outcome, in bits (Shannon 1948).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from functools import cache

from catalog.causes.diagnosis import Trial
from catalog.causes.knowledge import causes_of
from catalog.package_data import read_rows

__all__ = ["HIT", "entropy_bits", "expected_gain_bits", "next_trials"]

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


@cache
def _costs() -> Mapping[str, tuple[int, int, bool]]:
    rows = read_rows("catalog.causes", "trial_costs.csv")
    return {
        row["pair_id"]: (int(row["firings"]), int(row["minutes_of_work"]), row["changes_schedule"] == "true")
        for row in rows
    }


def _cost_words(firings: int, minutes: int, *, changes_schedule: bool) -> str:
    fires = ("no firing", "one firing")[firings] if firings < 2 else f"{firings} firings"
    words = f"{fires}, about {minutes} minutes of work"
    if changes_schedule:
        words += "; needs another schedule, so ask the kiln keeper"
    return words


def next_trials(fault: str, probabilities: Mapping[str, float]) -> tuple[Trial, ...]:
    """Give the trials worth making, most expected gain first, cheaper first among equals.

    Parameters
    ----------
    fault : str
        Any word `knowledge.fault_of` takes.
    probabilities : mapping of str to float
        Present probability by pair id, with one more key for "something else".

    Returns
    -------
    tuple of Trial
        At most five, each worth at least 0.005 bit.
    """
    found = []
    for rule, _ in causes_of(fault):
        rivals = tuple(pair for pair in rule.discriminates_from if pair in probabilities)
        gain = expected_gain_bits(probabilities, rule.pair_id, rivals)
        firings, minutes, changes_schedule = _costs()[rule.pair_id]
        if gain < _LEAST_GAIN_BITS or not rule.next_trial:
            continue
        found.append(
            Trial(
                trial=rule.next_trial,
                about=rule.cause_id,
                separates=(rule.cause_id, *(pair.split("/", 1)[1] for pair in rivals)),
                expected_gain_bits=gain,
                firings=firings,
                minutes=minutes,
                changes_schedule=changes_schedule,
                cost=_cost_words(firings, minutes, changes_schedule=changes_schedule),
            )
        )
    found.sort(key=lambda trial: (-round(trial.expected_gain_bits, 3), trial.firings, trial.minutes))
    return tuple(found[:_SHOWN])
