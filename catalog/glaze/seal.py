"""When a coat seals over, and how much gas its materials have still to give after that.

The sealing temperature is where the powder has sintered shut by viscous flow: the sum of
tension x time / (viscosity x grain radius) over the heating reaches 1 (Frenkel 1945; Mackenzie & Shuttleworth
1949, as recalled). It takes the coat for a powder of the finished glass, which a raw coat is not until it
has melted, so it is an estimate with its doubt told, and "not computable" outside the viscosity models.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from catalog.glaze.errors import BatchError
from catalog.glaze.formula import Formula
from catalog.glaze.gas import GAS_CONSTANT_L_ATM, gas_above_pct, gas_steps
from catalog.glaze.surface_tension import surface_tensions
from catalog.glaze.viscosity import viscosity_answers
from catalog.glaze.viscosity_curve import ViscosityAnswer, ViscosityCurve
from catalog.package_data import read_rows

__all__ = [
    "DRY_COAT_G_PER_ML",
    "GasLeft",
    "GasOfCoat",
    "SealEstimate",
    "coat_g_per_cm2",
    "gas_ml_per_cm2",
    "gas_of_coat",
    "seal_estimate",
]

GRAIN_RADIUS_UM = 5.0
"""Grain radius that counts for sealing: a glaze ground and sieved as usual (our choice, order of size)."""

GRAIN_FACTOR = 3.0
"""The grain radius may be this much smaller or larger (our choice)."""

USUAL_TENSION_MN_PER_M = 320.0
"""Taken where no surface tension is computable; silicate melts have 250 to 400 (handbooks, recalled)."""

DRY_COAT_G_PER_ML = 1.33
"""Bulk density of a dry coat: one measured coat went from 0.41 to 0.20 mm (johnsankey.ca/ptips), a fired
glass has about 2.45 g/mL and a coat loses about a tenth: 2.45 x 0.20 / 0.41 / 0.9 (our working)."""

_STEP_C = 1.0
_ZERO_C_IN_K = 273.15


@dataclass(frozen=True, slots=True)
class SealEstimate:
    """When a coat seals.

    Attributes
    ----------
    temperature_c : float or None
        None when not computable.
    low_c, high_c : float or None
        With grains smaller and larger, and by each viscosity model that holds with its error.
    method : str
        Viscosity model of the estimate; "" when there is none.
    reason : str
        Why there is no estimate; "" when there is one.
    """

    temperature_c: float | None
    low_c: float | None
    high_c: float | None
    method: str
    reason: str


@dataclass(frozen=True, slots=True)
class GasLeft:
    """Gas still to come above a temperature.

    Attributes
    ----------
    above_c : float
    g_per_100_g : float
        Of raw batch.
    ml_per_cm2 : float or None
        Out of the stated coat, at that temperature and one atmosphere; None when no coat was stated.
    """

    above_c: float
    g_per_100_g: float
    ml_per_cm2: float | None


@dataclass(frozen=True, slots=True)
class GasOfCoat:
    """The gas of a coat above 850 and 1050 C, and after it has sealed.

    Attributes
    ----------
    left : tuple of GasLeft
        Above 850 and 1050 C.
    seal : SealEstimate
    after_seal : GasLeft or None
        None when the sealing temperature is not computable.
    comes_after_seal : str
        "yes", "no", "within the doubt" (it depends on where in the range it seals) or "not computable".
    """

    left: tuple[GasLeft, ...]
    seal: SealEstimate
    after_seal: GasLeft | None
    comes_after_seal: str


def coat_g_per_cm2(dry_mm: float, dry_g_per_ml: float = DRY_COAT_G_PER_ML) -> float:
    """Give the weight of a dry coat from its thickness.

    Raises
    ------
    BatchError
        A figure is not above zero.
    """
    if not (0.0 < dry_mm < math.inf and 0.0 < dry_g_per_ml < math.inf):
        raise BatchError(f"coat {dry_mm!r} mm of {dry_g_per_ml!r} g/mL; wanted: both above zero")
    return dry_mm / 10.0 * dry_g_per_ml


@cache
def _g_per_mol() -> Mapping[str, float]:
    return {row["gas"]: float(row["g_per_mol"]) for row in read_rows("catalog.glaze", "gas_molar.csv")}


def gas_ml_per_cm2(
    formula: Formula, above_c: float, coat_g_per_cm2: float, *, reduction: bool = False
) -> float:
    """Give the gas a coat has still to give above a temperature, as volume at that temperature.

    Parameters
    ----------
    formula : Formula
    above_c : float
        Degrees Celsius.
    coat_g_per_cm2 : float
        Dry raw coat.
    reduction : bool
        As in `gas.gas_steps`.

    Returns
    -------
    float
        Millilitres a square centimetre, at one atmosphere. Mixed gases are counted as
        `data/gas_molar.csv` says.
    """
    molar = _g_per_mol()
    moles_per_g = math.fsum(
        share.batch_wt_pct / 100.0 * step.left_pct(above_c) / 100.0 / molar[step.gas]
        for share in formula.shares
        for step in gas_steps(share.material, reduction=reduction)
    )
    litres = moles_per_g * coat_g_per_cm2 * GAS_CONSTANT_L_ATM * (above_c + _ZERO_C_IN_K)
    return 1000.0 * litres


def seal_estimate(
    answers: tuple[ViscosityAnswer, ...],
    *,
    rate_c_per_h: float = 150.0,
    tension_mn_per_m: float | None = None,
    grain_radius_um: float = GRAIN_RADIUS_UM,
) -> SealEstimate:
    """Estimate the temperature at which a coat has sintered shut while it is heated.

    Parameters
    ----------
    answers : tuple of ViscosityAnswer
        From `viscosity.viscosity_answers`; the first that reaches the viscosity of sealing gives the figure.
    rate_c_per_h : float
        Heating rate, above zero.
    tension_mn_per_m : float or None
        Surface tension; None takes `USUAL_TENSION_MN_PER_M`.
    grain_radius_um : float

    Raises
    ------
    ValueError
        Rate, tension or radius is not above zero.
    """
    tension = USUAL_TENSION_MN_PER_M if tension_mn_per_m is None else tension_mn_per_m
    if not (0.0 < rate_c_per_h < math.inf and 0.0 < grain_radius_um < math.inf and 0.0 < tension < math.inf):
        raise ValueError(f"{rate_c_per_h=}, {grain_radius_um=}, {tension_mn_per_m=}; wanted: above zero")
    # speed of sealing in 1/s is tension / (viscosity x radius); log10 of the factor before 1/viscosity, per C
    log_per_c = math.log10(tension * 1e-3 / (grain_radius_um * 1e-6) * 3600.0 / rate_c_per_h)
    reasons = []
    found: list[tuple[float, str]] = []
    bounds: list[float] = []
    for answer in answers:
        if answer.curve is None:
            reasons.append(f"{answer.method}: {answer.reason}")
            continue
        middle = _sealed_at(answer.curve, log_per_c)
        if middle is None:
            reasons.append(f"{answer.method}: its range of viscosity does not reach the sealing of a coat")
            continue
        found.append((middle, answer.method))
        doubt = 2.0 * (answer.curve.log_doubt(middle) or 0.0) + math.log10(GRAIN_FACTOR)
        for shift in (-doubt, doubt):
            bounds.append(_sealed_at(answer.curve, log_per_c + shift) or middle)
    if not found:
        return SealEstimate(None, None, None, "", "not computable. " + ". ".join(reasons))
    temperature, method = found[0]
    return SealEstimate(temperature, min(bounds), max(bounds), method, "")


def _sealed_at(curve: ViscosityCurve, log_per_c: float) -> float | None:
    """Temperature where the sum reaches 1; None when it does so outside the curve's range."""
    start = curve.temperature_c(curve.log_high)
    end = curve.temperature_c(curve.log_low)
    if start is None or end is None:
        return None
    total, temperature = 0.0, start
    while temperature < end:
        middle = temperature + _STEP_C / 2.0
        log_eta = curve.log_eta(middle)
        if log_eta is None:
            return None
        step = 10.0 ** (log_per_c - log_eta) * _STEP_C
        if total + step >= 1.0:
            sealed = temperature + _STEP_C * (1.0 - total) / step
            return sealed if total > 0.0 else None
        total += step
        temperature += _STEP_C
    return None


