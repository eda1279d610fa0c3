"""Does the glaze fit the body: expansion of the glaze less that of the body, within one factor set only.

Two ways. Against a measured figure for the body: the set's own doubt counts, and how far the sets differ on
this glaze shows how large it is. Beside glazes whose
fate on the same body is known: the doubt of the set falls out, so this is the better way wherever a studio
has such glazes. No sum decides: a verdict is "likely", and a test on the ware stands above it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Literal

from catalog.glaze.errors import MixedSetsError
from catalog.glaze.expansion import Expansion, expansions_of
from catalog.package_data import read_rows

__all__ = [
    "BodyExpansion",
    "Fit",
    "FitLimits",
    "KnownGlaze",
    "fit_beside",
    "fit_on_body",
    "fits_on_body",
    "set_doubt_per_k",
    "sets_spread_per_k",
]

Verdict = Literal["likely to craze", "fits", "likely to shiver", "not computable"]

CRAZES: Verdict = "likely to craze"
FITS: Verdict = "fits"
SHIVERS: Verdict = "likely to shiver"
SILENT: Verdict = "not computable"

SMALLEST_SET_DOUBT_PER_K = 3e-7
"""A set's doubt is never taken smaller: its factors are rounded and two glasses are few (our choice)."""

TYPED_BODY_DOUBT_PER_K = 5e-7
"""Doubt of a body figure typed in without one (our choice: bodies of one name differ by lot and firing)."""


@dataclass(frozen=True, slots=True)
class FitLimits:
    """How far below the body's the glaze's expansion lies where glazes usually fit, per cent of the body's.

    Source: a usual belief of potters quoted, and questioned, on a potters' list (potters.org subject103697);
    glazes well outside have fitted.
    """

    least_below_pct: float = 1.0
    most_below_pct: float = 10.0


@dataclass(frozen=True, slots=True)
class BodyExpansion:
    """Linear expansion of a body.

    Attributes
    ----------
    per_k : float
        In 1/K.
    plus_minus_per_k : float or None
        Its doubt; None takes `TYPED_BODY_DOUBT_PER_K`.
    temperature_range : str
        As measured or printed; "" when not known.
    set_name : str
        The factor set when the figure is on a set's scale, "" when it was measured.
    """

    per_k: float
    plus_minus_per_k: float | None = None
    temperature_range: str = ""
    set_name: str = ""


@dataclass(frozen=True, slots=True)
class KnownGlaze:
    """A glaze whose fate on the body is known: `outcome` is "crazes", "fits" or "shivers"."""

    name: str
    expansion: Expansion
    outcome: Literal["crazes", "fits", "shivers"]


@dataclass(frozen=True, slots=True)
class Fit:
    """What is said of a glaze on a body.

    Attributes
    ----------
    verdict : str
        "likely to craze", "fits", "likely to shiver" or "not computable".
    may_also : tuple of str
        Other verdicts within the doubt.
    set_name : str
    temperature_range : str
        Of the set.
    difference_per_k : float or None
        Glaze less body, 1/K; None beside known glazes and when not computable.
    plus_minus_per_k : float or None
        Doubt of the difference (two standard deviations).
    reason : str
        What the verdict rests on, or why there is none.
    """

    verdict: Verdict
    may_also: tuple[Verdict, ...]
    set_name: str
    temperature_range: str
    difference_per_k: float | None
    plus_minus_per_k: float | None
    reason: str


