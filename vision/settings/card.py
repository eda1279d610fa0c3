"""Thresholds of finding the reference card."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["CardSettings"]


@dataclass(frozen=True, slots=True)
class CardSettings:
    """Finding the reference card."""

    detect_long_side_px: tuple[int, ...] = (1000, 2000)
    """Long sides of the reduced pictures in which markers are looked for, pixels, tried in turn until a
    whole card is found. An 18 mm marker has 2.5 px modules there in photos 1.2 m, then 2.4 m wide."""
    first_quad_side_fraction: float = 0.01
    """Smallest marker side looked for, fraction of the picture's long side (10 px of 1000)."""
    threshold_windows_px: tuple[int, int] = (5, 23)
    """The two windows, pixels of the reduced picture, against whose mean a pixel is called ink or paper:
    the small one for small markers, the large one where blur or a wide module fills the small one."""
    smallest_picture_px: int = 24
    """Shortest side of a picture worth searching, pixels: one marker and its margin."""
    edge_samples: int = 24
    """Places along each side of a marker where its edge is measured."""
    edge_reach: float = 0.1
    """How far to either side of the rough edge the true one is looked for, fraction of the marker's side.
    Must stay under one module (1/6), or the code inside is taken for the edge."""
    neighbour_tolerance: float = 1.5
    """How far from its predicted place another marker of the card may lie, marker sides; generous, since
    one marker foretells a place six sides away, and the fit afterwards decides."""
    reprojection_limit: tuple[float, float, float] = (0.012, 0.024, 0.035)
    """Largest root mean square distance of marker corners from a flat card, fraction of a marker's side, with
    2, 3 and 4 markers: the fewer, the more freely the fit bends to them. Paper that lifts 2 mm under a phone
    at 35 cm moves a corner by about 0.6 mm of 18. Foreign sheets on the open photos fit to 0.035 with 2."""
    reprojection_floor_px: float = 0.8
    """The same, but never stricter than this many pixels (corner noise of a blurred photo)."""
    ramp_likeness: float = 0.85
    """Least correlation of the greys' brightness with the better ramp's when markers are hidden: other
    makers' sheets carry the same markers, and a scale taken from one would be wrong."""
    ramp_likeness_whole: float = 0.5
    """The same when all four markers agree, which alone is strong evidence; the ramp may lie under a tile."""
    least_greys: int = 4
    """Fewest grey patches of a ramp in view for that comparison; with fewer, all markers must be seen."""
    anisotropy_limit: float = 2.2
    """Largest ratio of the two scales at the card's centre: 2 is a tilt of 60 degrees, 2.2 one of 63."""
    scale_ratio_limit: float = 3.0
    """Largest ratio of scale between two corners of the card; beyond it the pose is impossible by hand."""
    sample_px_per_mm: float = 4.0
    """Resolution at which grey patches are sampled, pixels per millimetre; 40 px across a patch is plenty."""
    patch_inset: float = 0.22
    """Part of each patch next to its edges that is left out, fraction of its side: blur, pose error."""
    clipped_high: int = 252
    """8-bit code from which a channel counts as clipped; JPEG ringing moves 255 by up to 3."""
    clipped_low: int = 2
    """8-bit code up to which a channel counts as lost in black."""
    clipped_share: float = 0.02
    """A patch with a larger share of clipped pixels than this is called clipped."""
