"""How much gas a recipe has still to give at a temperature.

Each material's gas comes from `data/gas_table.csv` (its rows are named in `data/gas_rows.csv`), or, where
that table has none, from its loss on ignition over its own range. Within a row's range the gas is taken to
leave evenly with temperature; real rates depend on heating rate, grain size and atmosphere, so the figure
ranks recipes and does not predict bubbles. Most ranges are recalled handbook values.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache

from catalog.glaze.formula import Formula
from catalog.glaze.materials import Material, find_material
from catalog.glaze.oxides import molar_mass_g
from catalog.package_data import read_rows

__all__ = ["GasStep", "gas_above_pct", "gas_steps", "gas_volume_l"]

GAS_CONSTANT_L_ATM = 0.0820574
"""Molar gas constant in L atm / (mol K) (CODATA, rounded)."""

_ZERO_C_IN_K = 273.15


@dataclass(frozen=True, slots=True)
class GasStep:
    """Gas that a material gives off between two temperatures, weight per cent of the material."""

    gas: str
    wt_pct: float
    start_c: float
    end_c: float
    basis: str

    def left_pct(self, temperature_c: float) -> float:
        """Give the gas still to come at a temperature, weight per cent of the material."""
        left = (self.end_c - temperature_c) / (self.end_c - self.start_c)
        return self.wt_pct * min(1.0, max(0.0, left))


@cache
def _table_steps() -> Mapping[tuple[str, str], tuple[GasStep, ...]]:
    rows = {row["material_or_step"]: row for row in read_rows("catalog.glaze", "gas_table.csv")}
    found: dict[tuple[str, str], list[GasStep]] = defaultdict(list)
    for link in read_rows("catalog.glaze", "gas_rows.csv"):
        row = rows[link["gas_row"]]
        step = GasStep(
            gas=row["gas"],
            wt_pct=float(row["wt_pct_of_material"]),
            start_c=float(row["start_C"]),
            end_c=float(row["end_C"]),
            basis=row["basis"],
        )
        found[link["material"], link["atmosphere"]].append(step)
    return {key: tuple(steps) for key, steps in found.items()}


def gas_steps(material: Material, *, reduction: bool = False) -> tuple[GasStep, ...]:
    """Give the gas steps of a material; empty when it gives none or no range is known for it.

    Parameters
    ----------
    material : Material
    reduction : bool
        True for a reducing firing: iron then gives its oxygen earlier and more of it.
    """
    if material.gas_like:
        return _steps_like(material, find_material(material.gas_like), reduction=reduction)
    table = _table_steps()
    steps = (
        *table.get((material.name, "any"), ()),
        *table.get((material.name, "reduction" if reduction else "oxidation"), ()),
    )
    if steps or material.loi_wt_pct <= 0.0 or material.gas_low_c is None or material.gas_high_c is None:
        return steps
    gases = "+".join(name for name, pct in material.gases_wt_pct.items() if pct > 0.0)
    return (GasStep(gases, material.loi_wt_pct, material.gas_low_c, material.gas_high_c, material.basis),)


def _steps_like(material: Material, like: Material, *, reduction: bool) -> tuple[GasStep, ...]:
    """Take the temperatures of another material's gas, and the amount of this one's loss."""
    steps = gas_steps(like, reduction=reduction)
    total = sum(step.wt_pct for step in steps)
    if total <= 0.0 or material.loi_wt_pct <= 0.0:
        return ()
    share = material.loi_wt_pct / total
    return tuple(replace(step, wt_pct=step.wt_pct * share) for step in steps)


def gas_above_pct(formula: Formula, temperature_c: float, *, reduction: bool = False) -> float:
    """Give the gas a recipe has still to give off above a temperature.

    Parameters
    ----------
    formula : Formula
    temperature_c : float
        Degrees Celsius.
    reduction : bool
        As in `gas_steps`.

    Returns
    -------
    float
        Grams in 100 g of raw batch.
    """
    return sum(
        share.batch_wt_pct * step.left_pct(temperature_c) / 100.0
        for share in formula.shares
        for step in gas_steps(share.material, reduction=reduction)
    )


def gas_volume_l(grams: float, gas: str, temperature_c: float) -> float:
    """Give the volume of a gas at one atmosphere, by the ideal gas law.

    Parameters
    ----------
    grams : float
    gas : str
        Formula, such as "CO2".
    temperature_c : float
        Degrees Celsius.

    Returns
    -------
    float
        Litres.
    """
    return grams / molar_mass_g(gas) * GAS_CONSTANT_L_ATM * (temperature_c + _ZERO_C_IN_K)