@cache
def set_doubt_per_k(set_name: str) -> float:
    """Give the doubt of a factor set: its largest miss on the measured glasses of `measured_expansion.csv`.

    Parameters
    ----------
    set_name : str
        As `Expansion.set_name`.

    Returns
    -------
    float
        In 1/K, never below `SMALLEST_SET_DOUBT_PER_K`. Glasses outside the set's own ground do not count.

    Raises
    ------
    ValueError
        No set of that name.
    """
    glasses: dict[str, dict[str, float]] = {}
    measured: dict[str, float] = {}
    for row in read_rows("catalog.glaze", "measured_expansion.csv"):
        glasses.setdefault(row["glass"], {})[row["oxide"]] = float(row["wt_pct"])
        measured[row["glass"]] = float(row["measured_1e-7_per_K"]) * 1e-7
    misses = []
    known = False
    for glass, weights in glasses.items():
        for expansion in expansions_of(weights):
            if expansion.set_name != set_name:
                continue
            known = True
            if expansion.per_k is not None and not expansion.note.startswith("outside"):
                misses.append(abs(expansion.per_k - measured[glass]))
    if not known:
        raise ValueError(f"no factor set {set_name!r}")
    return max([*misses, SMALLEST_SET_DOUBT_PER_K])


def _silent(expansion: Expansion, reason: str) -> Fit:
    return Fit(SILENT, (), expansion.set_name, expansion.temperature_range, None, None, reason)


def _outside(expansion: Expansion) -> str:
    if expansion.per_k is None:
        return expansion.note
    return expansion.note if expansion.note.startswith("outside") else ""


def fit_on_body(
    glaze: Expansion,
    body: BodyExpansion,
    *,
    recipe_plus_minus_per_k: float = 0.0,
    spread_per_k: float = 0.0,
    limits: FitLimits | None = None,
) -> Fit:
    """Set a glaze against a figure for the body, by one set.

    Parameters
    ----------
    glaze : Expansion
        By one factor set.
    body : BodyExpansion
        Measured, or on the scale of the same set.
    recipe_plus_minus_per_k : float
        Doubt of the glaze's figure from weighing and analyses (`uncertainty.doubt_of`).
    spread_per_k : float
        How far the sets differ on this glaze (`sets_spread_per_k`): half of it is the least doubt of one set
        against a measured body.
    limits : FitLimits or None

    Raises
    ------
    MixedSetsError
        The body's figure is on the scale of another set.
    ValueError
        The body's figure is not above zero.
    """
    if body.set_name and body.set_name != glaze.set_name:
        raise MixedSetsError(glaze.set_name, body.set_name)
    if not 0.0 < body.per_k < math.inf:
        raise ValueError(f"body expansion {body.per_k!r}; wanted: above zero, in 1/K")
    why_not = _outside(glaze)
    if glaze.per_k is None or why_not:
        return _silent(glaze, why_not)
    bounds = limits or FitLimits()
    of_set = 0.0 if body.set_name else max(set_doubt_per_k(glaze.set_name), spread_per_k / 2.0)
    of_body = TYPED_BODY_DOUBT_PER_K if body.plus_minus_per_k is None else body.plus_minus_per_k
    doubt = math.hypot(of_set, of_body, recipe_plus_minus_per_k)
    difference = glaze.per_k - body.per_k

    def verdict_at(value: float) -> Verdict:
        below_pct = -100.0 * value / body.per_k
        if below_pct < bounds.least_below_pct:
            return CRAZES
        return SHIVERS if below_pct > bounds.most_below_pct else FITS

    verdict = verdict_at(difference)
    low, high = verdict_at(difference - doubt), verdict_at(difference + doubt)
    reachable = {low, verdict, high} | ({FITS} if {low, high} == {CRAZES, SHIVERS} else set())
    said = (
        f"glaze less body {1e7 * difference:+.1f} +/- {1e7 * doubt:.1f} x 1e-7/K by {glaze.set_name} "
        f"({glaze.temperature_range})"
    )
    if body.temperature_range and body.temperature_range != glaze.temperature_range:
        said += f"; the body's figure is for {body.temperature_range}"
    if len(reachable) == 3:
        return Fit(
            SILENT,
            (),
            glaze.set_name,
            glaze.temperature_range,
            difference,
            doubt,
            f"the doubt reaches from crazing to shivering: {said}",
        )
    also = tuple(each for each in (CRAZES, FITS, SHIVERS) if each in reachable and each != verdict)
    return Fit(verdict, also, glaze.set_name, glaze.temperature_range, difference, doubt, said)


