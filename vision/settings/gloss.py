"""Thresholds of reading gloss."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["GlossSettings"]


@dataclass(frozen=True, slots=True)
class GlossSettings:
    """Gloss proxy and finish."""

    least_pixels: int = 400
    """Fewer glazed pixels than this at the working size of `vision.gloss_net` say nothing."""
    least_probability: float = 0.82
    """A finish is stated from this chance on: of the tuning renders that mirror a lamp 41 in 100 get one so,
    92 in 100 of those rightly; from 0.6, 51 and 90, but then 31 in 100 of those that mirror none get one, not
    11. Nearly all are gloss: satin and matt, known by roughness within a factor of 1.8, stay unsure."""
    least_reflection: float = 0.5
    """A finish is stated from this chance on that a lamp or window is mirrored in view."""
    least_for_proxy: float = 0.45
    """A proxy is stated from this chance on: it tells its own doubt by lying near the middle."""
    proxy_middle: float = 0.3
    """Roughness of the renderer that gives a proxy of one half: the middle of satin."""
    proxy_steepness: float = 2.5
    """Change of the proxy's log odds for a factor of e in roughness."""
