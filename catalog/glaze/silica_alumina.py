"""Where glazes lie on the plane of silica and alumina in the unity formula, at one cone.

Points of the studio's own tiles only: no regions are drawn or borrowed, what is glossy or matt where is for
the studio's own points to show.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from catalog.glaze.formula import formula_of
from catalog.glaze.materials import Material
from catalog.records import RecipeLine

__all__ = ["FiredRecipe", "PlanePoint", "plane_points"]


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
