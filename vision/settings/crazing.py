"""Thresholds of the craze net."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["CrazingSettings"]


@dataclass(frozen=True, slots=True)
class CrazingSettings:
    """The craze net."""

    working_megapixels: float = 0.8
    """Resolution lines are looked for at, megapixels: bounds the time; lines stay 1 to 3 pixels wide."""
    most_blur_px: float = 2.5
    """Blur standard deviation that hides a hairline, pixels (a 1 px line loses 80 % of its contrast)."""
    coarsest_mm_per_px: float = 0.3
    """Coarsest scale at which absence is stated, mm per pixel: a 0.06 mm line is a fifth of a pixel."""
    least_domain_px: int = 2000
    """Glaze in view under which no line is looked for, pixels of the working resolution."""
    strong_chance: float = 0.6
    """Chance of a line, by the net, that starts one; chosen on held-out training renders."""
    weak_chance: float = 0.3
    """Chance of a line that continues one; chosen on held-out training renders."""
    shortest_px: int = 14
    """Shortest line kept, pixels of the working resolution."""
    least_probability: float = 0.35
    """Probability from which a net is called present: five folds of the tuning renders call no sound piece
    from there, and a third of the faint nets lie between there and one half."""
    absent_below: float = 0.18
    """Absence is stated only where a net has become less likely than it is on any piece (`CRAZED_SHARE` of
    `vision.crazing_fit`): where the photo tells nothing, neither is claimed."""
    usual_width_mm: float = 0.07
    """Width of a usual craze line, mm (common studio observation, no source; the renders' median)."""
    usual_depth_share: float = 0.36
    """Depth of a usual line, share of the glaze's own lightness: six tenths of a line as dark as a stain."""
    fine_px: float = 0.8
    """Standard deviation of the finest detail compared with a line, pixels of the working resolution."""
    pixel_blur_px: float = 0.4
    """Blur of a pixel by itself, standard deviation."""
    least_grain: float = 0.15
    """Grain no less than this, CIELAB lightness: what eight bits and a JPEG file leave."""
    least_visibility: float = 2.5
    """Where a usual line stands out of the grain by less than this, absence is not stated: of the nets on the
    tuning renders one in four is found below it, four in five above."""
    lone_weak_ratio: float = 3.0
    """Least chance of a line that continues a lone one, over the surface's median chance, its grain; this and
    the next four by `vision.lone_lines_fit`: of those within 0.01 of its best F1 the surest
    (F1 0.83, precision 0.98, recall 0.71)."""
    lone_strong_ratio: float = 4.5
    """Least chance that a lone line must reach somewhere, over the same."""
    lone_strong_most: float = 0.97
    """No line need be surer than this."""
    lone_shortest_px: float = 70.0
    """Shortest lone line (diagonal of its box), pixels of the working resolution; grain makes shorter."""
    lone_most_winding: float = 1.8
    """Longest path of a lone line, over the diagonal of its box: what winds more is a web of grain."""
    least_direction_px: int = 150
    """Fewer pixels of line than this have no direction that could be told from chance."""
    direction_smooth_px: float = 2.5
    """Reach over which a line's direction is taken, pixels of the working resolution."""
    cell_gap_share: float = 0.2
    """Gaps in a cell's wall up to this share of its size are closed before cells are counted."""
    least_cell_share: float = 0.3
    """Smaller cells than this share of the size by length of line are crumbs between doubled lines."""
    least_cells: int = 8
    """Fewer whole cells than this have no quartiles."""
    least_closed_share: float = 0.15
    """Whole cells must cover this share of the glaze at least: a torn net has none."""
