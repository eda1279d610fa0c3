"""What a studio learns of its faults, as frozen records."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime

from catalog.causes.learning import Outcome
from catalog.causes.trial import Limits
from catalog.causes.trial_result import TrialResult
from catalog.records import FactValue

__all__ = [
    "BATCH_KINDS",
    "Answer",
    "KeptLeach",
    "KeptOutcome",
    "KeptTrial",
    "TrialPiece",
    "Ways",
]

BATCH_KINDS = ("bucket", "clay_lot")


@dataclass(frozen=True, slots=True)
class Ways:
    """How this studio works.

    Attributes
    ----------
    shared_kiln : the firing schedule may not change
    region : where its ware is used or sold, one of `ware.leach.REGIONS`
    studio : its name, which goes into the ids of its outcomes
    """

    shared_kiln: bool = True
    region: str = "eu"
    studio: str = "here"

    @property
    def limits(self) -> Limits:
        """What a trial may ask for."""
        return Limits(schedule_may_change=not self.shared_kiln)


@dataclass(frozen=True, slots=True)
class Answer:
    """What a person answered about a piece. `value` None: asked, and nobody knows."""

    fact: str
    value: FactValue | None
    certainty: float
    said_by: str
    said_at: datetime


@dataclass(frozen=True, slots=True)
class TrialPiece:
    """One piece of a trial: label, side, and whether the fault is expected on it if the cause is right."""

    code: str
    side: str
    shows_if_so: bool | None


@dataclass(frozen=True, slots=True)
class KeptTrial:
    """A trial as planned, and what came of it.

    Attributes
    ----------
    code : the faulty piece it is about
    plan : words of the plan: "trial", "differs", "alike", "if_so", "if_not", "pieces"
    prediction : chance that it points to its cause, as written down before the firing, 0 to 1
    ranking : share of each cause then, by pair id
    outcome : "points_to", "points_away", "unclear", or None while pieces wait
    told : what the pieces say, with counts
    said : a person's word on the outcome, which outranks what the photos say; None without one
    """

    id: int
    code: str
    fault: str
    pair_id: str
    split: str
    plan: Mapping[str, str]
    prediction: float
    ranking: Mapping[str, float]
    planned_at: datetime
    pieces: tuple[TrialPiece, ...] = ()
    outcome: str | None = None
    told: str = ""
    said: str | None = None
    said_by: str = ""
    note: str = ""

    @property
    def result(self) -> TrialResult | None:
        """What the ranking may count, None while nothing is told."""
        if self.outcome in (None, "unclear"):
            return None
        who = f"{self.said_by or 'a person'} says so" if self.said else self.told
        word = "pointed to this cause" if self.outcome == "points_to" else "pointed away from its cause"
        source = f"trial {self.id} of this catalogue"
        return TrialResult(self.pair_id, str(self.outcome), f"Trial {self.id} {word}: {who}", source)


@dataclass(frozen=True, slots=True)
class KeptOutcome:
    """An outcome with where it stands: what is learned from, and what can be undone."""

    id: int
    studio: str
    code: str | None
    outcome: Outcome
    kept_at: datetime
    removed: bool = False


@dataclass(frozen=True, slots=True)
class KeptLeach:
    """One figure of a laboratory's report on a tested piece. `make` says what was tested, in plain values."""

    id: int
    code: str
    element: str
    amount: float
    unit: str
    method: str
    laboratory: str
    accredited: bool
    tested_on: date
    ware: str
    region: str
    below_reporting_limit: bool = False
    note: str = ""
    make: Mapping[str, object] = field(default_factory=dict)
