"""Limits of outlines drawn by a person."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["DrawnSettings"]


@dataclass(frozen=True, slots=True)
class DrawnSettings:
    """Outlines drawn by a person."""

    frame_slack_px: float = 2.0
    """An outline nearer than this to the frame, photo pixels, is of a piece the frame cuts: no finger or
    mouse hits closer."""
    outside_px: float = 1.0
    """How far a corner may lie outside the photo, pixels: what rounding from a shrunken picture brings."""
    least_area_px: float = 64.0
    """Smallest area enclosed, square photo pixels: 8 by 8, the smallest view that is straightened."""
