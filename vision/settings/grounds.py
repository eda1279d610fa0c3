"""Thresholds of doubting that what was found is pottery."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["GroundSettings"]


@dataclass(frozen=True, slots=True)
class GroundSettings:
    """What speaks for and against a piece of pottery where nobody said what the photo shows."""

    scene_pieces: int = 3
    """From so many pieces without straight sides, and no card, the photo is taken for a scene; two mugs side
    by side are shown on purpose (our own judgement)."""
    border_grown: float = 1.12
    """A card's or chart's outline grown by this factor runs over what it lies on."""
    border_share: float = 0.75
    """A piece that covers this share of that grown outline is the sheet or board a card or chart lies on. A
    tile pushed against one side covers a third at most."""
    border_points: int = 12
    """Places looked at along each side of that outline."""
    look_side_px: float = 400.0
    """Longest side, pixels, at which a piece is looked at to tell pottery from other things."""
    look_margin: float = 0.12
    """What is taken in round it, share of its longer side."""
    look_spreads: float = 3.0
    """Features farther than this from the renders' mean, in their standard deviations, are held there."""
    cue_side_px: int = 384
    """Long side at which detail is measured, pixels."""
    cue_pixels: int = 400
    """Fewer pixels of a piece than this at that size say nothing."""
    edge_step: float = 4.0
    """Least step of colour across an outline that counts as an edge, CIELAB units."""
    edge_reach: tuple[float, ...] = (0.02, 0.035, 0.05)
    """How far from the outline its two sides are looked at, shares of the piece's side."""
    refuse_close_up_below: float = 0.1
    """Chance of pottery under which a close-up is not read, where nobody said what the photo shows. Of
    pictures left out of the fit it loses none of 88 and refuses 46 in 100 of other things."""
    refuse_outlined_below: float = 0.01
    """The same for outlined pieces. At 0.05 none of 170 was lost in the fit's own check, but one of eight
    rendered pots kept back for testing: what is between this and `doubt_below` is read, and doubted."""
    doubt_below: float = 0.2
    """Chance of pottery under which no faults are named: 3 in 100 close-ups and 2 in 100 pieces of the fit's
    own check, 60 and 70 in 100 of other things."""