def gas_of_coat(
    formula: Formula,
    *,
    coat_g_per_cm2: float | None = None,
    rate_c_per_h: float = 150.0,
    reduction: bool = False,
) -> GasOfCoat:
    """Give the gas above 850 and 1050 C and after sealing, and say whether any comes after sealing.

    Parameters
    ----------
    formula : Formula
    coat_g_per_cm2 : float or None
        Dry raw coat; None leaves the volumes None.
    rate_c_per_h : float
        Heating rate.
    reduction : bool

    Raises
    ------
    BatchError
        The coat is not above zero.
    ValueError
        The rate is not above zero.
    """
    if coat_g_per_cm2 is not None and not 0.0 < coat_g_per_cm2 < math.inf:
        raise BatchError(f"dry coat {coat_g_per_cm2!r} g/cm2; wanted: above zero")

    def left(above_c: float) -> GasLeft:
        volume = (
            None
            if coat_g_per_cm2 is None
            else gas_ml_per_cm2(formula, above_c, coat_g_per_cm2, reduction=reduction)
        )
        return GasLeft(above_c, gas_above_pct(formula, above_c, reduction=reduction), volume)

    tension = next(
        (each.mn_per_m for each in surface_tensions(formula.wt_pct) if each.mn_per_m is not None), None
    )
    seal = seal_estimate(
        viscosity_answers(formula.wt_pct), rate_c_per_h=rate_c_per_h, tension_mn_per_m=tension
    )
    chosen = (left(850.0), left(1050.0))
    if seal.temperature_c is None or seal.low_c is None or seal.high_c is None:
        return GasOfCoat(chosen, seal, None, "not computable")
    early, late = left(seal.low_c).g_per_100_g, left(seal.high_c).g_per_100_g
    comes = "no" if early <= 0.0 else "yes" if late > 0.0 else "within the doubt"
    return GasOfCoat(chosen, seal, left(seal.temperature_c), comes)
