"""What a glaze does in the fire, gathered: viscosity, surface tension, sealing, late gas, and their facts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from catalog.glaze.fit import Fit
from catalog.glaze.formula import Formula
from catalog.glaze.seal import GasLeft, GasOfCoat, gas_of_coat
from catalog.glaze.surface_tension import SurfaceTension, surface_tensions
from catalog.glaze.viscosity import log_spread, viscosity_answers
from catalog.glaze.viscosity_curve import ViscosityAnswer

__all__ = ["Melt", "melt_facts", "melt_of"]

_SHOWN_AT_C: tuple[float, ...] = tuple(float(t) for t in range(700, 1351, 50))
"""Temperatures at which viscosity is listed."""


@dataclass(frozen=True, slots=True)
class Melt:
    """The melt of a recipe by every model; each is silent outside its own ground."""

    viscosity: tuple[ViscosityAnswer, ...]
    surface_tension: tuple[SurfaceTension, ...]
    gas: GasOfCoat

    def to_dict(self) -> dict[str, Any]:
        """Give the JSON form; viscosity is log10 Pa s by temperature in C, null outside a model."""
        return {
            "viscosity": {each.method: _viscosity(each) for each in self.viscosity},
            "viscosity_models_differ_log10": {
                f"{t:.0f}": round(spread, 2)
                for t in _SHOWN_AT_C
                if (spread := log_spread(self.viscosity, t)) is not None
            },
            "surface_tension": {
                each.set_name: {
                    "mn_per_m": None if each.mn_per_m is None else round(each.mn_per_m, 1),
                    "temperature_c": each.temperature_c,
                    "note": each.note,
                    "basis": each.basis,
                }
                for each in self.surface_tension
            },
            "sealing": {
                "temperature_c": _whole(self.gas.seal.temperature_c),
                "low_c": _whole(self.gas.seal.low_c),
                "high_c": _whole(self.gas.seal.high_c),
                "method": self.gas.seal.method,
                "reason": self.gas.seal.reason,
            },
            "gas_left": [_gas(left) for left in self.gas.left],
            "gas_after_sealing": None if self.gas.after_seal is None else _gas(self.gas.after_seal),
            "gas_comes_after_sealing": self.gas.comes_after_seal,
        }


def _whole(temperature_c: float | None) -> float | None:
    return None if temperature_c is None else round(temperature_c)


def _viscosity(answer: ViscosityAnswer) -> dict[str, Any]:
    curve = answer.curve
    values = {} if curve is None else {f"{t:.0f}": curve.log_eta(t) for t in _SHOWN_AT_C}
    return {
        "log10_pa_s": {t: None if value is None else round(value, 2) for t, value in values.items()},
        "reason": answer.reason,
    }


def _gas(left: GasLeft) -> dict[str, float | None]:
    volume = left.ml_per_cm2
    return {
        "above_c": round(left.above_c),
        "g_per_100_g": round(left.g_per_100_g, 4),
        "ml_per_cm2": None if volume is None else round(volume, 3),
    }


def melt_of(
    formula: Formula,
    *,
    coat_g_per_cm2: float | None = None,
    rate_c_per_h: float = 150.0,
    reduction: bool = False,
) -> Melt:
    """Ask every model of the melt.

    Parameters
    ----------
    formula : Formula
    coat_g_per_cm2 : float or None
        Dry raw coat; None leaves volumes of gas None.
    rate_c_per_h : float
        Heating rate while the coat seals.
    reduction : bool

    Raises
    ------
    BatchError
        The coat is not above zero.
    ValueError
        The rate is not above zero.
    """
    return Melt(
        viscosity=viscosity_answers(formula.wt_pct),
        surface_tension=surface_tensions(formula.wt_pct),
        gas=gas_of_coat(
            formula, coat_g_per_cm2=coat_g_per_cm2, rate_c_per_h=rate_c_per_h, reduction=reduction
        ),
    )


def melt_facts(melt: Melt, fit: Fit | None = None) -> dict[str, float]:
    """Give the facts of the melt and the fit by their names in the vocabulary of facts.

    Parameters
    ----------
    melt : Melt
    fit : Fit or None
        On the body, by one set.

    Returns
    -------
    dict of str to float
        `recipe.early_melt_C` and `recipe.cte_minus_body` (1e-6/K), each left out where it is not
        computable. `recipe.melt` is not among them: the viscosity models differ by more than stiff and fluid
        do, so it is asked, from a flow test.
    """
    facts = {}
    if melt.gas.seal.temperature_c is not None:
        facts["recipe.early_melt_C"] = melt.gas.seal.temperature_c
    if fit is not None and fit.verdict != "not computable" and fit.difference_per_k is not None:
        facts["recipe.cte_minus_body"] = fit.difference_per_k * 1e6
    return facts
