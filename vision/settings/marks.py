"""Thresholds of finding marks."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["MarkSettings"]


@dataclass(frozen=True, slots=True)
class MarkSettings:
    """Pinholes, blisters, craters and specks."""

    smallest_px: float = 5.0
    """Smallest mark diameter told apart, pixels: common practice, no source."""
    smallest_blurs: float = 3.0
    """Smallest mark diameter in blur standard deviations: a blurred dot of that size has lost its rim."""
    largest_fraction: float = 0.2
    """Largest mark diameter, fraction of the surface's shorter side: a larger patch is not one mark."""
    response_mads: float = 3.0
    """Height from which a filter's peak is looked at, robust standard deviations; low, the screen decides."""
    response_lightness: float = 0.5
    """Least height of a peak, L* units: below it lies JPEG noise."""
    most_peaks: int = 3000
    """Peaks looked at for each filter and size, highest first: bounds the time on textured surfaces."""
    screen_odds: float = -5.0
    """Log odds of the screen below which a peak gets no close look; keeps 99 % of the marks of renders."""
    most_candidates: int = 600
    """Candidates that get a close look, likeliest first: bounds the time on textured surfaces."""
    least_seen: float = 0.2
    """Chance of a mark, as the net gives it, from which a place is weighed at all."""
    vote_reach: float = 0.5
    """Candidates whose centres lie within this many radii of a mark's vote on its kind."""
    vote_size: float = 1.5
    """Factor of size up to which a candidate stands for the same mark."""
    least_probability: float = 0.45
    """A mark is reported when its kinds together are this likely; chosen on held-out training renders."""
    company_weight: float = 0.9
    """Power of a kind's share among the other marks of a piece; 1 would take them for wholly independent. By
    held-out training renders and drawn tiles of one or two kinds."""
    company_unknown: float = 1.0
    """Marks of no known kind that every piece is taken to have besides those seen."""
    company_rounds: int = 2
    """Times that shares and kinds are worked out from each other."""
    most_glint: float = 0.7
    """Share of a mark that may lie under a reflection: what lies under one wholly is the reflection itself.
    Of true blisters on held-out training renders one in a hundred does, of drawn lamps' spots nearly all."""
