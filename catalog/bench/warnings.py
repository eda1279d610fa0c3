"""What to look at before a load is packed: cones that do not match, glaze that runs, glaze that touches.

Limits are common practice, no source: body and glaze more than one cone apart; a glaze known to run wants a
catch plate or a bare band above the foot; no glaze where a piece stands or touches another.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from catalog.bench.records import Glazing
from catalog.bench.running import GlazeRuns
from catalog.firing.cones import cone_steps, parse_cone
from catalog.firing.errors import UnknownConeError
from catalog.records import Piece, Recipe

__all__ = ["CONES_APART", "FOOT_GAP_MM", "WARNING_KINDS", "LoadWarning", "look_over"]

CONES_APART = 1.0
"""More than this between the clay's cone and the glaze's range is told (common practice, no source)."""

FOOT_GAP_MM = 6.0
"""A bare band this high above the foot is a foot gap, mm (common practice, no source)."""

WARNING_KINDS = ("cones", "running", "contact")


@dataclass(frozen=True, slots=True)
class LoadWarning:
    """One thing to look at on one piece.

    Attributes
    ----------
    kind : one of `WARNING_KINDS`
    glaze, clay : names, the clay's only for "cones"
    clay_cone, glaze_low, glaze_high : for "cones"
    apart : whole cones between them for "cones", positive where the glaze wants more heat than the clay
    runs : for "running"
    why : for "contact": "foot", "touches" or both
    """

    kind: str
    code: str
    glaze: str
    clay: str = ""
    clay_cone: str = ""
    glaze_low: str = ""
    glaze_high: str = ""
    apart: float = 0.0
    runs: GlazeRuns | None = None
    why: tuple[str, ...] = ()


def look_over(
    pieces: Sequence[Piece],
    glazings: Mapping[int, Sequence[Glazing]],
    recipes: Mapping[int, Recipe],
    runs: Mapping[str, GlazeRuns],
) -> tuple[LoadWarning, ...]:
    """Give what to look at on pieces about to be loaded, in the order of `WARNING_KINDS`, then of pieces.

    Parameters
    ----------
    pieces : the load
    glazings : of each piece by its number, the first first; the last speaks for foot, catch and touch
    recipes : by number, for the cone range of each glaze layer
    runs : as `running.glaze_runs`
    """
    found: list[LoadWarning] = []
    for piece in pieces:
        last = glazings.get(piece.id, ())[-1:]
        found += _cones(piece, recipes)
        found += _running(piece, last[0] if last else None, runs)
        found += _contact(piece, last[0] if last else None)
    return tuple(sorted(found, key=lambda each: WARNING_KINDS.index(each.kind)))


def _cone(text: str | None) -> str | None:
    try:
        return None if text is None else parse_cone(text)
    except UnknownConeError:
        return None


def _cones(piece: Piece, recipes: Mapping[int, Recipe]) -> list[LoadWarning]:
    clay = None if piece.body is None else _cone(piece.body.rated_cone)
    if piece.body is None or clay is None:
        return []
    found = []
    for layer in piece.layers:
        recipe = None if layer.recipe_id is None else recipes.get(layer.recipe_id)
        low = None if recipe is None else _cone(recipe.cone_low) or _cone(recipe.cone_high)
        high = None if recipe is None else _cone(recipe.cone_high) or _cone(recipe.cone_low)
        if low is None or high is None:
            continue
        above, below = cone_steps(low, clay), cone_steps(clay, high)
        if max(above, below) > CONES_APART:
            found.append(
                LoadWarning(
                    "cones",
                    piece.code,
                    layer.name,
                    clay=piece.body.name,
                    clay_cone=clay,
                    glaze_low=low,
                    glaze_high=high,
                    apart=above if above > below else -below,
                )
            )
    return found


def _running(piece: Piece, last: Glazing | None, runs: Mapping[str, GlazeRuns]) -> list[LoadWarning]:
    held = last is not None and (
        last.catch is True or (last.foot_gap_mm is not None and last.foot_gap_mm >= FOOT_GAP_MM)
    )
    if held:
        return []
    names = dict.fromkeys(layer.name for layer in piece.layers)
    known = {name: runs.get(name.casefold(), GlazeRuns()) for name in names}
    return [
        LoadWarning("running", piece.code, name, runs=each) for name, each in known.items() if each.is_known
    ]


def _contact(piece: Piece, last: Glazing | None) -> list[LoadWarning]:
    stacked = piece.facts.get("firing.stacked_or_nested") is True and bool(piece.layers)
    why = []
    if last is not None and last.foot_wiped is False:
        why.append("foot")
    if stacked or (last is not None and last.touches is True):
        why.append("touches")
    if not why:
        return []
    return [LoadWarning("contact", piece.code, piece.layers[-1].name if piece.layers else "", why=tuple(why))]
