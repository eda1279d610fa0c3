"""Thresholds of reading gloss."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["GlossSettings"]


@dataclass(frozen=True, slots=True)
class GlossSettings:
    """Gloss proxy and finish."""

    least_pixels: int = 400
    """Fewer glazed pixels than this at working size say nothing about gloss."""
    long_side_px: int = 384
    """Long side at which reflections are looked at, pixels: a window on a tile is still tens of pixels."""
    most_spreads: float = 4.0
    """Cues farther than this from the training renders' mean, in standard deviations, are held there."""
    least_probability: float = 0.8
    """A finish is stated from this chance on: of the tuning renders that mirror a lamp 42 in 100 get one so,
    84 in 100 of those rightly; from 0.65, 61 and 75. Nearly all of them are gloss: satin and matt, known by
    their roughness within a factor of 1.7, stay too unsure."""
    least_reflection: float = 0.35
    """A proxy is stated from this chance on that a lamp or window is mirrored in view, and a finish too; both
    bounds together decline three in four of the training renders that mirror none."""
    proxy_middle: float = 0.3
    """Roughness of the renderer that gives a proxy of one half: the middle of satin."""
    proxy_steepness: float = 2.5
    """Change of the proxy's log odds for a factor of e in roughness."""