def sets_spread_per_k(expansions: Iterable[Expansion]) -> float:
    """Give how far the sets that speak differ on one glaze, 1/K; zero with fewer than two.

    The figures themselves are not joined: only how little one of them is worth is told.
    """
    values = [each.per_k for each in expansions if each.per_k is not None and not _outside(each)]
    return max(values) - min(values) if len(values) > 1 else 0.0


def fits_on_body(
    expansions: Sequence[Expansion],
    body: BodyExpansion,
    *,
    recipe_plus_minus_per_k: Mapping[str, float] | None = None,
    limits: FitLimits | None = None,
) -> tuple[Fit, ...]:
    """Set a glaze against a figure for the body by every set, each for itself.

    Parameters
    ----------
    expansions : sequence of Expansion
        From `expansion.expansions_of`.
    body : BodyExpansion
        On the scale of one set: only that set answers.
    recipe_plus_minus_per_k : mapping of str to float, optional
        By name of set.
    limits : FitLimits or None

    Raises
    ------
    ValueError
        As `fit_on_body`.
    """
    spread = sets_spread_per_k(expansions)
    doubts = recipe_plus_minus_per_k or {}
    return tuple(
        fit_on_body(
            each,
            body,
            recipe_plus_minus_per_k=doubts.get(each.set_name, 0.0),
            spread_per_k=spread,
            limits=limits,
        )
        for each in expansions
        if body.set_name in ("", each.set_name)
    )


def fit_beside(glaze: Expansion, known: Sequence[KnownGlaze], *, recipe_plus_minus_per_k: float = 0.0) -> Fit:
    """Set a glaze beside glazes whose fate on the same body is known, by one factor set.

    Parameters
    ----------
    glaze : Expansion
    known : sequence of KnownGlaze
        On the same body, fired alike; all by the glaze's set.
    recipe_plus_minus_per_k : float
        Doubt of the difference between two recipes from weighing and analyses.

    Returns
    -------
    Fit
        "not computable" where the glaze lies between known ones of different fate, beyond all of them on
        the side nobody knows, or where they contradict each other.

    Raises
    ------
    MixedSetsError
        A known glaze's figure is by another set.
    """
    for each in known:
        if each.expansion.set_name != glaze.set_name:
            raise MixedSetsError(glaze.set_name, each.expansion.set_name)
    why_not = _outside(glaze)
    if glaze.per_k is None or why_not:
        return _silent(glaze, why_not)
    crazing, fitting, shivering = (
        sorted(_figures(known, outcome)) for outcome in ("crazes", "fits", "shivers")
    )
    in_order = [*shivering[-1:], *fitting[:1], *fitting[-1:], *crazing[:1]]
    if in_order != sorted(in_order):
        return _silent(glaze, "the known glazes contradict each other by this set")

    def verdict_at(value: float) -> Verdict:
        if crazing and value >= crazing[0]:
            return CRAZES
        if shivering and value <= shivering[-1]:
            return SHIVERS
        return FITS if fitting and fitting[0] <= value <= fitting[-1] else SILENT

    verdict = verdict_at(glaze.per_k)
    if verdict == SILENT:
        return _silent(glaze, "no known glaze on this body tells: it lies between or beyond them")
    doubt = recipe_plus_minus_per_k
    around = {verdict_at(glaze.per_k - doubt), verdict_at(glaze.per_k + doubt)} - {verdict, SILENT}
    also = tuple(each for each in (CRAZES, FITS, SHIVERS) if each in around)
    counts = f"{len(crazing)} that craze, {len(fitting)} that fit, {len(shivering)} that shiver"
    return Fit(
        verdict,
        also,
        glaze.set_name,
        glaze.temperature_range,
        None,
        doubt,
        f"beside {counts} on this body, by {glaze.set_name}",
    )


def _figures(known: Iterable[KnownGlaze], outcome: str) -> list[float]:
    return [
        each.expansion.per_k
        for each in known
        if each.outcome == outcome and each.expansion.per_k is not None and not _outside(each.expansion)
    ]
