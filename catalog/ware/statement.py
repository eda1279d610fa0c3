"""One plain statement of use from faults, place, body, recipe and test results.

No statement promises anything. The strictest rule that applies speaks, and all reasons are given. A fault
whose place is not known counts as standing where food would be; an unknown recipe counts as one to hold.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache

from catalog.causes.knowledge import fault_of
from catalog.package_data import read_rows
from catalog.ware.leach import ELEMENTS, LeachResult, limit_for, method_names

__all__ = ["ABSORBENT_PCT", "PLACES", "FaultAt", "Use", "UseStatement", "Ware", "use_statement"]

ABSORBENT_PCT = 3.0
"""Absorption above which water gets into the wall, % by weight (ISO 13006 groups tiles at 3 %; memory)."""

PLACES = ("inside", "rim", "outside", "foot", "unknown")

_FOOD_PLACES = ("inside", "rim", "unknown")
_LETS_WATER_IN = ("craze", "pinhole", "crawl", "thin_skip", "crater", "blister")


class Use(StrEnum):
    """The few statements there are, strictest first."""

    DECORATIVE = "decorative only"
    DRY = "dry use only, not for food or drink"
    UNTIL_TESTED = "not for food or drink until tested by an accredited laboratory"
    TESTED = "tested: read the result and its date"


_ORDER = list(Use)


@dataclass(frozen=True, slots=True)
class FaultAt:
    """A fault and where on the piece it stands (one of `PLACES`)."""

    fault: str
    place: str = "unknown"


@dataclass(frozen=True, slots=True)
class Ware:
    """What is known of a piece when its use is asked about.

    Attributes
    ----------
    faults : those that stand, with place
    ware : one of `leach.WARE_CLASSES`
    region : one of `leach.REGIONS`: where it is to be used or sold
    absorption_pct : of the body after the glaze firing, None if not known
    recipe_known : False for an unknown, mixed or doubtful glaze
    holds : hold texts of the recipe ("Hold: ..."), from `glaze.caution` and the stop rules
    results : of release tests
    """

    faults: tuple[FaultAt, ...] = ()
    ware: str = "hollow"
    region: str = "eu"
    absorption_pct: float | None = None
    recipe_known: bool = True
    holds: tuple[str, ...] = ()
    results: tuple[LeachResult, ...] = ()


@dataclass(frozen=True, slots=True)
class UseStatement:
    """A statement of use with every reason for it, and what to do.

    `recall` says that sister pieces are to be looked at or called back.
    """

    use: Use
    reasons: tuple[str, ...]
    next_step: str
    recall: bool = False

    def text(self) -> str:
        """Give the statement as plain sentences."""
        return " ".join((f"{self.use[:1].upper()}{self.use[1:]}.", *self.reasons, self.next_step))


@cache
def _of_faults() -> dict[str, tuple[str, str]]:
    rows = read_rows("catalog.ware", "use_of_faults.csv")
    return {row["fault"]: (row["forbids"], row["text"]) for row in rows}


def _fault_reasons(ware: Ware) -> tuple[list[tuple[Use, str]], bool]:
    found: list[tuple[Use, str]] = []
    recall = False
    for at in ware.faults:
        forbids, text = _of_faults().get(fault_of(at.fault), ("", ""))
        name = fault_of(at.fault).replace("_", " ")
        where = "place not known" if at.place == "unknown" else at.place
        if forbids == "any_use":
            found.append((Use.DECORATIVE, f"{name.capitalize()}: {text}."))
            recall = True
        elif forbids == "food_surface" and at.place in _FOOD_PLACES:
            found.append((Use.DECORATIVE, f"{name.capitalize()} ({where}): {text}. Not for food."))
        elif forbids == "until_tested":
            found.append((Use.UNTIL_TESTED, f"{name.capitalize()} ({where}): {text}."))
    return found, recall


def _body_reasons(ware: Ware) -> list[tuple[Use, str]]:
    absorption = ware.absorption_pct
    if absorption is None or absorption <= ABSORBENT_PCT:
        return []
    open_faults = [at for at in ware.faults if fault_of(at.fault) in _LETS_WATER_IN]
    text = f"The body takes up {absorption:g} % of water"
    if open_faults:
        return [(Use.DRY, f"{text} and the glaze is open: liquid gets into the wall.")]
    return [(Use.UNTIL_TESTED, f"{text}: any opening in the glaze, and the bare foot, lets it in.")]


def _recipe_reasons(ware: Ware) -> list[tuple[Use, str]]:
    found = [(Use.UNTIL_TESTED, text) for text in ware.holds]
    if not ware.recipe_known:
        found.append((Use.UNTIL_TESTED, "What the glaze holds is not known."))
    return found


def _test_reasons(ware: Ware) -> tuple[list[tuple[Use, str]], bool]:
    """Judge the results: reasons, and whether any stands above its figure."""
    found: list[tuple[Use, str]] = []
    over = False
    for element in ELEMENTS:
        results = [result for result in ware.results if result.element == element]
        if not results:
            found.append((Use.UNTIL_TESTED, f"No result for {element} release is kept."))
            continue
        limit = limit_for(ware.region, ware.ware, element)
        for result in results:
            if limit is not None and limit.unit == result.unit and result.amount > limit.limit:
                over = True
                found.append((Use.DECORATIVE, f"{result.text()}: above the figure of {limit.text()}."))
        result = max(results, key=lambda one: one.tested_on)
        if not result.accredited:
            found.append((Use.UNTIL_TESTED, f"{result.text()}: not from an accredited laboratory."))
        elif not result.same_make:
            found.append(
                (Use.UNTIL_TESTED, f"{result.text()}: glaze, clay, coat or firing has changed since.")
            )
        elif limit is None:
            found.append((Use.UNTIL_TESTED, f"{result.text()}: no figure for this ware is kept here."))
        elif limit.unit != result.unit:
            found.append(
                (Use.UNTIL_TESTED, f"{result.text()}: this ware is judged in {limit.unit} ({limit.text()}).")
            )
        elif result.amount <= limit.limit:
            found.append((Use.TESTED, f"{result.text()}; beside it: {limit.text()}."))
    return found, over


_NEXT = {
    Use.DECORATIVE: "Mark it on the base as not for food or drink, or destroy it where it can hurt.",
    Use.DRY: "Mark it on the base as not for food or drink.",
    Use.UNTIL_TESTED: (
        "Send finished ware from the real firing to an accredited laboratory; ask for one of: {methods}."
    ),
    Use.TESTED: (
        "A result belongs to that glaze, clay, coat and firing: change one and it lapses. "
        "Read the report; the law of the place of sale decides."
    ),
}


def use_statement(ware: Ware) -> UseStatement:
    """Give the statement of use of a piece.

    Parameters
    ----------
    ware : Ware

    Returns
    -------
    UseStatement
        The strictest use that any reason asks for, with all reasons, strictest first. "tested" only when both
        lead and cadmium were tested by an accredited laboratory on ware of the same make, no result stands
        above the region's figure, and no fault, body or recipe holds the piece back: a test for lead and
        cadmium says nothing of manganese, copper or barium.

    Raises
    ------
    UnknownFaultError
        A fault that the tables do not hold.
    """
    reasons, recall = _fault_reasons(ware)
    reasons += _body_reasons(ware)
    reasons += _recipe_reasons(ware)
    tested, over = _test_reasons(ware)
    reasons += tested
    reasons.sort(key=lambda reason: _ORDER.index(reason[0]))
    use = reasons[0][0] if reasons else Use.UNTIL_TESTED
    methods = ", ".join(_short(method_names()))
    return UseStatement(
        use=use,
        reasons=tuple(dict.fromkeys(text for _, text in reasons)),
        next_step=_NEXT[use].format(methods=methods),
        recall=recall or over,
    )


def _short(names: Sequence[str]) -> list[str]:
    return [name.split(" (")[0] for name in names]
