"""Glazes whose fate on a clay the studio's own pieces show, to set a new one beside."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Literal

from catalog.faults import effective_faults
from catalog.glaze.errors import GlazeError
from catalog.glaze.expansion import Expansion, expansions_of
from catalog.glaze.fit import Fit, KnownGlaze, fit_beside
from catalog.glaze.fit_words import FitSummary
from catalog.glaze.formula import formula_of
from catalog.glaze.materials import Material
from catalog.records import Piece, Recipe

__all__ = ["Outcome", "fits_beside_own", "outcomes_on", "seen_summary"]

Outcome = Literal["crazes", "fits", "shivers"]


def outcomes_on(pieces: Iterable[Piece], body_id: int) -> dict[int, Outcome]:
    """Give what each recipe revision did on a clay.

    Parameters
    ----------
    pieces : iterable of Piece
        Those with one layer, of a kept recipe, on this clay count; two glazes over each other fit as neither.
    body_id : int

    Returns
    -------
    dict of int to str
        By recipe id. One piece that shivered or crazed speaks for all; "fits" means that no crack was seen,
        so far, on any photo that could show one.
    """
    found: dict[int, Outcome] = {}
    for piece in pieces:
        if piece.body is None or piece.body.id != body_id or len(piece.layers) != 1:
            continue
        recipe_id = piece.layers[0].recipe_id
        outcome = _outcome(piece)
        if recipe_id is None or outcome is None:
            continue
        held = found.get(recipe_id)
        if held is None or "shivers" in (held, outcome):
            found[recipe_id] = outcome if held is None else "shivers"
        elif "crazes" in (held, outcome):
            found[recipe_id] = "crazes"
    return found


def _outcome(piece: Piece) -> Outcome | None:
    words = {fault.fault for fault in effective_faults(piece)}
    if any(word.startswith("shiver") for word in words):
        return "shivers"
    if "crazed" in words or "crazing" in words or "crazed" in piece.intended:
        return "crazes"
    looked = [reading.tile.crazing.present for reading in piece.readings if not reading.superseded]
    return "fits" if looked and not any(looked) and all(seen is not None for seen in looked) else None


def fits_beside_own(
    expansions: Sequence[Expansion],
    outcomes: Mapping[int, Outcome],
    recipes: Mapping[int, Recipe],
    own: Mapping[str, Material] | None = None,
    *,
    leave_out: int | None = None,
) -> tuple[Fit, ...]:
    """Set a glaze beside the studio's own on one clay, by every factor set for itself.

    Parameters
    ----------
    expansions : sequence of Expansion
        Of the glaze asked about.
    outcomes : mapping of int to str
        From `outcomes_on`.
    recipes : mapping of int to Recipe
    own : mapping of str to Material, optional
    leave_out : int, optional
        The revision asked about itself: what it did is no computation.

    Returns
    -------
    tuple of Fit
        Empty where no other glaze's fate is known.
    """
    known: dict[str, list[KnownGlaze]] = {}
    for recipe_id, outcome in outcomes.items():
        recipe = recipes.get(recipe_id)
        if recipe is None or recipe_id == leave_out:
            continue
        try:
            wt_pct = formula_of(recipe.lines, own).wt_pct
        except GlazeError:
            continue
        for each in expansions_of(wt_pct):
            known.setdefault(each.set_name, []).append(KnownGlaze(recipe.name, each, outcome))
    return tuple(fit_beside(each, known[each.set_name]) for each in expansions if each.set_name in known)


def seen_summary(outcome: Outcome | None, clay: str) -> FitSummary | None:
    """Say what a revision's own tiles did on a clay; None where there are none. It outranks computation."""
    match outcome:
        case "crazes":
            return FitSummary("likely to craze", f"On {clay} your own tiles of it have crazed.")
        case "shivers":
            return FitSummary("likely to shiver", f"On {clay} your own tiles of it have shivered.")
        case "fits":
            return FitSummary("fits", f"On {clay} no tile of it has been seen to craze or shiver so far.")
        case _:
            return None
