"""Viscosity by Lakatos, Johansson and Simmingskold 1976: soda-lime glasses and their kin.

Temperatures at 10^2, 10^4 and 10^6 poise (10, 1000 and 100 000 Pa s) from parts by weight on 100 parts of
SiO2. Coefficients in `data/viscosity.csv`, range of the glasses in `data/viscosity_limits.csv`. Standard
errors 4.6, 3.3 and 3.1 C as published.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from catalog.glaze.model_limits import outside_limits
from catalog.glaze.viscosity_curve import ViscosityAnswer, curve_through
from catalog.package_data import read_rows

__all__ = ["METHOD", "lakatos_isokoms_c", "lakatos_viscosity"]

METHOD = "Lakatos 1976"

STANDARD_ERROR_C = 4.63
"""The largest of the three published ones (4.63, 3.34, 3.14 C)."""

_LOG_POISE_OF_1_PA_S = 1.0


@cache
def _coefficients() -> Mapping[float, Mapping[str, float]]:
    found: dict[float, dict[str, float]] = {}
    for row in read_rows("catalog.glaze", "viscosity.csv"):
        if row["model"] == METHOD:
            level = float(row["output"].rsplit(" ", 1)[1])
            found.setdefault(level, {})[row["term"]] = float(row["coefficient"])
    return found


def lakatos_isokoms_c(wt_pct: Mapping[str, float]) -> dict[float, float]:
    """Give the model's temperatures, whatever the composition.

    Parameters
    ----------
    wt_pct : mapping of str to float
        Weight per cent; only ratios to SiO2 count.

    Returns
    -------
    dict of float to float
        Degrees Celsius by log10 viscosity in Pa s: 1, 3, 5.
    """
    parts = {oxide: 100.0 * pct / wt_pct["SiO2"] for oxide, pct in wt_pct.items()}
    parts["B2O3^2"] = parts.get("B2O3", 0.0) ** 2
    return {
        level - _LOG_POISE_OF_1_PA_S: terms["constant"]
        + sum(factor * parts.get(term, 0.0) for term, factor in terms.items() if term != "constant")
        for level, terms in _coefficients().items()
    }


def lakatos_viscosity(wt_pct: Mapping[str, float]) -> ViscosityAnswer:
    """Give the curve of a glass inside the range of the model's own glasses, or say what lies outside it.

    Parameters
    ----------
    wt_pct : mapping of str to float
        Weight per cent, to 100.
    """
    outside = outside_limits(METHOD, "all", wt_pct)
    if outside:
        return ViscosityAnswer(METHOD, None, "outside its glasses: " + "; ".join(outside))
    return curve_through(METHOD, lakatos_isokoms_c(wt_pct), doubt_c=STANDARD_ERROR_C)
