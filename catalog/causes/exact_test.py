"""Fisher's exact test on counts: whether a group shows a fault more often than the rest."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

__all__ = ["CHANCE_LIMIT", "FEWEST_AFFECTED", "Tally", "chance_as_uneven"]

CHANCE_LIMIT = 0.05
"""Largest chance of the counts by lot at which a pattern is claimed (the usual 1 in 20; our choice)."""

FEWEST_AFFECTED = 3
"""Fewer affected pieces in the group than this are no pattern, however uneven (our choice)."""


@lru_cache(maxsize=4096)
def chance_as_uneven(hit: int, seen: int, hit_else: int, seen_else: int) -> float:
    """Give the chance that a group holds so many affected pieces or more by lot.

    Parameters
    ----------
    hit, seen : int
        Affected pieces of the group, pieces of the group.
    hit_else, seen_else : int
        The same of all others.

    Returns
    -------
    float
        One-sided Fisher exact probability, 0 to 1 (Fisher 1935, The Design of Experiments, chapter II).

    Raises
    ------
    ValueError
        More affected pieces than pieces, or a negative count.
    """
    if not (0 <= hit <= seen and 0 <= hit_else <= seen_else):
        msg = f"counts {hit} of {seen} and {hit_else} of {seen_else} cannot be"
        raise ValueError(msg)
    affected, total = hit + hit_else, seen + seen_else
    ways = _log_choose(total, affected)
    terms = (
        math.exp(_log_choose(seen, k) + _log_choose(seen_else, affected - k) - ways)
        for k in range(hit, min(affected, seen) + 1)
    )
    return min(1.0, math.fsum(terms))


def _log_choose(n: int, k: int) -> float:
    """Give the natural logarithm of "n choose k"; whole numbers of thousands of digits take too long."""
    return math.lgamma(n + 1) - math.lgamma(k + 1) - math.lgamma(n - k + 1)


@dataclass(frozen=True, slots=True)
class Tally:
    """How often a group and all others show a fault.

    Attributes
    ----------
    trait : "glaze", "clay", "shelf", "bucket", "clay lot" or "layers"
    name : which one, as written
    hit, seen, hit_else, seen_else : affected and looked-at pieces of the group, and of the others
    """

    trait: str
    name: str
    hit: int
    seen: int
    hit_else: int
    seen_else: int

    @property
    def chance(self) -> float:
        """Chance by lot (`chance_as_uneven`)."""
        return chance_as_uneven(self.hit, self.seen, self.hit_else, self.seen_else)

    @property
    def is_pattern(self) -> bool:
        """Whether the counts bear it out: at least three affected, and by lot at most 1 time in 20."""
        return self.hit >= FEWEST_AFFECTED and self.seen_else > 0 and self.chance <= CHANCE_LIMIT

    def text(self) -> str:
        """Give the counts and the chance as words, without a full stop."""
        counts = f"{self.hit} of {self.seen} with it show it, {self.hit_else} of {self.seen_else} without"
        said = "a pattern" if self.is_pattern else "no pattern by these counts"
        return f"{counts}; by lot that or more would happen {100 * self.chance:.1f} times in 100: {said}"
