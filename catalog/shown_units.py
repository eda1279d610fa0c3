"""SI figures in the units a reader likes; never kept."""

from __future__ import annotations

from catalog.firing.units import c_of_f, f_of_c

__all__ = [
    "MM_PER_INCH",
    "c_difference_of_shown",
    "c_of_shown",
    "mm_of_shown",
    "shown_c",
    "shown_c_difference",
    "shown_mm",
]

MM_PER_INCH = 25.4
"""Exact by definition (international yard and pound agreement, 1959)."""


def shown_c(temperature_c: float, unit: str) -> float:
    """Give a temperature in "C" or "F"."""
    return f_of_c(temperature_c) if unit == "F" else temperature_c


def shown_c_difference(difference_c: float, unit: str) -> float:
    """Give a difference or a rate of temperatures in "C" or "F": a degree is 1.8 of the other."""
    return difference_c * 1.8 if unit == "F" else difference_c


def c_of_shown(temperature: float, unit: str) -> float:
    """Give °C of a temperature typed in "C" or "F"."""
    return c_of_f(temperature) if unit == "F" else temperature


def c_difference_of_shown(difference: float, unit: str) -> float:
    """Give °C of a difference or a rate typed in "C" or "F"."""
    return difference / 1.8 if unit == "F" else difference


def shown_mm(length_mm: float, unit: str) -> float:
    """Give a length in "mm" or "in"."""
    return length_mm / MM_PER_INCH if unit == "in" else length_mm


def mm_of_shown(length: float, unit: str) -> float:
    """Give millimetres of a length typed in "mm" or "in"."""
    return length * MM_PER_INCH if unit == "in" else length
