"""A viscosity curve with the range it holds for, and a model's answer: a curve, or why there is none."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

__all__ = ["ViscosityAnswer", "ViscosityCurve", "curve_through"]


@dataclass(frozen=True, slots=True)
class ViscosityCurve:
    """log10 of viscosity in Pa s as a + b / (T - t0), with T in degrees Celsius (Vogel, Fulcher, Tammann).

    Attributes
    ----------
    method : str
        Model and year.
    a, b, t0_c : float
    log_low, log_high : float
        Range of log10 viscosity (Pa s) the model was made for; silent outside.
    doubt_c : float or None
        Standard error of a temperature at given viscosity, as published.
    doubt_log : float or None
        Standard error of log10 viscosity at given temperature, where the model's authors give that instead.
    """

    method: str
    a: float
    b: float
    t0_c: float
    log_low: float
    log_high: float
    doubt_c: float | None = None
    doubt_log: float | None = None

    def log_eta(self, temperature_c: float) -> float | None:
        """Give log10 viscosity in Pa s; None where the model was not made for it.

        Parameters
        ----------
        temperature_c : float
            Degrees Celsius.
        """
        if temperature_c <= self.t0_c:
            return None
        value = self.a + self.b / (temperature_c - self.t0_c)
        margin = 1e-9
        return value if self.log_low - margin <= value <= self.log_high + margin else None

    def temperature_c(self, log_eta: float) -> float | None:
        """Give the temperature at a log10 viscosity in Pa s; None where the model was not made for it."""
        if not self.log_low <= log_eta <= self.log_high or log_eta <= self.a:
            return None
        return self.t0_c + self.b / (log_eta - self.a)

    def log_doubt(self, temperature_c: float) -> float | None:
        """Give the standard error of log10 viscosity at a temperature; None where it is not known."""
        if self.doubt_log is not None:
            return self.doubt_log
        if self.doubt_c is None or temperature_c <= self.t0_c:
            return None
        return self.doubt_c * self.b / (temperature_c - self.t0_c) ** 2


@dataclass(frozen=True, slots=True)
class ViscosityAnswer:
    """What a model says of a glaze.

    Attributes
    ----------
    method : str
        Model and year; "none" when every model is outside.
    curve : ViscosityCurve or None
        None when the glaze lies outside the model.
    reason : str
        Why there is no curve; "" when there is one.
    isokoms_c : mapping of float to float
        Temperatures the model gives directly, by log10 viscosity in Pa s.
    """

    method: str
    curve: ViscosityCurve | None
    reason: str
    isokoms_c: Mapping[float, float] = field(default_factory=dict)


def curve_through(
    method: str, isokoms_c: Mapping[float, float], *, doubt_c: float | None = None
) -> ViscosityAnswer:
    """Lay a curve through three temperatures at three viscosities.

    Parameters
    ----------
    method : str
    isokoms_c : mapping of float to float
        Three temperatures by log10 viscosity in Pa s.
    doubt_c : float or None
        As in `ViscosityCurve`.

    Returns
    -------
    ViscosityAnswer
        Without a curve where no falling one goes through the three.
    """
    (l1, t1), (l2, t2), (l3, t3) = sorted(isokoms_c.items())
    if not t1 > t2 > t3:
        return ViscosityAnswer(method, None, "its temperatures do not fall as the glass stiffens", isokoms_c)
    ratio = (l1 - l2) / (l2 - l3) * (t3 - t2) / (t2 - t1)
    t0 = (ratio * t1 - t3) / (ratio - 1.0) if ratio != 1.0 else t3
    if t0 >= t3:
        return ViscosityAnswer(method, None, "no curve of the usual form goes through its three", isokoms_c)
    b = (l3 - l1) / (1.0 / (t3 - t0) - 1.0 / (t1 - t0))
    a = l1 - b / (t1 - t0)
    return ViscosityAnswer(
        method, ViscosityCurve(method, a, b, t0, l1, l3, doubt_c=doubt_c), "", dict(sorted(isokoms_c.items()))
    )
