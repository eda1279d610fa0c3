"""What a trial that was fired says: whether the fault followed the one thing that differed.

A trial points to its cause when the fault shows on every piece on which it was expected and on none of
the others; away from it when it shows no more where it was expected than where it was not. Where both sides
show marks, their densities are compared by an exact binomial test. All else is unclear, and so is a fault
that came on neither side: a clean tile does not clear a pot.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from catalog.causes.errors import KnowledgeError
from catalog.causes.exact_test import CHANCE_LIMIT
from catalog.causes.image_facts import MARKS_OF_FAULT
from catalog.causes.knowledge import causes_of
from catalog.causes.pattern_facts import looked_at, marks_and_area, shows, thick_over_thin
from catalog.causes.trial import HIT, split_of
from catalog.package_data import read_rows
from catalog.records import Piece

__all__ = ["OUTCOMES", "Side", "TrialResult", "outcome_of", "sides_of"]

OUTCOMES = ("points_to", "points_away", "unclear")

_MORE_BY = 1.8
"""Marks must be this many times as dense on the one side to say that the fault follows it (our choice)."""

_EXPECTED = {"yes": True, "no": False, "": None}


@dataclass(frozen=True, slots=True)
class Side:
    """One kind of piece of a trial: how many, and whether the fault is expected there if the cause is it."""

    side: str
    count: int
    shows_if_so: bool | None


@dataclass(frozen=True, slots=True)
class TrialResult:
    """A trial's answer about one cause.

    Attributes
    ----------
    pair_id : the cause that the trial is about
    outcome : one of `OUTCOMES`
    sentence : what came out, with counts, without a full stop
    source : where the trial stands, such as "trial 3 of this catalogue"
    certainty : how sure it is that it speaks of the piece asked about, 0 to 1
    """

    pair_id: str
    outcome: str
    sentence: str
    source: str
    certainty: float = 1.0

    def ratio(self, pair_id: str, rivals: Sequence[str]) -> float:
        """Give the factor on a cause's odds, by the chances that `trial` assumes, nearer 1 if not sure."""
        if self.outcome == "unclear" or (pair_id != self.pair_id and pair_id not in rivals):
            return 1.0
        hit = HIT if self.outcome == "points_to" else 1.0 - HIT
        full = (hit if pair_id == self.pair_id else 1.0 - hit) / 0.5
        return self.certainty * full + 1.0 - self.certainty

    def log(self, fault: str, pair_id: str) -> float:
        """Give the natural logarithm of that factor."""
        return math.log(self.ratio(pair_id, self.rivals(fault)))

    def rivals(self, fault: str) -> tuple[str, ...]:
        """Give the causes that the trial tells its own from."""
        return next((r.discriminates_from for r, _ in causes_of(fault) if r.pair_id == self.pair_id), ())


@cache
def _all_sides() -> Mapping[str, tuple[Side, ...]]:
    found: dict[str, tuple[Side, ...]] = {}
    for row in read_rows("catalog.causes", "split_sides.csv"):
        if row["shows_if_so"] not in _EXPECTED:
            raise KnowledgeError(f"split_sides.csv: {row['split']}: yes, no or nothing wanted")
        side = Side(row["side"], int(row["count"]), _EXPECTED[row["shows_if_so"]])
        found[row["split"]] = (*found.get(row["split"], ()), side)
    return found


def sides_of(pair_id: str) -> tuple[Side, ...]:
    """Give the pieces that a cause's trial needs made; none where it is a look or a refire."""
    return _all_sides().get(split_of(pair_id), ())


def outcome_of(fault: str, pieces: Sequence[tuple[bool | None, Piece]]) -> tuple[str | None, str]:
    """Say what a trial's pieces tell.

    Parameters
    ----------
    fault : str
        The fault's own name.
    pieces : sequence of (bool or None, Piece)
        Whether the fault is expected on each if the cause is it, and the piece as it is in the catalogue.

    Returns
    -------
    outcome : str or None
        One of `OUTCOMES`; None while a piece that matters waits to be photographed.
    sentence : str
    """
    counted = [(expected, piece) for expected, piece in pieces if expected is not None]
    waiting = [piece.code for _, piece in counted if not looked_at(piece)]
    if waiting:
        return None, f"{', '.join(waiting)} not photographed yet"
    here = [piece for expected, piece in counted if expected]
    there = [piece for expected, piece in counted if not expected]
    if not here or not there:
        return "unclear", "Each of these pieces has to be judged by eye"
    hit, hit_else = sum(shows(p, fault) for p in here), sum(shows(p, fault) for p in there)
    told = f"{hit} of {len(here)} show it where it was expected, {hit_else} of {len(there)} where it was not"
    if hit + hit_else == 0:
        return "unclear", f"{told}: the fault did not come back at all"
    if hit == len(here) and hit_else == 0:
        return "points_to", told
    denser = _denser(fault, here, there)
    if denser is not None:
        return "points_to", f"{told}, {denser}"
    if hit / len(here) <= hit_else / len(there):
        return "points_away", told
    return "unclear", told


def _denser(fault: str, here: Sequence[Piece], there: Sequence[Piece]) -> str | None:
    if fault not in MARKS_OF_FAULT:
        return None
    many, few = marks_and_area(here, fault), marks_and_area(there, fault)
    if many is None or few is None or many[0] + few[0] == 0:
        return None
    ratio, chance = thick_over_thin(many, few)
    if ratio < _MORE_BY or chance > CHANCE_LIMIT:
        return None
    return f"but marks are {ratio:.1f} times as dense where it was expected"
