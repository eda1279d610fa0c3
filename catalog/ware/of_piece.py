"""What the catalogue knows of a piece, gathered for a statement of use."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from catalog.causes.errors import UnknownFaultError
from catalog.causes.knowledge import fault_of
from catalog.faults import effective_faults
from catalog.glaze.caution import recipe_cautions
from catalog.glaze.errors import GlazeError
from catalog.glaze.formula import formula_of
from catalog.records import Piece, Recipe
from catalog.ware.leach import LeachResult
from catalog.ware.statement import FaultAt, Ware

__all__ = ["ware_of"]

_HOLDS = ("hold:", "not for food")
"""A caution that says one of these holds the piece back."""

_CADMIUM = "Hold: an encapsulated cadmium stain. Not for food until a laboratory report is attached."


def ware_of(
    piece: Piece,
    *,
    recipes: Mapping[int, Recipe],
    places: Mapping[str, str] | None = None,
    ware: str = "hollow",
    region: str = "eu",
    results: Iterable[LeachResult] = (),
) -> Ware:
    """Gather what is known of a piece for `statement.use_statement`.

    Parameters
    ----------
    piece : Piece
        With layers, body, readings and judgements.
    recipes : mapping of int to Recipe
        Recipes by number; every layer's is looked at.
    places : mapping of str to str, optional
        Where each fault stands, by the fault's own name; without it the place is not known.
    ware, region : str
        Of `leach.WARE_CLASSES` and `leach.REGIONS`.
    results : iterable of LeachResult

    Returns
    -------
    Ware
        A layer without a recipe, or with a material the table does not hold, leaves the recipe not known; a
        stain said to hold cadmium is a hold.
    """
    found = []
    for standing in effective_faults(piece):
        try:
            name = fault_of(standing.fault)
        except UnknownFaultError:
            name = "unclassified"
        found.append(FaultAt(name, (places or {}).get(name, "unknown")))
    known = bool(piece.layers)
    holds: list[str] = []
    for layer in piece.layers:
        recipe = recipes.get(layer.recipe_id) if layer.recipe_id is not None else None
        if recipe is None:
            known = False
            continue
        known = known and recipe.facts.get("recipe.known") is not False
        if recipe.facts.get("recipe.stain_family") == "encapsulated_cd":
            holds.append(_CADMIUM)
        try:
            holds += [
                text
                for text in recipe_cautions(formula_of(recipe.lines))
                if any(word in text.lower() for word in _HOLDS)
            ]
        except GlazeError:
            known = False
    absorption = piece.facts.get("body.absorption_pct")
    if absorption is None and piece.body is not None:
        absorption = piece.body.absorption_pct
    return Ware(
        faults=tuple(found),
        ware=ware,
        region=region,
        absorption_pct=None if absorption is None else float(absorption),
        recipe_known=known,
        holds=tuple(dict.fromkeys(holds)),
        results=tuple(results),
    )
