"""Absorption and open porosity from weighings dry, soaked and hung in water (the quantities of ASTM C373)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite
from statistics import fmean, stdev

from catalog.body.errors import MeasurementError

__all__ = ["Absorption", "Weighing", "absorption_of"]


@dataclass(frozen=True, slots=True)
class Weighing:
    """One unglazed piece: dry, soaked (after boiling) and, where weighed, hung in water; grams."""

    dry_g: float
    soaked_g: float
    hung_g: float | None = None


@dataclass(frozen=True, slots=True)
class Absorption:
    """Absorption of a fired clay.

    Attributes
    ----------
    pct : float
        Water taken up, per cent of the dry weight.
    spread_pct : float or None
        Standard deviation over pieces; None from one.
    pieces : int
    open_porosity_pct : float or None
        Open pores, per cent of the outer volume; None where no piece was weighed in water.
    bulk_density_g_per_ml : float or None
    """

    pct: float
    spread_pct: float | None
    pieces: int
    open_porosity_pct: float | None
    bulk_density_g_per_ml: float | None


def absorption_of(weighings: Sequence[Weighing]) -> Absorption:
    """Give absorption from weighings.

    Parameters
    ----------
    weighings : sequence of Weighing
        ASTM C373 asks for five pieces of 50 g or more, dried at 150 °C, boiled 5 h and soaked 24 h; a plain
        soak takes up less.

    Raises
    ------
    MeasurementError
        None at all, a weight that is not above zero, or weights out of order (hung < dry <= soaked).
    """
    if not weighings:
        raise MeasurementError("absorption", "nothing was weighed; wanted: one piece dry and soaked")
    taken, porosity, density = [], [], []
    for piece in weighings:
        if not all(isfinite(v) and v > 0.0 for v in (piece.dry_g, piece.soaked_g)):
            raise MeasurementError("absorption", "a weight is not above zero; wanted: grams")
        if piece.soaked_g < piece.dry_g:
            raise MeasurementError(
                "absorption", f"soaked {piece.soaked_g:g} g is less than dry {piece.dry_g:g} g"
            )
        water = piece.soaked_g - piece.dry_g
        taken.append(100.0 * water / piece.dry_g)
        if piece.hung_g is None:
            continue
        if not 0.0 < piece.hung_g < piece.dry_g:
            raise MeasurementError(
                "absorption", f"hung in water {piece.hung_g:g} g is not below dry {piece.dry_g:g} g"
            )
        # one gram of water is one millilitre, as the method takes it
        volume = piece.soaked_g - piece.hung_g
        porosity.append(100.0 * water / volume)
        density.append(piece.dry_g / volume)
    return Absorption(
        pct=fmean(taken),
        spread_pct=stdev(taken) if len(taken) > 1 else None,
        pieces=len(taken),
        open_porosity_pct=fmean(porosity) if porosity else None,
        bulk_density_g_per_ml=fmean(density) if density else None,
    )
