"""Viscosity of a molten glaze by published models, each inside its own limits; silence outside.

The models are of glasses and natural melts. They say nothing of crystals, of what has not dissolved yet, or
of the bubbles in a glaze. "Outside every model" is an answer. Two models that both hold may differ by far
more than either's own error on a glaze of alumina, lime and potash (forty times); `log_spread` tells it.
"""

from __future__ import annotations

from collections.abc import Mapping

from catalog.glaze.oxides import mole_pct
from catalog.glaze.viscosity_curve import ViscosityAnswer
from catalog.glaze.viscosity_fluegel import fluegel_viscosity
from catalog.glaze.viscosity_giordano import giordano_viscosity
from catalog.glaze.viscosity_lakatos import lakatos_viscosity

__all__ = ["best_viscosity", "log_spread", "viscosity_answers"]


def viscosity_answers(wt_pct: Mapping[str, float]) -> tuple[ViscosityAnswer, ...]:
    """Ask every model.

    Parameters
    ----------
    wt_pct : mapping of str to float
        Fired oxides, weight per cent of any total.

    Returns
    -------
    tuple of ViscosityAnswer
        One a model, the one with the smallest published error first: Lakatos 1976, Fluegel 2007,
        Giordano 2008.
    """
    total = sum(wt_pct.values())
    hundred = {oxide: 100.0 * pct / total for oxide, pct in wt_pct.items()}
    mol_pct = mole_pct(hundred)
    return (
        lakatos_viscosity(hundred),
        fluegel_viscosity(mol_pct),
        giordano_viscosity(hundred, mol_pct),
    )


def best_viscosity(answers: tuple[ViscosityAnswer, ...], log_eta: float | None = None) -> ViscosityAnswer:
    """Choose the first answer with a curve.

    Parameters
    ----------
    answers : tuple of ViscosityAnswer
        From `viscosity_answers`.
    log_eta : float or None
        A log10 viscosity in Pa s the curve must reach.

    Returns
    -------
    ViscosityAnswer
        With method "none" and every model's reason when there is no such curve.
    """
    reasons = []
    for answer in answers:
        if answer.curve is None:
            reasons.append(f"{answer.method}: {answer.reason}")
        elif log_eta is None or answer.curve.temperature_c(log_eta) is not None:
            return answer
        else:
            low, high = answer.curve.log_low, answer.curve.log_high
            reasons.append(f"{answer.method}: made for 10^{low:g} to 10^{high:g} Pa s only")
    return ViscosityAnswer("none", None, "outside every model. " + ". ".join(reasons))


def log_spread(answers: tuple[ViscosityAnswer, ...], temperature_c: float) -> float | None:
    """Give how far the models that hold differ at a temperature, in log10 of viscosity.

    Returns
    -------
    float or None
        None with fewer than two models to compare.
    """
    values = [
        value
        for answer in answers
        if answer.curve is not None and (value := answer.curve.log_eta(temperature_c)) is not None
    ]
    return max(values) - min(values) if len(values) > 1 else None
