"""Facts that the records answer: layers, body, recipe, and the load with its cones and schedule."""

from __future__ import annotations

from collections.abc import Mapping

from catalog.causes.fact import Fact, Origin, show_value
from catalog.causes.vocabulary import field
from catalog.firing.cones import cone_position, cone_steps, parse_cone
from catalog.firing.course_facts import course_facts
from catalog.firing.errors import ScheduleError, UnknownConeError
from catalog.firing.heatwork import end_point_cone
from catalog.firing.path import TemperaturePath, path_of_schedule
from catalog.glaze.errors import GlazeError
from catalog.glaze.formula import formula_of
from catalog.glaze.materials import Material
from catalog.glaze.recipe_facts import recipe_facts
from catalog.records import ConeResult, FactValue, Load, Piece, Recipe

__all__ = [
    "application_facts",
    "body_facts",
    "cone_facts",
    "load_facts",
    "outer_recipe",
    "recipe_record_facts",
]

_PLAN_CERTAINTY = 0.7
"""A planned rate or hold: what was meant, and mostly what happened (judgement)."""

_COMPUTED_CONE_CERTAINTY = 0.4
"""A cone computed from a plan: no evidence of what the kiln did (judgement)."""

_LOGGED_CONE_CERTAINTY = 0.6
"""A cone computed from a log: the thermocouple may be off, and it sits in one place (judgement)."""

_OTHER_SHELF_CERTAINTY = 0.6
"""A witness cone from another shelf than the piece's (judgement)."""

_UNEVEN_KILN_CERTAINTY = 0.3
"""The same in a load whose shelves differ by more than a cone (judgement)."""


def _stated(key: str, value: FactValue) -> Fact:
    return Fact(key, value, Origin.RECORDED, f"{field(key).label}: {show_value(key, value)}")


def _cone(text: str | None) -> str | None:
    """Spell a recorded cone as the ladder does; None when there is none or it is no cone."""
    if text is None:
        return None
    try:
        return parse_cone(text)
    except UnknownConeError:
        return None


def application_facts(piece: Piece) -> dict[str, Fact]:
    """Give the facts of a piece's layers: method, coats, dry thickness (all layers together), glazes."""
    layers = piece.layers
    if not layers:
        return {}
    facts = [_stated("application.layers", float(len({layer.name.casefold() for layer in layers})))]
    methods = {layer.method for layer in layers if layer.method is not None}
    if len(methods) == 1 and (method := methods.pop()) in field("application.method").allowed:
        facts.append(_stated("application.method", method))
    coats = [layer.coats for layer in layers]
    if all(count is not None for count in coats):
        facts.append(_stated("application.coats", float(sum(count or 0 for count in coats))))
    thick = [layer.raw_thickness_mm for layer in layers]
    if all(value is not None for value in thick):
        facts.append(_stated("application.raw_thickness_mm", float(sum(value or 0.0 for value in thick))))
    return {fact.key: fact for fact in facts}


def body_facts(piece: Piece) -> dict[str, Fact]:
    """Give the facts of a piece's clay: kind, maturing cone, absorption."""
    body = piece.body
    if body is None:
        return {}
    facts = []
    if body.kind in field("body.kind").allowed:
        facts.append(_stated("body.kind", body.kind))
    if (rated := _cone(body.rated_cone)) is not None:
        facts.append(_stated("body.rated_cone", rated))
    if body.absorption_pct is not None:
        facts.append(_stated("body.absorption_pct", body.absorption_pct))
    return {fact.key: fact for fact in facts}


def outer_recipe(piece: Piece, recipes: Mapping[int, Recipe]) -> Recipe | None:
    """Give the recipe of the outermost layer that has one."""
    for layer in reversed(piece.layers):
        if layer.recipe_id is not None and layer.recipe_id in recipes:
            return recipes[layer.recipe_id]
    return None


def recipe_record_facts(
    recipe: Recipe, *, reduction: bool = False, own: Mapping[str, Material] | None = None
) -> tuple[dict[str, Fact], tuple[str, ...]]:
    """Give the facts of a recipe: range, and all that its materials tell.

    Returns
    -------
    facts : dict of str to Fact
    notes : tuple of str
        Why the chemistry could not be computed, where it could not.
    """
    facts: dict[str, Fact] = {}
    for key, text in (("recipe.cone_low", recipe.cone_low), ("recipe.cone_high", recipe.cone_high)):
        if (cone := _cone(text)) is not None:
            facts[key] = _stated(key, cone)
    if not recipe.lines:
        facts["recipe.known"] = _stated("recipe.known", False)
        return facts, ()
    try:
        computed = recipe_facts(formula_of(recipe.lines, own), reduction=reduction)
    except GlazeError as error:
        return facts, (f"The chemistry of {recipe.name} could not be computed: {error}.",)
    facts["recipe.known"] = _stated("recipe.known", True)
    for key, value in computed.items():
        text = f"{field(key).label}, computed for {recipe.name}: {show_value(key, value)}"
        facts[key] = Fact(key, value, Origin.COMPUTED, text)
    return facts, ()


