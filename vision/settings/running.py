"""Thresholds of runs below the glaze line and of glaze pooled above it."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["RunningSettings"]


@dataclass(frozen=True, slots=True)
class RunningSettings:
    """Runs and pooling at the glaze line."""

    foot_depth_share: float = 0.03
    """Depth of the strip at a side that must be bare for a foot, share of the piece's height."""
    foot_along: float = 0.6
    """Share of that strip's length that is bare clay at least."""
    side_clear_mm: float = 2.0
    """Left out at the ends of the glaze line: the tile's edges."""
    widest_run_mm: float = 12.0
    """What is wider at its root than this is the line's own wave, not a run (common practice, no source)."""
    least_run_mm: float = 0.8
    """Shortest run told."""
    least_slender: float = 0.3
    """A run is at least this many times as long as it is wide half-way: a dipped line waves, but gently."""
    line_doubt_mm: float = 0.35
    """Doubt of where the glaze line lies."""
    pool_band_mm: tuple[float, float] = (0.8, 3.0)
    """Strip above the glaze line in which run glaze gathers; its first part is the line's own thin margin."""
    pool_field_mm: tuple[float, float] = (8.0, 16.0)
    """The field it is set against."""
    pool_doubt: tuple[float, float, float] = (2.5, 1.0, 1.5)
    """Doubt of the difference of L*, a*, b* between two neighbouring places beyond their own scatter."""
    least_pixels: int = 60
    """Fewer clear pixels than this are no place to take a colour at."""
    strips: int = 6
    """Strips along the line in which pooled glaze is set against the field."""
