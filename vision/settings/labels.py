"""Thresholds of reading labels."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["LabelSettings"]


@dataclass(frozen=True, slots=True)
class LabelSettings:
    """Printed labels."""

    long_side_px: int = 4200
    """Long side at which QR codes are looked for, pixels: a 12 MP photo as it is, larger ones shrunken."""
    enlarge_below_px: int = 2600
    """Photos up to this long side are also read at twice their size."""
    most_distance: float = 0.8
    """A label farther from a piece than this share of the piece's diagonal belongs to none."""
    quiet_share: float = 0.3
    """Paper round a code that is kept out of the search for pieces, share of the code's side."""
    strip_share: float = 2.2
    """Length of strip right of a code that is kept out as well, share of the code's side."""
