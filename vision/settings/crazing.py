"""Thresholds of the craze net."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["CrazingSettings"]


@dataclass(frozen=True, slots=True)
class CrazingSettings:
    """The craze net."""

    working_megapixels: float = 1.6
    """Resolution the ridge filter works at, megapixels: bounds the time; lines stay 1 to 3 pixels wide."""
    most_blur_px: float = 2.5
    """Blur standard deviation that hides a hairline, pixels (a 1 px line loses 80 % of its contrast)."""
    coarsest_mm_per_px: float = 0.3
    """Coarsest scale at which absence is stated, mm per pixel: a 0.06 mm line is a fifth of a pixel."""
    sigmas_px: tuple[float, ...] = (1.0, 1.8)
    """Standard deviations of the ridge filter, pixels: lines of 1 to 5 pixels."""
    strong_mads: float = 6.0
    """Ridge response that starts a line, robust standard deviations of the response."""
    weak_mads: float = 2.8
    """Ridge response that continues a line, robust standard deviations of the response."""
    weak_lightness: float = 0.35
    """Least ridge response that continues a line, L* per sigma: below it lies JPEG noise."""
    shortest_px: int = 14
    """Shortest line kept, pixels of the working resolution."""
    least_probability: float = 0.5
    """Probability from which a net is called present."""
