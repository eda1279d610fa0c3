"""Thresholds of colours by place: gradient, edges, thick and thin places, opacity over a stripe."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["FaceSettings"]


@dataclass(frozen=True, slots=True)
class FaceSettings:
    """Colours by place on a glazed face, measured on a reduced picture of it."""

    long_side_px: int = 480
    """Longest side of the reduced picture: a 90 mm tile keeps five pixels to the millimetre."""
    usual_width_mm: float = 50.0
    """Short side a tile is taken to have where the photo has no scale, so that bands still have a width."""
    edge_band_mm: tuple[float, float] = (0.4, 1.6)
    """Band along the tile's edge in which a glaze breaks; its first 0.4 mm are the outline's error."""
    edge_field_mm: tuple[float, float] = (3.5, 9.0)
    """The field an edge is set against lies beside it, so that light and gradient are shared."""
    line_clear_mm: float = 1.2
    """Left out beside bare clay: the glaze line's own thin margin."""
    least_place_px: int = 40
    """Fewer clear pixels than this are no place to take a colour at."""
    edge_light_doubt: tuple[float, float, float] = (4.5, 2.0, 2.5)
    """Doubt of an edge's L*, a*, b* against its field: a rounded edge faces another part of the room."""
    gradient_strips: int = 5
    """Strips side by side in which the gradient is measured apart; their scatter is its doubt."""
    gradient_steps: int = 24
    """Steps from top to bottom in each strip."""
    gradient_least_steps: int = 8
    """Fewer steps with clear glaze in a strip give no slope."""
    gradient_light_doubt: tuple[float, float, float] = (3.5, 1.2, 2.5)
    """Doubt of the change of L*, a*, b* over the glazed height: light that falls off, or a
    lamp of another colour at one end, looks alike (16 tiles of tuning renders)."""
    pool_share: float = 0.12
    """The lowest glaze: this share of the glazed height, above the strip left out at the glaze line."""
    place_doubt: tuple[float, float, float] = (2.5, 1.0, 1.5)
    """Doubt of the difference between two places of one face beyond their own scatter."""
    stripe_least_mm: float = 1.5
    """Narrowest stripe looked for."""
    stripe_most_mm: float = 16.0
    """Widest stripe looked for."""
    stripe_least_dip: float = 2.2
    """Least drop of L* under both sides that is taken for a stripe."""
    stripe_strips: int = 10
    """Strips across which a stripe must show."""
    stripe_least_strips: float = 0.8
    """Share of the strips that must show half the drop: a stripe crosses the whole face."""
    stripe_most_slope: float = 0.1
    """Steepest stripe looked for, rise over run (six degrees)."""
    stripe_alone: float = 0.55
    """A second drop elsewhere of more than this share of the first is a pattern, not a stripe."""
    stripe_edge_share: float = 0.3
    """Widest edge of a stripe, from a quarter to three quarters of its drop, as a share of its width: the
    dark between two reflections has softer ones."""
    stripe_edge_px: float = 3.0
    """But not less than this, pixels of the reduced picture: blur."""
    stripe_margin_share: float = 0.06
    """No stripe is looked for in this share of the height at either end: edges and glaze line lie there."""
    stripe_core: float = 0.5
    """Inner share of a stripe's width that is measured: its edges are blurred."""
    stripe_beside: tuple[float, float] = (0.8, 1.8)
    """Light ground beside it: from and to, in stripe widths from its middle."""
    opacity_tone_doubt: tuple[float, float, float] = (0.05, 0.08, 0.15)
    """Doubt of the phone's tone curve as doubt of the exponent of the ratio: chart, card, neither."""
    opacity_least_doubt: float = 0.01
    """Doubt of a ratio that nothing else explains: one code in a hundred."""
    hiding_ratio: float = 0.98
    """Contrast ratio taken as complete hiding (ASTM D2805 and ISO 6504-3 as commonly used; from memory)."""
