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
