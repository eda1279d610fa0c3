"""The rate process behind a cone: an Arrhenius rate, and its integral over straight heating.

A cone bends as a process whose rate grows with temperature as exp(-E / R T). It has reached its end point
when the integral of the rate over time is 1. Over heating at a constant rate the integral has a closed
form, T exp(-x) (1 - x exp(x) E1(x)) with x = E / R T and E1 the exponential integral (Abramowitz & Stegun
5.1), so no step size enters.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

__all__ = ["GAS_CONSTANT_KJ", "ZERO_C_IN_K", "FloatArray", "end_point_c", "log_ramp_integral", "rate_per_h"]

FloatArray: TypeAlias = NDArray[np.float64]

GAS_CONSTANT_KJ = 8.314462618e-3
"""Molar gas constant in kJ / (mol K) (CODATA 2018)."""

ZERO_C_IN_K = 273.15

_FRACTION_TERMS = 8
"""Terms of the continued fraction of exp(x) E1(x); from x = 17 on its error is below 1e-12. The softest
cone stays above 17 up to 1500 °C (a test checks both)."""

_NEWTON_STEPS = 20


def _tail(x: FloatArray) -> FloatArray:
    """Give 1 - x exp(x) E1(x) by the continued fraction of E1 (Abramowitz & Stegun 5.1.22), for x from 17."""
    bottom = x + 2.0 * _FRACTION_TERMS + 1.0
    for k in range(_FRACTION_TERMS, 0, -1):
        bottom = x + 2.0 * k - 1.0 - k * k / bottom
    return 1.0 - x / bottom


def log_ramp_integral(activation_kj: FloatArray, temperature_k: FloatArray) -> FloatArray:
    """Give the natural log of the integral of exp(-E / R T) dT from 0 K to a temperature.

    Parameters
    ----------
    activation_kj : array of float
        E in kJ/mol.
    temperature_k : array of float
        Upper end in kelvin; E / R T must be 17 or more. Arrays broadcast.

    Returns
    -------
    array of float
        Log of kelvin.
    """
    x = activation_kj / (GAS_CONSTANT_KJ * temperature_k)
    return np.log(temperature_k) - x + np.log(_tail(x))


def rate_per_h(log_a_per_h: FloatArray, activation_kj: FloatArray, temperature_k: FloatArray) -> FloatArray:
    """Give the rate of the process, in end points an hour, at a temperature in kelvin."""
    return np.exp(log_a_per_h - activation_kj / (GAS_CONSTANT_KJ * temperature_k))


def end_point_c(log_a_per_h: float, activation_kj: float, rate_c_per_h: float) -> float:
    """Give the temperature at which a cone reaches its end point when heated at a constant rate.

    Parameters
    ----------
    log_a_per_h : float
        Natural log of the rate constant, per hour.
    activation_kj : float
        kJ/mol.
    rate_c_per_h : float
        Above zero.

    Returns
    -------
    float
        Degrees Celsius.
    """
    energy = np.asarray(activation_kj, dtype=np.float64)
    wanted = float(np.log(rate_c_per_h)) - log_a_per_h
    t = np.asarray(activation_kj / GAS_CONSTANT_KJ / 65.0, dtype=np.float64)
    for _ in range(_NEWTON_STEPS):
        log_integral = log_ramp_integral(energy, t)
        slope = np.exp(-energy / (GAS_CONSTANT_KJ * t) - log_integral)
        step = float((log_integral - wanted) / slope)
        t = t - max(-0.3 * float(t), min(0.3 * float(t), step))
        if abs(step) < 1e-9:
            break
    return float(t) - ZERO_C_IN_K
