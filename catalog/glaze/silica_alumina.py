"""Where glazes lie on the plane of silica and alumina in the unity formula, at one cone.

Points of the studio's own tiles only: no regions are drawn or borrowed, what is glossy or matt where is for
the studio's own points to show.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from catalog.firing.cones import cone_position
from catalog.glaze.errors import GlazeError
from catalog.glaze.formula import formula_of
from catalog.glaze.materials import Material
from catalog.records import Piece, Recipe, RecipeLine

__all__ = ["FiredRecipe", "PlanePoint", "fired_recipes_of", "plane_points"]


@dataclass(frozen=True, slots=True)
class FiredRecipe:
    """A recipe as it was fired once: the cone is text ("6" is not "06"), the finish as read or judged."""

    name: str
    lines: Sequence[RecipeLine]
    cone: str
    finish: str | None = None


@dataclass(frozen=True, slots=True)
class PlanePoint:
    """One fired recipe on the plane.

    Attributes
    ----------
    name : str
    finish : str or None
    al2o3, sio2 : float
        Moles in the unity formula: across and up.
    b2o3 : float
        Moles; the plane says little of glazes with much of it.
    """

    name: str
    finish: str | None
    al2o3: float
    sio2: float
    b2o3: float


def plane_points(
    fired: Iterable[FiredRecipe], cone: str, own: Mapping[str, Material] | None = None
) -> tuple[tuple[PlanePoint, ...], tuple[str, ...]]:
    """Give the points of the recipes fired to a cone.

    Parameters
    ----------
    fired : iterable of FiredRecipe
    cone : str
        Others are left out.
    own : mapping of str to Material, optional

    Returns
    -------
    points : tuple of PlanePoint
    without_flux : tuple of str
        Names of recipes of that cone that have no unity formula.

    Raises
    ------
    UnknownMaterialError, RecipeAmountError, EmptyRecipeError
        As `formula_of`.
    """
    points = []
    without = []
    for each in fired:
        if each.cone != cone:
            continue
        unity = formula_of(each.lines, own).unity
        if unity is None:
            without.append(each.name)
            continue
        points.append(
            PlanePoint(
                each.name,
                each.finish,
                unity.get("Al2O3", 0.0),
                unity.get("SiO2", 0.0),
                unity.get("B2O3", 0.0),
            )
        )
    return tuple(points), tuple(without)


def fired_recipes_of(
    pieces: Iterable[Piece], recipes: Mapping[int, Recipe], own: Mapping[str, Material] | None = None
) -> list[FiredRecipe]:
    """Give the studio's pieces as fired recipes, for `plane_points`.

    Parameters
    ----------
    pieces : iterable of Piece
        Those with one layer of a kept recipe that can be worked out, and a cone: the witness cone of the
        piece's shelf, else the middle one of the load's, else the cone aimed at.
    recipes : mapping of int to Recipe
    own : mapping of str to Material, optional

    Returns
    -------
    list of FiredRecipe
        Named by the piece's code and its glaze.
    """
    found = []
    for piece in pieces:
        cone = _cone_of(piece)
        recipe = recipes.get(piece.layers[0].recipe_id or -1) if len(piece.layers) == 1 else None
        if cone is None or recipe is None:
            continue
        try:
            formula_of(recipe.lines, own)
        except GlazeError:
            continue
        current = next((reading for reading in piece.readings if not reading.superseded), None)
        gloss = None if current is None else current.tile.gloss
        finish = None if gloss is None or gloss.finish is None else str(gloss.finish)
        found.append(FiredRecipe(f"{piece.code} {recipe.name}", recipe.lines, cone, finish))
    return found


def _cone_of(piece: Piece) -> str | None:
    if piece.load is None:
        return None
    shelf = (piece.shelf or "").casefold()
    for result in piece.load.cones:
        if shelf and result.shelf.casefold() == shelf:
            return result.cone
    if piece.load.cones:
        ordered = sorted(piece.load.cones, key=lambda result: cone_position(result.cone))
        return ordered[len(ordered) // 2].cone
    return piece.load.cone_aimed
