"""Thresholds of finding the colour chart."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["ChartSettings"]


@dataclass(frozen=True, slots=True)
class ChartSettings:
    """Finding the 24-patch colour chart."""

    search_long_sides_px: tuple[int, ...] = (1000, 2000)
    """Long sides of the reduced pictures searched, pixels; the second only where the first shows a grid."""
    edge_levels: tuple[int, ...] = (7, 12, 20, 32)
    """Local contrast (8-bit CIELAB codes, 3 x 3 px) above which a pixel is edge, tried in turn: from a dark
    patch on its black frame to patches on a noisy, sharp photo."""
    patch_side_px: tuple[float, float] = (6.0, 180.0)
    """Smallest and largest patch side in the reduced picture, pixels: charts from 5 % of the frame to all."""
    patch_fill: float = 0.80
    """Least share of its turned rectangle that a patch must fill; JPEG and blur nibble at corners."""
    patch_aspect: float = 2.2
    """Largest ratio of a patch's sides: a square patch tilted by 60 degrees has 2."""
    neighbour_reach: tuple[float, float] = (0.85, 2.1)
    """Distance of a neighbouring patch, patch sides. Real charts have 1.0 to 1.5; edges eat up to a third."""
    neighbour_sideways: float = 0.4
    """How far a neighbour may lie off the patch's axis, patch sides."""
    neighbour_area_ratio: float = 2.2
    """Largest ratio of area between neighbours."""
    least_patches: int = 7
    """Fewest patches that must join into a grid before its colours are looked at."""
    grid_fit: float = 0.16
    """Largest distance of a patch from its place in the fitted grid, grid steps."""
    least_inliers: int = 9
    """Fewest patches of the 24 that must be seen as patches where the accepted grid puts them."""
    sample_reach: float = 0.22
    """Half side of the sampled square about each patch's centre, grid steps; patches are 0.6 to 0.95 wide."""
    accept_delta_e_00: float = 7.0
    """Largest mean CIEDE2000 left by a linear fit for the grid to be called a chart. Right grids on the open
    phone photos leave 1 to 5; the best wrong placement leaves 25 or more."""
    odd_patch_delta_e_00: float = 15.0
    """A patch that a fit to the others misses by more than this is odd: a hand, a sticker or glare."""
    most_odd: int = 2
    """Most odd patches that are left out before the grid is refused."""
    grey_chroma_limit: float = 7.0
    """Largest mean chroma left in the five lighter greys after the fit. True charts on the open phone photos
    leave 0.3 to 2 (4.7 under water and glass), a look-alike with blue greys 9.9."""
    placements_judged: int = 4
    """Placements, best first by a rough measure, whose colours are judged by CIEDE2000."""
    accept_margin: float = 0.7
    """The right placement must leave less than this share of what the best other placement leaves."""
    patch_spread_limit: float = 0.25
    """Largest median relative spread of brightness inside patches: they are plain paint, not pictures."""
