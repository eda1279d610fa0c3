"""What an answer to "why" holds: ranked causes with evidence, next trials, cautions; and its JSON form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from catalog.causes.fact import Fact
from catalog.records import FactValue

__all__ = [
    "CausePair",
    "Diagnosis",
    "EvidenceLine",
    "Question",
    "RankedCause",
    "Trial",
    "TrialPlan",
    "UnknownLine",
    "most_moved",
]

_DIGITS = 4


@dataclass(frozen=True, slots=True)
class EvidenceLine:
    """One piece of evidence that applies.

    `direction` is "for" or "against"; `ratio` is the likelihood ratio it counts with after the fact's
    certainty, before the cap on its theme (`group`). `how` is "own" (the cause's row), "seat" (what causes
    of its kind share), "part" (part of what the row asks for) or "denied" (known not to be so).
    """

    sentence: str
    direction: str
    strength: str
    ratio: float
    group: str
    keys: tuple[str, ...]
    source: str
    how: str = "own"

    def text(self) -> str:
        """Give the line as one plain sentence with direction, strength and source."""
        return (
            f"{self.sentence}. {self.strength.capitalize()} evidence {self.direction}. Source: {self.source}."
        )


@dataclass(frozen=True, slots=True)
class UnknownLine:
    """Evidence that would count if its missing facts (`keys`) were known."""

    sentence: str
    direction: str
    strength: str
    keys: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RankedCause:
    """One cause in the ranking. `cause_id` is "other" for "something else".

    `probability` is its share of the blame (alone, and half of each pair); `involved` the probability that it
    is at work at all, alone or with another. `here` says the studio's own count, where there is one.
    """

    cause_id: str
    title: str
    mechanism: str
    probability: float
    prior: float
    evidence: tuple[EvidenceLine, ...]
    unknown: tuple[UnknownLine, ...]
    remedy: str
    caution: str
    source: str
    basis: str
    pair_id: str | None = None
    involved: float = 0.0
    here: str = ""

    @property
    def evidence_for(self) -> tuple[EvidenceLine, ...]:
        """Lines that speak for this cause, strongest first."""
        return tuple(line for line in self.evidence if line.direction == "for")

    @property
    def evidence_against(self) -> tuple[EvidenceLine, ...]:
        """Lines that speak against this cause, strongest first."""
        return tuple(line for line in self.evidence if line.direction == "against")

    def to_dict(self) -> dict[str, Any]:
        """Give the JSON form."""
        return {
            "cause": self.cause_id,
            "title": self.title,
            "mechanism": self.mechanism,
            "probability": round(self.probability, _DIGITS),
            "prior": round(self.prior, _DIGITS),
            "for": [line.text() for line in self.evidence_for],
            "against": [line.text() for line in self.evidence_against],
            "unknown": [line.sentence for line in self.unknown],
            "remedy": self.remedy,
            "caution": self.caution,
            "source": self.source,
            "basis": self.basis,
            "pair": self.pair_id,
            "involved": round(self.involved, _DIGITS),
            "here": self.here,
        }


@dataclass(frozen=True, slots=True)
class CausePair:
    """Two causes at work together: how likely, and why they feed each other ("" where nothing says so)."""

    causes: tuple[str, str]
    title: str
    probability: float
    why: str = ""

    def to_dict(self) -> dict[str, Any]:
        """Give the JSON form."""
        return {
            "causes": list(self.causes),
            "title": self.title,
            "probability": round(self.probability, _DIGITS),
            "why": self.why,
        }


@dataclass(frozen=True, slots=True)
class Question:
    """A fact that is not known, with what its answer is expected to teach.

    `answers` are the values worth offering, in the vocabulary's form; `minutes` what finding out takes.
    `first_because` says why the question comes before others that teach more, or is "". `in_words` is the
    fact under which the answer can be given as a word ("thick") by somebody who has no figure, or None.
    """

    key: str
    label: str
    answers: tuple[FactValue, ...]
    expected_gain_bits: float
    minutes: float
    first_because: str = ""
    in_words: str | None = None

    def to_dict(self) -> dict[str, Any]:
        """Give the JSON form."""
        return {
            "fact": self.key,
            "question": self.label,
            "answers": list(self.answers),
            "expected_gain_bits": round(self.expected_gain_bits, _DIGITS),
            "minutes": self.minutes,
            "first_because": self.first_because,
            "in_words": self.in_words,
        }


@dataclass(frozen=True, slots=True)
class TrialPlan:
    """A trial as a plan, to be written down before the firing.

    Attributes
    ----------
    pieces : what to make, with how many
    differs : the one thing that differs
    alike : what must be the same
    if_so, if_not : what each outcome would say
    prediction : the chance that the outcome points to the cause, 0 to 1, as the ranking stands now
    """

    pieces: tuple[str, ...]
    differs: str
    alike: str
    if_so: str
    if_not: str
    prediction: float

    def to_dict(self) -> dict[str, Any]:
        """Give the JSON form."""
        return {
            "pieces": list(self.pieces),
            "differs": self.differs,
            "alike": self.alike,
            "if_so": self.if_so,
            "if_not": self.if_not,
            "prediction": round(self.prediction, _DIGITS),
        }


@dataclass(frozen=True, slots=True)
class Trial:
    """One trial that would tell causes apart, with what it is expected to teach and what it costs."""

    trial: str
    about: str
    separates: tuple[str, ...]
    expected_gain_bits: float
    firings: int
    minutes: int
    changes_schedule: bool
    cost: str
    bits_per_cost: float = 0.0
    plan: TrialPlan | None = None

    def to_dict(self) -> dict[str, Any]:
        """Give the JSON form."""
        return {
            "trial": self.trial,
            "about": self.about,
            "separates": list(self.separates),
            "expected_gain_bits": round(self.expected_gain_bits, _DIGITS),
            "cost": self.cost,
            "firings": self.firings,
            "minutes": self.minutes,
            "changes_schedule": self.changes_schedule,
            "bits_per_cost": round(self.bits_per_cost, _DIGITS),
            "plan": None if self.plan is None else self.plan.to_dict(),
        }


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """The whole answer for one fault. Causes are ranked, likeliest first; probabilities add to 1.

    `look_alikes` are what the fault is mistaken for, `how_to_tell` how to part them: the costliest mistake
    is to take one fault for another.
    """

    fault: str
    causes: tuple[RankedCause, ...]
    next_trials: tuple[Trial, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...] = ()
    look_alikes: tuple[str, ...] = ()
    how_to_tell: str = ""
    facts: dict[str, Fact] = field(default_factory=dict)
    pairs: tuple[CausePair, ...] = ()
    questions: tuple[Question, ...] = ()

    @property
    def next_question(self) -> Question | None:
        """The question to ask first, None when no answer would teach anything."""
        return self.questions[0] if self.questions else None

    def to_dict(self) -> dict[str, Any]:
        """Give the JSON form that ``glostbook why --json`` prints."""
        return {
            "fault": self.fault,
            "causes": [cause.to_dict() for cause in self.causes],
            "next_trials": [trial.to_dict() for trial in self.next_trials],
            "cautions": list(self.cautions),
            "notes": list(self.notes),
            "look_alikes": list(self.look_alikes),
            "how_to_tell": self.how_to_tell,
            "pairs": [pair.to_dict() for pair in self.pairs],
            "questions": [question.to_dict() for question in self.questions],
            "facts": {
                key: {
                    "value": fact.value,
                    "origin": str(fact.origin),
                    "sentence": fact.sentence,
                    "certainty": round(fact.certainty, _DIGITS),
                }
                for key, fact in self.facts.items()
            },
        }


_MOVED_BY = 0.02
"""Smaller moves of a share are not worth telling (our choice)."""


def most_moved(before: Mapping[str, float], diagnosis: Diagnosis) -> tuple[RankedCause, float] | None:
    """Give the cause whose share moved most since a ranking before, with its share then.

    Returns
    -------
    (RankedCause, float) or None
        None where none moved by two in a hundred.
    """
    known = [cause for cause in diagnosis.causes if cause.cause_id in before]
    if not known:
        return None
    cause = max(known, key=lambda one: abs(one.probability - before[one.cause_id]))
    was = before[cause.cause_id]
    return (cause, was) if abs(cause.probability - was) >= _MOVED_BY else None
