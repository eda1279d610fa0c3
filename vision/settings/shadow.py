"""Thresholds of a shadow cast across a piece."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["ShadowSettings"]


@dataclass(frozen=True, slots=True)
class ShadowSettings:
    """A shadow that lies on a piece and on the table beside it."""

    long_side_px: int = 240
    """Longest side of the picture it is looked for in, table included."""
    margin_share: float = 0.16
    """Table taken in round the piece, share of its longer side."""
    least_step: float = 0.25
    """Least difference of log luminance between light and shade: a fifth darker."""
    most_step: float = 1.75
    """Most: a cast shadow keeps at least 18 % of the light indoors (as `TileSettings.deepest_shadow`)."""
    least_share: float = 0.06
    """Least share of the piece on either side of the shadow's edge."""
    table_band: tuple[float, float] = (0.04, 0.1)
    """Band of table beside the piece, shares of the picture's side: past the piece's own shadow."""
    least_table_px: int = 60
    """Fewer pixels of table beside either side tell nothing."""
    step_alike: float = 0.4
    """How far the step on the table may differ from that on the piece, share of it."""
