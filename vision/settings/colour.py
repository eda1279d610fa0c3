"""Thresholds of reading glaze and body colour."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["ColourSettings"]


@dataclass(frozen=True, slots=True)
class ColourSettings:
    """Colour of the glazed face."""

    edge_fraction: float = 0.008
    """Width left out along the edges of the glaze, fraction of the view: breaking edges, blur."""
    kept_share: float = 0.8
    """Share of pixels nearest the centre kept in the trimmed mean."""
    sample_pixels: int = 20000
    """Pixels looked at; the colour of 20 000 has a standard error far under the correction's own doubt."""
    least_pixels: int = 60
    """Fewer clear pixels than this give no colour."""
    least_body_fraction: float = 0.004
    """Less bare clay than this fraction of the piece is not measured."""
    palette_most: int = 6
    """Most colours in a palette."""
    palette_least: int = 3
    """Fewest colours in a palette."""
    palette_gap: float = 4.0
    """Colours nearer than this in CIELAB are told as one, down to the fewest."""
    chart_doubt: tuple[float, float, float] = (3.0, 2.0, 3.0)
    """Doubt of L*, a*, b* with a chart beyond its residual: light differs between chart and tile."""
    card_doubt: tuple[float, float, float] = (5.0, 3.0, 4.5)
    """The same with a home-printed card: greys only, paper and ink not neutral; two thirds of 36 tiles of
    training renders were nearer than this."""
    no_card_doubt: tuple[float, float, float] = (8.0, 5.0, 7.0)
    """The same for a phone's automatic exposure and white balance, nothing corrected."""
    residual_share: float = 0.7
    """Share of the patches' mean CIEDE2000 that goes to each coordinate."""
    spread_share: float = 0.25
    """Share of the face's own spread that goes into the doubt of its centre."""
    veil: float = 0.010
    """Linear light mirrored by a glaze's surface beside a window's reflection, white paper 1: 4 % (Fresnel,
    index 1.5, straight on) of a room a quarter as light as the paper. Lowest median error on training renders
    between 0.008 and 0.012."""
    veil_least_light: float = 0.003
    """No channel is taken below this linear light."""
