"""Thresholds of reading two photos of the same tiles, lit from two sides."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["TwoLampSettings"]


@dataclass(frozen=True, slots=True)
class TwoLampSettings:
    """Laying the second photo over the first, and what is made of the difference."""

    match_long_side_px: int = 1000
    """Long side at which points of both photos are matched, pixels."""
    most_points: int = 1500
    """Points looked for in each photo."""
    match_ratio: float = 0.8
    """A match counts when it is this much nearer than the next best (Lowe 2004, from memory)."""
    ransac_px: float = 3.0
    """Points this near to where the first guess puts them agree with it, pixels at matching size."""
    least_agreeing: int = 12
    """Fewer agreeing points than this give no first guess."""
    refine_long_side_px: int = 640
    """Long side at which a piece is laid over its other photo to a fraction of a pixel."""
    refine_steps: int = 60
    """Most steps of that."""
    refine_gain: float = 1e-5
    """It ends when a step brings the correlation up by less."""
    border: float = 0.05
    """Share of a piece's size looked at round it: its rim holds when its glaze is plain."""
    rim_px: float = 2.0
    """How far outside its outline a piece is compared, pixels at refining size."""
    worth_refining: float = 0.1
    """Rise of the correlation from which a piece is believed to lie elsewhere than the whole photos say:
    holes and rims are dark on the side away from the lamp, and so seem to move with it by a pixel or so."""
    alike_enough: float = 0.85
    """A first guess this good is kept as it is."""
    still_share: float = 0.0012
    """The camera stood still when no corner of the frame moved by more than this share of its long side."""
    worth_bending: float = 0.03
    """Rise of the correlation from which a turn and a stretch are believed beside a shift."""
    inner_share: float = 0.07
    """Share of a piece's long side left out at its rim when its face alone is compared."""
    inner_reach_px: float = 8.0
    """How far the face may put a corner elsewhere than the rim does, pixels at refining size."""
    detail_px: float = 1.5
    """Blur before slopes are taken, pixels at refining size."""
    least_alike: float = 0.35
    """Correlation of slope pictures under which the two photos do not show the same piece."""
    proposed_share: float = 0.45
    """Share of a piece's blocks alike from which a pair is proposed to a person, who decides."""
    proposed_light: float = 0.03
    """Least spread of the log ratio of broad light over a piece for that; one light leaves less."""
    least_seen: float = 0.8
    """Share of a piece that the second photo must show."""
    most_hue_apart: float = 20.0
    """Distance in a*, b* from which a face is another glaze: a lamp's own colour makes less."""
    most_shift: float = 0.25
    """A piece may lie this share of its long side elsewhere than the first guess says, no more."""
    slow_share: float = 0.12
    """Light is evened between the photos by what changes over this share of the piece's long side."""
    moved_rise: float = 0.14
    """Natural log of light by which one photo must outshine the other for a reflection that moved."""
    least_slope: float = 0.05
    """Natural log of light, from rim to rim, by which the two lamps must differ for their side to be seen;
    under it the first lamp is taken to be on the photo's left."""
    least_mark_probability: float = 0.7
    """A mark is reported from this chance on that there is one: more places are asked than in one photo, and
    the best of many flatters. On the tuning pairs marks are placed with precision 0.91 and recall 0.94, at
    0.5 with 0.87 and 0.96."""
    finish_weight: float = 1.0
    """How much two judgements of the finish count together, against one."""
