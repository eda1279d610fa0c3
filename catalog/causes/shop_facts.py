"""Facts from the workshop: own materials, the log and the bisque of a load, measures of the clay.

They come after what the plan and the recipe's text say, and before what was recorded or answered as a fact.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from catalog.body.measures import BodyKnowledge
from catalog.causes.bench_facts import BenchKnowledge, bench_knowledge
from catalog.causes.fact import Fact, Origin, show_value
from catalog.causes.vocabulary import field as vocabulary_field
from catalog.firing.cones import cone_position, parse_cone
from catalog.firing.course_facts import course_facts
from catalog.firing.course_figures import bisque_facts, slow_vs_usual_pct
from catalog.firing.errors import ScheduleError, UnknownConeError
from catalog.firing.path import PathKind, TemperaturePath, path_of_schedule
from catalog.glaze.errors import GlazeError
from catalog.glaze.expansion import expansions_of
from catalog.glaze.fit import Fit, fits_on_body
from catalog.glaze.fit_words import agreed_fit
from catalog.glaze.formula import formula_of
from catalog.glaze.materials import Material
from catalog.glaze.melt import melt_facts, melt_of
from catalog.records import Load, Piece, Recipe
from catalog.store import Catalog

__all__ = ["ShopKnowledge", "clay_facts", "course_log_facts", "glaze_facts", "shop_knowledge"]

LOG_CERTAINTY = 0.95
"""A logged rate or hold is what happened, but for the thermocouple's place (judgement)."""

BISQUE_PLAN_CERTAINTY = 0.7
"""A planned bisque: what was meant, and mostly what happened (judgement)."""

MELT_CERTAINTY = 0.5
"""An estimate from a viscosity model: it ranks, it does not decide (judgement)."""


@dataclass(frozen=True, slots=True)
class ShopKnowledge:
    """What the workshop knows about one piece.

    Attributes
    ----------
    own : mapping of str to Material
        Own materials by name.
    log : TemperaturePath or None
        The measured course of the piece's load.
    earlier : tuple of TemperaturePath
        Logs of the same kiln before it, same kind of load.
    bisque : Load or None
    bisque_log : TemperaturePath or None
    clay : BodyKnowledge or None
    bench : BenchKnowledge or None
    """

    own: Mapping[str, Material] = field(default_factory=dict)
    log: TemperaturePath | None = None
    earlier: tuple[TemperaturePath, ...] = ()
    bisque: Load | None = None
    bisque_log: TemperaturePath | None = None
    clay: BodyKnowledge | None = None
    bench: BenchKnowledge | None = None


def shop_knowledge(source: object, piece: Piece) -> ShopKnowledge | None:
    """Gather what a catalogue's workshop knows about a piece; None where `source` is no catalogue."""
    if not isinstance(source, Catalog):
        return None
    shop, load = source.workshop, piece.load
    clay = None if piece.body is None else shop.body_knowledge(piece.body.id)
    bench = bench_knowledge(source, piece)
    if load is None:
        return ShopKnowledge(own=shop.own(), clay=clay, bench=bench)
    bisque = shop.bisque_of(load.id)
    kiln = load.kiln.strip().casefold()
    alike = [
        each.id
        for each in source.loads(load.kind)
        if each.id != load.id and kiln and each.kiln.strip().casefold() == kiln and _before(each, load)
    ]
    wanted = [load.id, *alike, *([] if bisque is None else [bisque.id])]
    courses = shop.courses(wanted)
    return ShopKnowledge(
        own=shop.own(),
        log=courses.get(load.id),
        earlier=tuple(courses[each] for each in alike if each in courses),
        bisque=bisque,
        bisque_log=None if bisque is None else courses.get(bisque.id),
        clay=clay,
        bench=bench,
    )


def _before(each: Load, load: Load) -> bool:
    return each.fired_on is not None and load.fired_on is not None and each.fired_on < load.fired_on


def _computed(key: str, value: float, where: str, certainty: float) -> Fact:
    told = f"{vocabulary_field(key).label}, {where}: {show_value(key, value)}"
    return Fact(key, value, Origin.COMPUTED, told, certainty)


def glaze_facts(recipe: Recipe, shop: ShopKnowledge, *, reduction: bool = False) -> dict[str, Fact]:
    """Give the facts of a recipe's melt and of its fit on the clay.

    Returns
    -------
    dict of str to Fact
        `recipe.early_melt_C` and `recipe.cte_minus_body` where they are computable, the latter only where the
        factor sets agree.
    """
    try:
        formula = formula_of(recipe.lines, shop.own)
    except GlazeError:
        return {}
    facts: dict[str, Fact] = {}
    fit: Fit | None = None
    if shop.clay is not None and shop.clay.expansion is not None:
        fit = agreed_fit(fits_on_body(expansions_of(formula.wt_pct), shop.clay.expansion))
    for key, value in melt_facts(melt_of(formula, reduction=reduction), fit).items():
        facts[key] = _computed(key, value, f"estimated for {recipe.name}", MELT_CERTAINTY)
    return facts


def course_log_facts(load: Load, shop: ShopKnowledge) -> dict[str, Fact]:
    """Give the facts of a load's log and of the bisque before it.

    Returns
    -------
    dict of str to Fact
        `firing.` facts by the log, `firing.slow_vs_usual_pct` against three earlier logs of the kiln or more,
        and `body.bisque_hours`, `body.bisque_hold_700_950_h` and `body.bisque_cone` of the bisque load.
    """
    facts: dict[str, Fact] = {}
    if shop.log is not None:
        for key, value in course_facts(shop.log).items():
            facts[key] = _computed(key, value, "by the log", LOG_CERTAINTY)
        slow = slow_vs_usual_pct(shop.log, shop.earlier)
        if slow is not None:
            key = "firing.slow_vs_usual_pct"
            where = f"against {len(shop.earlier)} earlier logs of {load.kiln}"
            facts[key] = _computed(key, slow, where, LOG_CERTAINTY)
    if shop.bisque is None:
        return facts
    course = shop.bisque_log or _planned(shop.bisque)
    if course is not None:
        logged = course.kind is PathKind.LOG
        where = f"by the {'log' if logged else 'plan'} of {shop.bisque.name}"
        certainty = LOG_CERTAINTY if logged else BISQUE_PLAN_CERTAINTY
        for key, value in bisque_facts(course).items():
            facts[key] = _computed(key, value, where, certainty)
    cone = _middle_cone(shop.bisque)
    if cone is not None:
        key = "body.bisque_cone"
        told = f"A witness cone of {shop.bisque.name} reached cone {cone}"
        facts[key] = Fact(key, cone, Origin.RECORDED, told)
    return facts


def clay_facts(shop: ShopKnowledge) -> dict[str, Fact]:
    """Give the facts of a clay's own measurements: absorption."""
    if shop.clay is None or shop.clay.absorption is None:
        return {}
    key, pct = "body.absorption_pct", shop.clay.absorption.pct
    told = f"{vocabulary_field(key).label}, by your own weighings: {show_value(key, pct)}"
    return {key: Fact(key, pct, Origin.RECORDED, told)}


def _planned(load: Load) -> TemperaturePath | None:
    try:
        return path_of_schedule(load.schedule, load.name)
    except ScheduleError:
        return None


def _middle_cone(load: Load) -> str | None:
    read = []
    for result in load.cones:
        try:
            read.append(parse_cone(result.cone))
        except UnknownConeError:
            continue
    return sorted(read, key=cone_position)[len(read) // 2] if read else None
