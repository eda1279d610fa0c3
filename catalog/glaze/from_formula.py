"""From a unity formula back to a recipe: the amounts that come nearest, none below zero.

Non-negative least squares (Lawson & Hanson 1974, `scipy.optimize.nnls`) over the oxides. A difference in an
oxide is weighed by how much of it is wanted, so that a tenth of the magnesia counts as much as a tenth of
the silica. Soda and potash count mainly together: one may stand in for the other where nothing better can.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from catalog.glaze.errors import SubstitutionError
from catalog.glaze.materials import Material, find_material
from catalog.glaze.oxides import FLUXES, molar_mass_g
from catalog.records import RecipeLine

__all__ = ["NearestRecipe", "recipe_for_unity"]

FLOOR_MOL = 0.05
"""Oxides wanted in less than this (unity formula) are weighed as if this were wanted (our choice)."""

KNAO_APART_WEIGHT = 0.1
"""What soda and potash count apart, where together they count 1 (our choice)."""


@dataclass(frozen=True, slots=True)
class NearestRecipe:
    """The nearest recipe to a unity formula.

    Attributes
    ----------
    lines : tuple of RecipeLine
        Base to 100; materials that came out at nothing are left out.
    unity : mapping of str to float
        What the recipe really has.
    unused : tuple of str
        Materials given that are better left out.
    """

    lines: tuple[RecipeLine, ...]
    unity: Mapping[str, float]
    unused: tuple[str, ...]


def recipe_for_unity(
    unity: Mapping[str, float], names: Sequence[str], own: Mapping[str, Material] | None = None
) -> NearestRecipe:
    """Give the recipe of these materials whose unity formula is nearest to the one wanted.

    Parameters
    ----------
    unity : mapping of str to float
        Moles of each oxide on any scale; zero for oxides that are not wanted.
    names : sequence of str
        Materials that may be used, as written.
    own : mapping of str to Material, optional
        As in `formula.formula_of`.

    Raises
    ------
    SubstitutionError
        No material, nothing wanted, or the materials bring none of the fluxes wanted.
    UnknownMaterialError
        As `find_material`.
    """
    import numpy as np
    from scipy.optimize import nnls

    wanted = {oxide: count for oxide, count in unity.items() if count > 0.0}
    if not names or not wanted:
        raise SubstitutionError("wanted: at least one material and one oxide above zero")
    found = [find_material(name, own) for name in names]
    moles = [
        {oxide: pct / molar_mass_g(oxide) for oxide, pct in material.oxides_wt_pct.items()}
        for material in found
    ]
    oxides = sorted(set(wanted).union(*moles))
    flux = math.fsum(wanted.get(oxide, 0.0) for oxide in FLUXES) or 1.0
    target = np.array([wanted.get(oxide, 0.0) / flux for oxide in oxides])
    matrix = np.array([[each.get(oxide, 0.0) for each in moles] for oxide in oxides])
    alkali = np.isin(oxides, ("Na2O", "K2O"))
    knao = float(target[alkali].sum())
    weight = 1.0 / np.maximum(target, FLOOR_MOL)
    weight[alkali] = KNAO_APART_WEIGHT / max(knao, FLOOR_MOL)
    joined = 1.0 / max(knao, FLOOR_MOL)
    rows = np.vstack([matrix * weight[:, None], joined * matrix[alkali].sum(axis=0)])
    scale = np.linalg.norm(rows, axis=0)
    scale[scale == 0.0] = 1.0
    amounts, _ = nnls(rows / scale, np.append(target * weight, joined * knao))
    amounts = amounts / scale
    total = float(amounts.sum())
    got = matrix @ amounts
    got_flux = math.fsum(float(value) for oxide, value in zip(oxides, got, strict=True) if oxide in FLUXES)
    if total <= 0.0 or got_flux <= 0.0:
        raise SubstitutionError("the materials given bring no flux that the formula wants")
    lines = tuple(
        RecipeLine(name, 100.0 * float(amount) / total)
        for name, amount in zip(names, amounts, strict=True)
        if amount > 0.0
    )
    reached = {
        oxide: float(value) / got_flux for oxide, value in zip(oxides, got, strict=True) if value > 0.0
    }
    unused = tuple(name for name, amount in zip(names, amounts, strict=True) if amount <= 0.0)
    return NearestRecipe(lines, reached, unused)
