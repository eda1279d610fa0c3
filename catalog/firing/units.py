"""Degrees Fahrenheit in, degrees Celsius kept."""

from __future__ import annotations

from collections.abc import Iterable

from catalog.records import Segment

__all__ = ["c_of_f", "f_of_c", "segments_from_f", "segments_in_f"]


def c_of_f(temperature_f: float) -> float:
    """Give a temperature in °C, exact by definition: (F - 32) / 1.8."""
    return (temperature_f - 32.0) / 1.8


def f_of_c(temperature_c: float) -> float:
    """Give a temperature in °F."""
    return temperature_c * 1.8 + 32.0


def segments_from_f(segments: Iterable[Segment]) -> tuple[Segment, ...]:
    """Take segments whose rates are in °F/h and targets in °F; gives them in °C/h and °C."""
    return tuple(Segment(s.rate_c_per_h / 1.8, c_of_f(s.target_c), s.hold_min) for s in segments)


def segments_in_f(segments: Iterable[Segment]) -> tuple[Segment, ...]:
    """Give segments with rates in °F/h and targets in °F, for a table shown so; never kept."""
    return tuple(Segment(s.rate_c_per_h * 1.8, f_of_c(s.target_c), s.hold_min) for s in segments)
