"""Oxides: molar masses, the order in which they are shown, and which count as fluxes.

Molar masses come from the standard atomic weights in `periodictable`. Fluxes, the oxides whose moles add
to 1 in the unity formula, are the alkalis and alkaline earths, zinc and lead (`FLUXES`); colouring oxides
of iron, manganese, cobalt, copper, nickel and cadmium are shown in the formula but not counted in that sum.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cache

__all__ = ["ALKALIS", "FLUXES", "OXIDES", "molar_mass_g", "mole_pct"]

ALKALIS: tuple[str, ...] = ("Li2O", "Na2O", "K2O")
"""R2O."""

FLUXES: tuple[str, ...] = (*ALKALIS, "MgO", "CaO", "SrO", "BaO", "ZnO", "PbO")
"""R2O + RO: the oxides that count as fluxes."""

OXIDES: tuple[str, ...] = (
    *FLUXES,
    "Al2O3",
    "B2O3",
    "Fe2O3",
    "Cr2O3",
    "MnO",
    "CoO",
    "CuO",
    "NiO",
    "SiO2",
    "TiO2",
    "ZrO2",
    "SnO2",
    "P2O5",
    "V2O5",
    "Sb2O3",
    "CdO",
)
"""All oxides a material may bring, in the order they are shown."""


@cache
def molar_mass_g(formula: str) -> float:
    """Give the molar mass of a compound in g/mol, from standard atomic weights.

    Parameters
    ----------
    formula : str
        Such as "Al2O3" or "CaCO3".
    """
    import periodictable

    return float(periodictable.formula(formula).mass)


def mole_pct(weights: Mapping[str, float]) -> dict[str, float]:
    """Give mole per cents, adding to 100, from weights of oxides in any unit and total.

    Raises
    ------
    ValueError
        No weight is above zero.
    """
    moles = {oxide: weight / molar_mass_g(oxide) for oxide, weight in weights.items()}
    total = math.fsum(moles.values())
    if total <= 0.0:
        raise ValueError("no oxide with a weight above zero")
    return {oxide: 100.0 * count / total for oxide, count in moles.items()}
