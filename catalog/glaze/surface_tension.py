"""Surface tension of a molten glaze by published sets, each on its own and at its own temperature.

Kucuk, Clare and Jones 1999 (1400 C) comes first: its equation was read, the factors of Dietzel 1942 (900 C)
and Appen 1952 (1300 C) are recalled. A set says nothing where oxides it has no figure for make up more than
1 % of the glaze. Factors with source and basis in `data/surface_tension.csv`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from catalog.glaze.oxides import mole_pct
from catalog.package_data import read_rows

__all__ = ["SurfaceTension", "surface_tensions"]

UNCOVERED_LIMIT_PCT = 1.0
"""As for expansion: our choice."""


@dataclass(frozen=True, slots=True)
class SurfaceTension:
    """Surface tension by one set.

    Attributes
    ----------
    set_name : str
    mn_per_m : float or None
        Millinewton a metre; None when not computable.
    temperature_c : float
        Temperature the set is for.
    note : str
        Why there is no figure, or what was left out; "" when neither.
    basis : str
        "read" or "memory".
    """

    set_name: str
    mn_per_m: float | None
    temperature_c: float
    note: str
    basis: str


@dataclass(frozen=True, slots=True)
class _Set:
    name: str
    per_weight: bool
    per_fraction: bool
    constant: float
    temperature_c: float
    factors: Mapping[str, float]
    basis: str


@cache
def _sets() -> tuple[_Set, ...]:
    grouped: dict[str, list[dict[str, str]]] = {}
    for row in read_rows("catalog.glaze", "surface_tension.csv"):
        grouped.setdefault(row["model"], []).append(row)
    found = []
    for name, rows in grouped.items():
        factors = {row["oxide"]: float(row["coefficient"]) for row in rows}
        unit = rows[-1]["unit"]
        found.append(
            _Set(
                name=name,
                per_weight="wt%" in unit,
                per_fraction="mol fraction" in unit,
                constant=factors.pop("constant", 0.0),
                temperature_c=float(rows[0]["temperature"].split()[0]),
                factors=factors,
                basis=rows[0]["basis"],
            )
        )
    return tuple(found)


def surface_tensions(wt_pct: Mapping[str, float]) -> tuple[SurfaceTension, ...]:
    """Give the surface tension of a glaze by each set, Kucuk 1999 first.

    Parameters
    ----------
    wt_pct : mapping of str to float
        Fired oxides, weight per cent, to 100.
    """
    mol_pct = mole_pct(wt_pct)
    return tuple(_tension(each, wt_pct if each.per_weight else mol_pct) for each in _sets())


def _tension(each: _Set, parts: Mapping[str, float]) -> SurfaceTension:
    missing = {oxide: pct for oxide, pct in parts.items() if oxide not in each.factors and pct > 0.0}
    if math.fsum(missing.values()) > UNCOVERED_LIMIT_PCT:
        names = ", ".join(f"{oxide} {pct:.1f} %" for oxide, pct in missing.items() if pct >= 0.05)
        note = f"not computable: the set has no figure for {names}"
        return SurfaceTension(each.name, None, each.temperature_c, note, each.basis)
    scale = 0.01 if each.per_fraction else 1.0
    total = each.constant + scale * math.fsum(
        factor * parts.get(oxide, 0.0) for oxide, factor in each.factors.items()
    )
    note = "left out, no figure: " + ", ".join(missing) if missing else ""
    return SurfaceTension(each.name, total, each.temperature_c, note, each.basis)
