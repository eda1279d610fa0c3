"""What must be said with a diagnosis: stop notices first, then the fault's, the causes', the workshop's.

Texts are kept in `data/fault_cautions.csv` and `data/stop_rules.csv` with their basis. No text clears a
piece for any use.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from functools import cache

from catalog.causes.diagnosis import RankedCause, Trial
from catalog.causes.fact import Fact
from catalog.causes.knowledge import Condition, parse_condition
from catalog.package_data import read_rows

__all__ = ["cautions_for"]

_CAUSES_SHOWN = 3
_LEAST_PROBABILITY = 0.05

_DUSTY = re.compile(r"\b(sand|grind|grinding|rub|calcine|sieve|spray|sanding)\w*\b", re.IGNORECASE)
_DUST_TEXT = (
    "Sanding, grinding, rubbing, calcining, sieving and spraying raise silica dust, which harms lungs over "
    "years: work wet, extract, wear a fitted respirator by local rule, and mop, never sweep."
)
_KEEPER_TEXT = (
    "In a shared kiln the schedule is the keeper's: ask for a trial firing, do not change it, and never "
    "open a hot kiln to cool it faster. Fumes belong outside."
)


@cache
def _fault_cautions() -> tuple[tuple[str, str, str], ...]:
    rows = read_rows("catalog.causes", "fault_cautions.csv")
    return tuple((row["fault"], row["order"], row["text"]) for row in rows)


@cache
def _stop_rules() -> tuple[tuple[Condition, str], ...]:
    rows = read_rows("catalog.causes", "stop_rules.csv")
    return tuple((parse_condition(row["condition"]), row["text"]) for row in rows)


def cautions_for(
    fault: str, causes: Sequence[RankedCause], trials: Sequence[Trial], facts: Mapping[str, Fact]
) -> tuple[str, ...]:
    """Give the cautions of a diagnosis in the order they are to be shown.

    Parameters
    ----------
    fault : str
        The fault's own name.
    causes : sequence of RankedCause
        Likeliest first; the first three of at least 0.05 lend their cautions.
    trials : sequence of Trial
        Those shown.
    facts : mapping of str to Fact
        Facts that may call for a hold (manganese, copper, unknown batch, ...).

    Returns
    -------
    tuple of str
        Stop notices (the fault's, the recipe's), notes on the fault, cautions of the likely causes, dust,
        kiln, and the limits of this answer; never empty, no text twice.
    """
    texts = [text for name, order, text in _fault_cautions() if name == fault and order == "stop"]
    texts += [text for cond, text in _stop_rules() if cond.key in facts and cond.holds(facts[cond.key].value)]
    texts += [text for name, order, text in _fault_cautions() if name == fault and order == "note"]
    likely = [c for c in causes if c.pair_id and c.probability >= _LEAST_PROBABILITY][:_CAUSES_SHOWN]
    texts += [f"{cause.title}: {cause.caution}." for cause in likely if cause.caution]
    advice = " ".join([*(cause.remedy for cause in likely), *(trial.trial for trial in trials)])
    if _DUSTY.search(advice):
        texts.append(_DUST_TEXT)
    if any(trial.firings for trial in trials):
        texts.append(_KEEPER_TEXT)
    texts += [text for name, _, text in _fault_cautions() if name == "*"]
    return tuple(dict.fromkeys(texts))
