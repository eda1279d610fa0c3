"""What an answer to "why" holds: ranked causes with evidence, next trials, cautions; and its JSON form."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from catalog.causes.fact import Fact

__all__ = ["Diagnosis", "EvidenceLine", "RankedCause", "Trial", "UnknownLine"]

_DIGITS = 4


@dataclass(frozen=True, slots=True)
class EvidenceLine:
    """One piece of evidence that applies.

    `direction` is "for" or "against"; `ratio` is the likelihood ratio it counts with after the fact's
    certainty, before the cap on its theme (`group`).
    """

    sentence: str
    direction: str
    strength: str
    ratio: float
    group: str
    keys: tuple[str, ...]
    source: str

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
    """One cause in the ranking. `cause_id` is "other" for "something else"."""

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
