"""Thresholds of crawling."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["CrawlingSettings"]


@dataclass(frozen=True, slots=True)
class CrawlingSettings:
    """Bare patches inside the glaze."""

    smallest_spot_mm2: float = 0.8
    """Smallest bare patch counted, mm² (crawling from 1 mm across; common practice, no source)."""
    smallest_spot_fraction: float = 4e-4
    """The same where the photo carries no scale, fraction of the glazed face."""
    smallest_spot_px: float = 12.0
    """Smallest patch judged, pixels of the working size: fewer carry no colour of their own."""
    working_side_px: float = 560.0
    """Longest side at which patches are looked for, pixels; 1 mm on a 100 mm tile is 5 of them."""
    colours: int = 3
    """Colours a piece is parted into when patches are looked for: clay, glaze, thin or thick glaze."""
    most_patches: int = 40
    """Largest patches of each colour that are judged: bounds the time on mottled glazes."""
    largest_share: float = 0.8
    """A patch larger than this share of the piece is its ground, not a patch."""
    foot_band: float = 0.04
    """Depth of the band along a side in which a bare foot is looked for, fraction of the piece."""
    foot_px: int = 60
    """A foot of this many working pixels tells the clay's colour, and patches of it are looked for."""
    foot_along: float = 0.3
    """Share of a side that must be bare for it to be a foot, where drips may cover the rest."""
    least_clay_step: float = 8.0
    """Clay and glaze no farther apart than this, CIELAB, cannot be told apart by the foot's colour."""
    least_probability: float = 0.5
    """Probability from which crawling is called present."""
