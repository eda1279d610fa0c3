"""Thresholds of reading gloss."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["GlossSettings"]


@dataclass(frozen=True, slots=True)
class GlossSettings:
    """Gloss proxy and finish."""

    least_pixels: int = 200
    """Fewer glazed pixels than this at working size say nothing about gloss."""
    long_side_px: int = 400
    """Long side at which reflections are looked at, pixels: a window on a tile is still tens of pixels."""
    darkest: float = 0.01
    """Least linear luminance a highlight is compared to: blackest glazes reflect about 1 %."""
    highlight_share: float = 0.5
    """A highlight is above this share of the way from the median to the brightest hundredth."""
    full_lightness: float = 98.5
    """L* above which the sensor counts as full."""
    least_contrast: float = 0.12
    """Under this highlight contrast, nothing in view tells gloss from matt."""
    least_clipped: float = 0.002
    """Unless this fraction of the face is full."""
    weight_offset: float = -3.2
    """Weights of the cues in the proxy, logistic scale; to be fitted on training renders."""
    weight_contrast: float = 1.6
    """Of log(1 + contrast)."""
    weight_sharpness: float = 3.0
    """Of edge sharpness."""
    weight_skew: float = 0.35
    """Of skewness."""
    weight_clipped: float = 1.2
    """Of the share of the face where the sensor is full."""
    most_clipped: float = 0.02
    """A larger full share tells nothing more."""
    matt_below: float = 0.35
    """Proxy below which matt is likelier than satin."""
    gloss_above: float = 0.65
    """Proxy above which gloss is likelier than satin."""
    class_softness: float = 0.08
    """Width of the change from one class to the next, proxy units."""
