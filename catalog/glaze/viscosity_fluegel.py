"""Viscosity by Fluegel 2007: a wide range of silicate glasses, alumina up to about 11 mol %.

Temperatures at 10^1.5, 10^6.6 and 10^12 Pa s from mol % of the whole glass. Coefficients in
`data/viscosity.csv`, range of the data at each level in `data/viscosity_limits.csv`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache

from catalog.glaze.model_limits import outside_limits
from catalog.glaze.viscosity_curve import ViscosityAnswer, curve_through
from catalog.package_data import read_rows

__all__ = ["METHOD", "fluegel_isokoms_c", "fluegel_viscosity"]

METHOD = "Fluegel 2007"

STANDARD_ERROR_C = 17.0
"""Published standard errors are 10 to 17 C over the three levels, read second-hand; the largest is used."""

_LEVELS: Mapping[str, float] = {"1.5": 1.5, "6.6": 6.6, "12": 12.0}

_Term = tuple[float, tuple[tuple[str, int], ...]]


@cache
def _terms() -> Mapping[str, tuple[_Term, ...]]:
    found: dict[str, list[_Term]] = {}
    for row in read_rows("catalog.glaze", "viscosity.csv"):
        if row["model"] != METHOD:
            continue
        factors: tuple[tuple[str, int], ...] = ()
        if row["term"] != "constant":
            pairs = [re.fullmatch(r"(\w+?)(?:\^(\d))?", part) for part in row["term"].split("*")]
            factors = tuple((_ours(pair[1]), int(pair[2] or 1)) for pair in pairs if pair)
        found.setdefault(row["output"].rsplit(" ", 1)[1], []).append((float(row["coefficient"]), factors))
    return {level: tuple(terms) for level, terms in found.items()}


def _ours(oxide: str) -> str:
    return "MnO" if oxide == "MnO2" else oxide  # one Mn each: the same moles


def fluegel_isokoms_c(mol_pct: Mapping[str, float]) -> dict[float, float]:
    """Give the model's temperatures, whatever the composition.

    Parameters
    ----------
    mol_pct : mapping of str to float
        Mole per cent of the whole glass, taken as it stands.

    Returns
    -------
    dict of float to float
        Degrees Celsius by log10 viscosity in Pa s: 1.5, 6.6, 12.
    """
    return {_LEVELS[level]: sum(_value(term, mol_pct) for term in terms) for level, terms in _terms().items()}


def _value(term: _Term, mol_pct: Mapping[str, float]) -> float:
    value, factors = term
    for oxide, power in factors:
        value *= mol_pct.get(oxide, 0.0) ** power
    return value


def fluegel_viscosity(mol_pct: Mapping[str, float]) -> ViscosityAnswer:
    """Give the curve of a glass inside the range of the model's data, or say what lies outside it.

    Parameters
    ----------
    mol_pct : mapping of str to float
        Mole per cent, to 100.
    """
    outside: dict[str, None] = {}
    for level, terms in _terms().items():
        known = {oxide for _, factors in terms for oxide, _ in factors}
        for reason in outside_limits(METHOD, f"log10 Pa.s {level}", mol_pct, known):
            outside[f"{reason} (at 10^{level} Pa s)"] = None
    if outside:
        return ViscosityAnswer(METHOD, None, "outside its data: " + "; ".join(outside))
    return curve_through(METHOD, fluegel_isokoms_c(mol_pct), doubt_c=STANDARD_ERROR_C)
