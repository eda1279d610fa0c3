"""Viscosity by Giordano, Russell and Dingwell 2008: natural melts rich in alumina, without boron.

Iron counts as FeO. No lithium, boron, zinc, strontium, barium or lead: glazes with more than a trace of
them lie outside. Coefficients in `data/viscosity.csv`; the range of the data is recalled from the paper.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cache

from catalog.glaze.model_limits import outside_limits
from catalog.glaze.viscosity_curve import ViscosityAnswer, ViscosityCurve
from catalog.package_data import read_rows

__all__ = ["METHOD", "giordano_curve", "giordano_viscosity"]

METHOD = "Giordano 2008"

RMS_LOG = 0.40
"""Root mean square error over its data, log10 Pa s, as recalled from the paper's abstract."""

LOG_LOW, LOG_HIGH = -1.0, 14.0
"""Range of log10 viscosity (Pa s) of its data, as recalled from the paper."""

_ZERO_C_IN_K = 273.15


@cache
def _coefficients() -> Mapping[str, Mapping[str, float]]:
    found: dict[str, dict[str, float]] = {}
    for row in read_rows("catalog.glaze", "viscosity.csv"):
        if row["model"] == METHOD:
            found.setdefault(row["output"], {})[row["term"]] = float(row["coefficient"])
    return found


def giordano_curve(mol_pct: Mapping[str, float]) -> ViscosityCurve:
    """Give the model's curve, whatever the composition.

    Parameters
    ----------
    mol_pct : mapping of str to float
        Mole per cent, to 100, iron as FeO; water as H2O and fluorine as F2O where a melt holds them.
    """
    get = mol_pct.get
    silica, titania, alumina = get("SiO2", 0.0), get("TiO2", 0.0), get("Al2O3", 0.0)
    iron, manganese, magnesia, lime = get("FeO", 0.0), get("MnO", 0.0), get("MgO", 0.0), get("CaO", 0.0)
    soda, potash, phosphorus = get("Na2O", 0.0), get("K2O", 0.0), get("P2O5", 0.0)
    water = get("H2O", 0.0)
    volatile = water + get("F2O", 0.0)
    iron_group = iron + manganese + magnesia
    of_b = {
        "SiO2+TiO2": silica + titania,
        "Al2O3": alumina,
        "FeOt+MnO+P2O5": iron + manganese + phosphorus,
        "MgO": magnesia,
        "CaO": lime,
        "Na2O+V": soda + volatile,
        "V+ln(1+H2O)": volatile + math.log(1.0 + water),
        "(SiO2+TiO2)*(FeOt+MnO+MgO)": (silica + titania) * iron_group,
        "(SiO2+TiO2+Al2O3+P2O5)*(Na2O+K2O+H2O)": (silica + titania + alumina + phosphorus)
        * (soda + potash + water),
        "Al2O3*(Na2O+K2O)": alumina * (soda + potash),
    }
    of_c = {
        "SiO2": silica,
        "TiO2+Al2O3": titania + alumina,
        "FeOt+MnO+MgO": iron_group,
        "CaO": lime,
        "Na2O+K2O": soda + potash,
        "ln(1+V)": math.log(1.0 + volatile),
        "(Al2O3+FeOt+MnO+MgO+CaO-P2O5)*(Na2O+K2O+V)": (alumina + iron_group + lime - phosphorus)
        * (soda + potash + volatile),
    }
    table = _coefficients()
    b = sum(factor * of_b[term] for term, factor in table["B"].items())
    c = sum(factor * of_c[term] for term, factor in table["C"].items())
    return ViscosityCurve(
        METHOD, table["A"]["constant"], b, c - _ZERO_C_IN_K, LOG_LOW, LOG_HIGH, doubt_log=RMS_LOG
    )


def giordano_viscosity(wt_pct: Mapping[str, float], mol_pct: Mapping[str, float]) -> ViscosityAnswer:
    """Give the curve of a melt inside the range of the model's data, or say what lies outside it.

    Parameters
    ----------
    wt_pct, mol_pct : mapping of str to float
        Weight and mole per cent of one glaze, to 100, iron as Fe2O3.
    """
    outside = outside_limits(METHOD, "all", wt_pct)
    if outside:
        return ViscosityAnswer(METHOD, None, "outside its melts: " + "; ".join(outside))
    moles = dict(mol_pct)
    moles["FeO"] = 2.0 * moles.pop("Fe2O3", 0.0)
    total = math.fsum(moles.values())
    curve = giordano_curve({oxide: 100.0 * count / total for oxide, count in moles.items()})
    if curve.b <= 0.0:
        return ViscosityAnswer(METHOD, None, "its curve does not fall with temperature here")
    return ViscosityAnswer(METHOD, curve, "")