def load_facts(load: Load, shelf: str | None) -> dict[str, Fact]:
    """Give the facts of a load that do not depend on cones: kiln, atmosphere, shelf, planned course."""
    facts: list[Fact] = []
    kinds = [kind for kind in field("firing.kiln").allowed if kind in load.kiln.casefold().split()]
    if len(kinds) == 1:
        facts.append(_stated("firing.kiln", kinds[0]))
    if load.atmosphere in field("firing.atmosphere").allowed:
        facts.append(_stated("firing.atmosphere", str(load.atmosphere)))
    if shelf is not None and shelf.casefold() in field("firing.shelf").allowed:
        facts.append(_stated("firing.shelf", shelf.casefold()))
    if (path := _path(load)) is not None:
        for key, value in course_facts(path).items():
            text = f"{field(key).label}, by the planned schedule: {show_value(key, value)}"
            facts.append(Fact(key, value, Origin.COMPUTED, text, _PLAN_CERTAINTY))
    return {fact.key: fact for fact in facts}


def _path(load: Load) -> TemperaturePath | None:
    if not load.schedule:
        return None
    try:
        return path_of_schedule(load.schedule, load.name)
    except ScheduleError:
        return None


def _witness(load: Load, shelf: str | None) -> tuple[ConeResult | None, float, bool | None]:
    """Find the witness cone that speaks for a shelf.

    Returns
    -------
    result : ConeResult or None
        The shelf's own, else the middle one of those read in the load.
    certainty : float
        1 for the shelf's own; less for another's, less again where shelves differ by more than a cone.
    beside : bool or None
        Whether it stood on that very shelf; None when the piece's shelf is not known.
    """
    read = [result for result in load.cones if _cone(result.cone) is not None]
    if not read:
        return None, 0.0, None
    if shelf is not None:
        for result in read:
            if result.shelf.casefold() == shelf.casefold():
                return result, 1.0, True
    read.sort(key=lambda result: cone_position(result.cone))
    apart = cone_position(read[-1].cone) - cone_position(read[0].cone)
    certainty = _OTHER_SHELF_CERTAINTY if apart <= 1.0 else _UNEVEN_KILN_CERTAINTY
    return read[len(read) // 2], certainty, None if shelf is None else False


def cone_facts(
    load: Load, shelf: str | None, known: Mapping[str, Fact], measured: TemperaturePath | None = None
) -> dict[str, Fact]:
    """Give how hot the piece was against what was aimed at, against its glaze's range and its body.

    Parameters
    ----------
    load : Load
    shelf : str or None
        The piece's shelf.
    known : mapping of str to Fact
        Facts that hold `recipe.cone_low`, `recipe.cone_high` and `body.rated_cone` where they are known.
    measured : TemperaturePath, optional
        The load's log, which comes before its plan.

    Returns
    -------
    dict of str to Fact
        From the witness cone beside the piece; from one elsewhere with less weight; failing both, from the
        log or the planned schedule with little weight, and only where it misses by more than its own doubt.
    """
    witness, certainty, beside = _witness(load, shelf)
    if witness is not None:
        reached = parse_cone(witness.cone)
        place = f"on the {witness.shelf} shelf" if witness.shelf else "in this load"
        told = f"The witness cone {place} reached cone {reached}"
        facts = _against(reached, load, known, told, Origin.RECORDED, certainty, 0.0)
        if beside is not None:
            facts["firing.witness_cone"] = Fact("firing.witness_cone", beside, Origin.RECORDED, told)
        return facts
    path = measured or _path(load)
    if path is None:
        return {}
    verdict = end_point_cone(path)
    if verdict.cone is None or verdict.position is None:
        return {}
    what = "The planned schedule" if measured is None else "The log"
    told = f"{what} computes to cone {verdict.cone} or a little more, no witness cone was read"
    doubt = verdict.doubt_cones or 1.0
    certainty = _COMPUTED_CONE_CERTAINTY if measured is None else _LOGGED_CONE_CERTAINTY
    return _against(verdict.cone, load, known, told, Origin.COMPUTED, certainty, doubt)


def _against(
    reached: str,
    load: Load,
    known: Mapping[str, Fact],
    told: str,
    origin: Origin,
    certainty: float,
    doubt: float,
) -> dict[str, Fact]:
    facts: dict[str, Fact] = {}

    def add(key: str, mark: str | None, ends: str, sign: float = 1.0) -> None:
        if mark is None:
            return
        steps = sign * cone_steps(reached, mark) + 0.0
        if abs(steps) < doubt:
            return
        text = f"{told}; {ends} {mark}: {_steps_words(sign * steps)}"
        facts[key] = Fact(key, steps, origin, text, certainty)

    add("firing.cone_over_target", _cone(load.cone_aimed), "the load was aimed at cone")
    add("firing.cone_over_range", _known_cone(known, "recipe.cone_high"), "the glaze's range ends at cone")
    add(
        "firing.cone_under_range",
        _known_cone(known, "recipe.cone_low"),
        "the glaze's range starts at cone",
        -1,
    )
    add("firing.cone_over_body", _known_cone(known, "body.rated_cone"), "the body matures at cone")
    return facts


def _known_cone(known: Mapping[str, Fact], key: str) -> str | None:
    return str(known[key].value) if key in known else None


def _steps_words(steps: float) -> str:
    if steps == 0.0:
        return "just there"
    unit = "cone" if abs(steps) == 1.0 else "cones"
    return f"{abs(steps):g} {unit} {'hotter' if steps > 0 else 'cooler'}"
