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
    chart_doubt: tuple[float, float, float] = (3.6, 1.8, 2.8)
    """Doubt of L*, a*, b* with a chart beyond its residual: light differs between chart and tile. A standard
    deviation; twice it holds some 95 in 100 of the tiles of training renders (29 with a chart)."""
    card_doubt: tuple[float, float, float] = (4.6, 2.6, 4.7)
    """The same with a home-printed card: greys only, paper and ink not neutral (123 tiles)."""
    taught_doubt: tuple[float, float, float] = (4.2, 2.2, 3.5)
    """The same with a card whose true colours were taught: between chart and card, since light still differs
    between card and tile and greys do not show a phone's error in colours."""
    no_card_doubt: tuple[float, float, float] = (16.0, 5.0, 7.0)
    """The same for a phone's automatic exposure and white balance, nothing corrected (273 faces): a phone
    makes a dark tile light and a light one grey."""
    veil_doubt: tuple[float, float, float] = (0.016, 0.003, 0.011)
    """Doubt of mirrored light, linear, white paper 1: of its brightness, and of its balance as a* and b* feel
    it. In CIELAB it counts the more, the darker the glaze; same tiles, in three bands of lightness."""
    residual_share: float = 0.7
    """Share of the patches' mean CIEDE2000 that goes to each coordinate."""
    spread_share: float = 0.25
    """Share of the face's own spread that goes into the doubt of its centre."""
    veil: tuple[float, float, float] = (0.008, 0.013, 0.035)
    """Linear light mirrored by gloss, satin and matt glaze beside any reflection in view, white paper 1. A
    surface gives back 4 % (Fresnel, index 1.5, straight on): gloss that of a room a quarter as light as the
    paper, matt that of all around it, lamps included. Fitted, rounded, on 152 tiles of training renders."""
    veil_unknown: float = 0.012
    """The same where the finish is unknown."""
    veil_least_light: float = 0.003
    """No channel is taken below this linear light."""
