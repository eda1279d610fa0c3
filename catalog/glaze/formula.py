"""From a recipe to its formula: fired weight and mole per cent, the unity formula, loss on ignition.

Worked as in any glaze textbook: each material brings its oxides by weight; weights over molar masses are
moles; moles over the sum of the fluxes are the unity formula (Seger 1886).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from catalog.glaze.errors import EmptyRecipeError, RecipeAmountError
from catalog.glaze.materials import Material, find_material
from catalog.glaze.oxides import ALKALIS, FLUXES, OXIDES, molar_mass_g, mole_pct
from catalog.records import RecipeLine

__all__ = ["Formula", "MaterialShare", "WeighedMaterial", "formula_of", "formula_of_weighed", "weigh"]

WeighedMaterial = tuple[str, Material, float]
"""A line as written, the material it stands for, and its parts by weight."""


@dataclass(frozen=True, slots=True)
class MaterialShare:
    """One line of the recipe: the material found for it and its weight per cent of the whole batch."""

    written: str
    material: Material
    batch_wt_pct: float


@dataclass(frozen=True, slots=True)
class Formula:
    """What a recipe is after firing.

    Attributes
    ----------
    shares : tuple of MaterialShare
        The batch, additions included, to 100 weight per cent.
    wt_pct, mol_pct : mapping of str to float
        Fired oxides to 100, in the order they are shown.
    unity : mapping of str to float or None
        Moles of each oxide with the fluxes (`oxides.FLUXES`) adding to 1; None when the recipe has none.
    flux_mol : float
        Moles of flux brought by 100 g of raw batch.
    loi_pct : float
        Loss on ignition, weight per cent of the raw batch.
    fluorine_pct : float
        Fluorine, weight per cent of the raw batch; in no other figure, its loss is not fixed.
    fired_pct : float
        Oxides left, weight per cent of the raw batch (fluorides counted as oxides).
    unaccounted_pct : float
        What analyses leave over: raw batch less oxides, less loss, less fluorine for its oxygen.
    """

    shares: tuple[MaterialShare, ...]
    wt_pct: Mapping[str, float]
    mol_pct: Mapping[str, float]
    unity: Mapping[str, float] | None
    flux_mol: float
    loi_pct: float
    fluorine_pct: float
    fired_pct: float
    unaccounted_pct: float

    @property
    def si_al(self) -> float | None:
        """SiO2:Al2O3 by moles; None without alumina."""
        alumina = self.mol_pct.get("Al2O3", 0.0)
        return self.mol_pct.get("SiO2", 0.0) / alumina if alumina else None

    @property
    def r2o(self) -> float | None:
        """Share of the alkalis in the fluxes, 0 to 1 (RO is the rest); None without fluxes."""
        return None if self.unity is None else math.fsum(self.unity.get(oxide, 0.0) for oxide in ALKALIS)

    @property
    def knao(self) -> float | None:
        """Soda and potash together in the unity formula; None without fluxes."""
        if self.unity is None:
            return None
        return self.unity.get("Na2O", 0.0) + self.unity.get("K2O", 0.0)

    @property
    def flux_shares(self) -> dict[str, float] | None:
        """Share of each flux oxide, adding to 1, soda and potash apart; None without fluxes."""
        if self.unity is None:
            return None
        return {oxide: self.unity[oxide] for oxide in FLUXES if self.unity.get(oxide, 0.0) > 0.0}

    @property
    def b2o3_share(self) -> float | None:
        """Share of B2O3 among the glass formers SiO2 and B2O3, by moles, 0 to 1; None without either."""
        boron = self.mol_pct.get("B2O3", 0.0)
        formers = boron + self.mol_pct.get("SiO2", 0.0)
        return boron / formers if formers else None

    def material_pct(self, *names: str) -> float:
        """Give the weight per cent of the batch that stands under the named materials of the table."""
        return math.fsum(share.batch_wt_pct for share in self.shares if share.material.name in names)


def formula_of(
    lines: Iterable[RecipeLine | tuple[str, float]], own: Mapping[str, Material] | None = None
) -> Formula:
    """Give the formula of a recipe.

    Parameters
    ----------
    lines : iterable of RecipeLine or (material, amount)
        Parts by weight, any total; additions count as they stand, above the base.
    own : mapping of str to Material, optional
        The person's own materials by name; they come before the table's.

    Returns
    -------
    Formula

    Raises
    ------
    UnknownMaterialError
        A name stands for no material; the error names the nearest.
    RecipeAmountError
        An amount is negative or no finite number.
    EmptyRecipeError
        Nothing is left after firing.
    """
    return formula_of_weighed(weigh(lines, own))


def weigh(
    lines: Iterable[RecipeLine | tuple[str, float]], own: Mapping[str, Material] | None = None
) -> tuple[WeighedMaterial, ...]:
    """Find the material of each line and check its amount.

    Raises
    ------
    UnknownMaterialError, RecipeAmountError
        As `formula_of`.
    """
    return tuple(_weighed(line, own) for line in lines)


def formula_of_weighed(found: Sequence[WeighedMaterial]) -> Formula:
    """Give the formula of materials already found (`weigh`), such as ones moved by their doubt.

    Raises
    ------
    EmptyRecipeError
        Nothing is left after firing.
    """
    total = math.fsum(amount for _, _, amount in found)
    if total <= 0.0:
        raise EmptyRecipeError("the recipe holds no material with an amount above zero")
    shares = tuple(
        MaterialShare(written, material, 100.0 * amount / total)
        for written, material, amount in found
        if amount > 0.0
    )
    grams = _grams(shares)
    fired = math.fsum(grams.values())
    if fired <= 0.0:
        raise EmptyRecipeError("nothing of the recipe is left after firing")
    moles = {oxide: weight / molar_mass_g(oxide) for oxide, weight in grams.items()}
    flux = math.fsum(moles.get(oxide, 0.0) for oxide in FLUXES)
    loi = math.fsum(s.batch_wt_pct * s.material.loi_wt_pct / 100.0 for s in shares)
    fluorine = math.fsum(s.batch_wt_pct * s.material.fluorine_wt_pct / 100.0 for s in shares)
    oxygen_for_fluorine = molar_mass_g("O") / (2.0 * molar_mass_g("F"))
    return Formula(
        shares=shares,
        wt_pct={oxide: 100.0 * weight / fired for oxide, weight in grams.items()},
        mol_pct=mole_pct(grams),
        unity={oxide: count / flux for oxide, count in moles.items()} if flux > 0.0 else None,
        flux_mol=flux,
        loi_pct=loi,
        fluorine_pct=fluorine,
        fired_pct=fired,
        unaccounted_pct=100.0 - fired - loi - fluorine * (1.0 - oxygen_for_fluorine),
    )


def _weighed(line: RecipeLine | tuple[str, float], own: Mapping[str, Material] | None) -> WeighedMaterial:
    name, amount = (line.material, line.amount) if isinstance(line, RecipeLine) else line
    if isinstance(amount, bool) or not isinstance(amount, int | float):
        raise RecipeAmountError(name, amount)
    if not math.isfinite(amount) or amount < 0.0:
        raise RecipeAmountError(name, amount)
    return name, find_material(name, own), float(amount)


def _grams(shares: Iterable[MaterialShare]) -> dict[str, float]:
    """Oxides left by 100 g of raw batch, in the order they are shown."""
    sums: dict[str, float] = {}
    for share in shares:
        for oxide, pct in share.material.oxides_wt_pct.items():
            sums[oxide] = sums.get(oxide, 0.0) + share.batch_wt_pct * pct / 100.0
    return {oxide: sums[oxide] for oxide in OXIDES if oxide in sums}
