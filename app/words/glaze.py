"""What a recipe does in the fire, as plain sentences; numbers stand in tables under them."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from app.words.choices import degrees, number

if TYPE_CHECKING:
    from catalog.glaze.melt import Melt
    from catalog.glaze.report import FormulaReport
    from catalog.glaze.seal import SealEstimate

__all__ = ["gas_sentence", "melt_sentence", "oxide_words", "oxides_in_words", "seal_words"]

_AFTER_LETTER = re.compile(r"(?<=[A-Z][a-z])\d|(?<=[A-Z])\d")
_SUBSCRIPTS = str.maketrans("0123456789", "₀₁₂₃₄₅₆₇₈₉")


def oxide_words(oxide: str) -> str:
    """Give an oxide with its small figures."""
    return oxide.translate(_SUBSCRIPTS)


def oxides_in_words(text: str) -> str:
    """Give a sentence with the small figures of its oxides: Fe2O3 becomes Fe₂O₃, 8.6 stays."""
    return _AFTER_LETTER.sub(lambda found: found.group().translate(_SUBSCRIPTS), text)


def seal_words(seal: SealEstimate) -> str:
    """Say about when a coat seals."""
    if seal.temperature_c is None or seal.low_c is None or seal.high_c is None:
        return "at a temperature that is not computable"
    return f"near {degrees(seal.temperature_c)} (between {degrees(seal.low_c)} and {degrees(seal.high_c)})"


def gas_sentence(report: FormulaReport) -> str:
    """Say how much gas comes late, and whether it has to come through a sealed coat."""
    late = report.gas_above_850_c_pct
    if late <= 0.0:
        return f"No gas is known to leave these materials above {degrees(850)}."
    words = f"Above {degrees(850)} each 100 g of dry glaze still gives off {number(late, 1)} g of gas"
    hot = report.gas_above_1050_c_pct
    much = f"{number(hot, 1)} g of it" if hot > 0.0 else "none of it"
    words += f", {much} above {degrees(1050)}"
    gas = report.melt.gas
    if gas.seal.temperature_c is None or gas.after_seal is None:
        return f"{words}. When the coat seals over is not computable."
    match gas.comes_after_seal:
        case "yes":
            volume = gas.after_seal.ml_per_cm2
            much = "" if volume is None else f", {number(volume, 1)} ml hot from each cm² of coat"
            return (
                f"{words}. The coat seals {seal_words(gas.seal)}, "
                f"so {number(gas.after_seal.g_per_100_g, 1)} g{much} must still come up through the melt."
            )
        case "no":
            return f"{words}. It is gone before the coat seals {seal_words(gas.seal)}."
        case _:
            return f"{words}. The coat seals {seal_words(gas.seal)}: some gas may be caught under it."


def melt_sentence(melt: Melt) -> str:
    """Say when the melt is as thin as glass is worked at, by each model that holds; or that none does."""
    reached = [
        (answer.method, at)
        for answer in melt.viscosity
        if answer.curve is not None and (at := answer.curve.temperature_c(3.0)) is not None
    ]
    if not reached:
        return "How it flows is not computable: it lies outside every published viscosity model."
    told = " and ".join(f"{degrees(at)} by {method}" for method, at in reached)
    words = f"It is as thin as a glassblower’s gather (1 000 Pa·s) at {told}."
    if len(reached) > 1:
        words += " The models differ; a flow test decides."
    return words
