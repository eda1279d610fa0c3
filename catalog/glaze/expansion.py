"""Linear thermal expansion by published factor sets, each on its own.

Sets differ by far more than any margin of fit, so figures of two sets are never mixed or averaged; what
counts is a difference within one set. Factors are in `data/expansion.csv` with source and basis; most are
recalled, not read. A set is silent ("not computable") when the glaze holds more than 1 wt % of oxides it
has no factor for, and warns outside the range its authors worked in where that is known.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from catalog.glaze.oxides import mole_pct
from catalog.package_data import read_rows

__all__ = ["Expansion", "expansion_sets", "expansions_of"]

UNCOVERED_LIMIT_PCT = 1.0
"""A set without a factor for more than this share of the glaze (wt or mol %) gives no figure (our choice)."""

ENGLISH_TURNER_BORON_LIMIT_PCT = 10.0
"""Above this share of B2O3 the factors of this set are far off (its note: low boron only; our reading)."""

_APPEN = "Appen"


@dataclass(frozen=True, slots=True)
class Expansion:
    """Linear expansion by one factor set.

    Attributes
    ----------
    set_name : str
        Name and year as published.
    per_k : float or None
        Linear, in 1/K; None when not computable.
    temperature_range : str
        Range the factors were made for.
    note : str
        Why there is no figure, or in what way it lies outside the set's own ground; "" when neither.
    basis : str
        "read" or "memory": the weakest basis among the factors used.
    """

    set_name: str
    per_k: float | None
    temperature_range: str
    note: str
    basis: str

    def to_dict(self) -> dict[str, str | float | None]:
        """Give the JSON form; `linear_1e-6_per_K` is in parts per million and kelvin."""
        return {
            "linear_1e-6_per_K": None if self.per_k is None else round(self.per_k * 1e6, 3),
            "temperature_range": self.temperature_range,
            "note": self.note,
            "basis": self.basis,
        }


@dataclass(frozen=True, slots=True)
class _FactorSet:
    name: str
    year: str
    per_mole: bool
    cubical: bool
    temperature_range: str
    factors: Mapping[str, float | None]
    basis: Mapping[str, str]


@cache
def _sets() -> tuple[_FactorSet, ...]:
    grouped: dict[str, list[dict[str, str]]] = {}
    for row in read_rows("catalog.glaze", "expansion.csv"):
        grouped.setdefault(row["set"], []).append(row)
    return tuple(
        _FactorSet(
            name=name,
            year=rows[0]["year"],
            per_mole=rows[0]["per"] == "mol fraction",
            cubical=rows[0]["kind"] == "cubical",
            temperature_range=rows[0]["temperature_range"],
            factors={row["oxide"]: float(row["factor"]) if row["factor"] else None for row in rows},
            basis={row["oxide"]: row["basis"] for row in rows},
        )
        for name, rows in grouped.items()
    )


def expansion_sets() -> tuple[str, ...]:
    """Give the names of the published sets, in the table's order."""
    return tuple(factor_set.name for factor_set in _sets())


def expansions_of(wt_pct: Mapping[str, float]) -> tuple[Expansion, ...]:
    """Give the linear expansion of a glass or fired glaze by each published set.

    Parameters
    ----------
    wt_pct : mapping of str to float
        Weight per cent of each oxide; taken as it stands by the sets that go by weight.

    Returns
    -------
    tuple of Expansion
        One a set, never mixed.
    """
    mol_pct = mole_pct(wt_pct)
    return tuple(_expansion(factor_set, wt_pct, mol_pct) for factor_set in _sets())


def _expansion(
    factor_set: _FactorSet, wt_pct: Mapping[str, float], mol_pct: Mapping[str, float]
) -> Expansion:
    parts = mol_pct if factor_set.per_mole else wt_pct
    covered = {oxide: pct for oxide, pct in parts.items() if oxide in factor_set.factors}
    missing = {oxide: pct for oxide, pct in parts.items() if oxide not in factor_set.factors}
    title = f"{factor_set.name} {factor_set.year}"
    lacking = math.fsum(missing.values())
    if lacking > UNCOVERED_LIMIT_PCT:
        names = ", ".join(f"{oxide} {pct:.1f} %" for oxide, pct in missing.items() if pct >= 0.05)
        note = f"not computable: the set has no factor for {names}"
        return Expansion(title, None, factor_set.temperature_range, note, "")
    factors = {oxide: _factor(factor_set, oxide, mol_pct) for oxide in covered}
    total = math.fsum(factors[oxide] * pct for oxide, pct in covered.items())
    if factor_set.per_mole:
        total /= 100.0
    if factor_set.cubical:
        total /= 3.0
    bases = {factor_set.basis[oxide] for oxide in covered}
    return Expansion(
        set_name=title,
        per_k=total * 1e-7,
        temperature_range=factor_set.temperature_range,
        note=_note(factor_set, wt_pct, missing),
        basis="memory" if "memory" in bases else "read",
    )


def _note(factor_set: _FactorSet, wt_pct: Mapping[str, float], missing: Mapping[str, float]) -> str:
    notes = []
    boron = wt_pct.get("B2O3", 0.0)
    if factor_set.name.startswith("English") and boron > ENGLISH_TURNER_BORON_LIMIT_PCT:
        notes.append(f"outside: {boron:.1f} wt % B2O3, the set holds for little boron only")
    if missing:
        notes.append("left out, no factor: " + ", ".join(missing))
    return "; ".join(notes)


def _factor(factor_set: _FactorSet, oxide: str, mol_pct: Mapping[str, float]) -> float:
    if factor_set.name == _APPEN:
        return _appen_factor(oxide, factor_set.factors[oxide], mol_pct)
    factor = factor_set.factors[oxide]
    return 0.0 if factor is None else factor


def _appen_factor(oxide: str, tabled: float | None, mol: Mapping[str, float]) -> float:
    """Appen's factors that depend on the whole glass (the table's `note` column), 1e-7/K by mol fraction."""

    def sum_of(*oxides: str) -> float:
        return math.fsum(mol.get(name, 0.0) for name in oxides)

    silica = mol.get("SiO2", 0.0)
    if oxide == "SiO2":
        return 38.0 - max(0.0, silica - 67.0)
    if oxide == "TiO2":
        return 30.0 - 1.5 * min(30.0, max(0.0, silica - 50.0))
    if oxide == "PbO":
        return min(190.0, 130.0 + 5.0 * max(0.0, sum_of("Li2O", "Na2O", "K2O") - 3.0))
    if oxide == "B2O3":
        flux = (
            sum_of("Na2O", "K2O", "BaO")
            + 0.7 * sum_of("CaO", "SrO", "CdO", "PbO")
            + 0.3 * sum_of("Li2O", "MgO", "ZnO")
        )
        psi = (flux - mol.get("Al2O3", 0.0)) / mol["B2O3"]
        return -50.0 if psi > 4.0 else 12.5 * (4.0 - psi) - 50.0
    return 0.0 if tabled is None else tabled
