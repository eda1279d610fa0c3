"""Thresholds of finding pieces and parting their surfaces."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["TileSettings"]


@dataclass(frozen=True, slots=True)
class TileSettings:
    """Finding pieces and parting glaze, bare clay and background."""

    net_long_side_px: int = 400
    """Longest side at which the piece net looks at a photo: what it was fitted at."""
    closer_from_px: float = 105.0
    """A piece with a smaller side (root of its area) is looked at again, larger; chosen on the tune split."""
    closer_side_px: float = 130.0
    """Its side then, pixels of the net."""
    closer_margin: float = 0.5
    """What is taken in round it, share of its longer side."""
    closer_alike: float = 0.6
    """Overlap (IoU) of what is found closer with what was found, under which the closer look is not used."""
    closer_reach: float = 0.3
    """How far beyond what was found the closer look may put the border, share of the piece's side."""
    inside_share: float = 0.03
    """Walls enclosed by a face, share of it, from which they are a pot's inside and no hole to fill."""
    bridge_share: float = 0.16
    """Two pieces are joined by no more than this share of their side (root of the area): shadows, glints."""
    bridge_core: float = 0.15
    """What is left of a piece without its bridges is at least this share of the largest."""
    inside_most: float = 3.5
    """A pot that shows this many times more of its inside than of its outside is read by both, or, where its
    outside comes in several parts,"""
    inside_most_of_several: float = 0.5
    """this many times: of the pots of the train and tune splits two do, and show 0.22 times at most."""
    apart_sure: float = 0.7
    """Chance of a face that pieces of one part have and what lies between them has not."""
    joined_notch: float = 0.06
    """A part with a notch this deep, share of its side (root of the area), may be two tiles. On the tune and
    train splits these four find three pairs, and cut no tile in two:"""
    joined_mean: float = 0.6
    """mean chance of a face along the cut,"""
    joined_most: float = 0.9
    """and the most anywhere along it,"""
    joined_half: float = 0.31
    """the least share of the part that a half is,"""
    joined_longest: float = 1.2
    """and the cut's longest length, share of the part's side."""
    sides_straight: float = 0.5
    """Each side of a tile that nearly fills the frame lies on its line for this share of its length."""
    sides_slack_px: float = 4.0
    """And three of them lie at least so far inside the frame, pixels of the net."""
    find_long_side_px: int = 560
    """Long side of the shrunken photo in which pieces are found, pixels; a 20 px tile is still 3 % of it."""
    border_fraction: float = 0.03
    """Width of the frame's border taken for table, fraction of the short side."""
    keep_out_margin: float = 0.006
    """Card, chart and label outlines are grown by this fraction of the long side: edges are no table."""
    table_colours: int = 6
    """Colour clusters that describe a table (wood grain, print, weave)."""
    table_colour_share: float = 0.04
    """A cluster with less than this share of the border is not table (a piece cut by the frame)."""
    table_spread_floor: tuple[float, float, float] = (2.5, 1.4, 1.4)
    """Least spread of a table colour in L*, a*, b*: sensor noise and JPEG blocks."""
    table_spread_most: tuple[float, float, float] = (7.0, 4.0, 4.0)
    """Most spread of one table colour: more is two colours."""
    shading_rounds: int = 4
    """Rounds of trimmed fitting of the table's shading."""
    shadow_weight: float = 0.6
    """A pixel darker than the table counts this much of one lighter: shadows darken, they do not lighten."""
    sure_table_distance: float = 3.0
    """Below this distance (table spreads) a pixel is used to learn the table again."""
    smallest_piece_fraction: float = 0.004
    """Smallest piece, fraction of the frame."""
    most_pieces: int = 24
    """Most pieces looked for in one photo."""
    edge_steps: int = 20
    """Steps looked at on either side of an outline when it is pulled onto its edge."""
    edge_samples: int = 80
    """Places along each side where the edge is looked for."""
    edge_corner_margin: float = 0.07
    """Part of each side next to its corners that is not looked at (rounded corners)."""
    edge_pull: float = 0.25
    """How much a farther edge must be stronger than a near one (share of the full strength at full reach)."""
    outline_points: int = 240
    """Points on a curved outline."""
    snap_stiffness: float = 0.08
    """Cost of each step that a curved outline moves between two neighbouring points."""
    quad_fill: float = 0.9
    """A region that fills this much of its quadrilateral is a four-sided tile."""
    quad_fill_least: float = 0.84
    """A region that fills at least this much of it is one too, where four edges of the photo bear it out:"""
    quad_miss: float = 0.125
    """the mean miss that `vision.sides` expects stays under this; ovals have 0.14 and more."""
    refine_steps: float = 1.6
    """How far an edge may lie from where the piece net puts it, pixels at finding resolution."""
    settle_again: float = 0.025
    """A corner moved by more than this, share of the tile's size: the sides are looked for once more."""
    laid_share: float = 0.3
    """A line with more of a label, card or chart than this just beyond it is that thing's edge. On the tune
    split and the sample photos no tile's own edge has any, 47 labels' edges have 0.3 to 0.8."""
    laid_miss: float = 0.1
    """What is added to the miss expected of such a line."""
    laid_inward: float = 0.05
    """How far inward of such a line the side is looked for, share of the tile's size."""
    settle_most: float = 0.3
    """A corner moved by more than this is nonsense: sides that do not meet."""
    beyond_between: tuple[float, float] = (-0.01, 0.01)
    """How far a side is put inside its edge, or beyond it, share of the tile's size: a round edge's width."""
    farther_miss: float = 0.1
    """A side whose likeliest edge is expected to miss by more (root of the share of the tile's size) is
    looked for farther off too:"""
    farther_steps: tuple[float, ...] = (-0.1, 0.1)
    """so far outward, share of the tile's size,"""
    farther_gain: float = 0.015
    """and moved there where this much less is expected."""
    refine_share: float = 0.008
    """How far a side's edge may lie from where the line found by steps puts it, share of the tile's size."""
    corner_most: float = 0.2
    """Largest radius of a tile's round corners, share of its short side."""
    corner_least: float = 0.055
    """Smallest that can be told from a sharp corner; less takes next to nothing off the face."""
    corner_steps: int = 49
    """Radii tried."""
    corner_across: float = 0.012
    """How far before and behind an edge its two colours are taken, share of the tile's size."""
    corner_change: float = 0.45
    """Change of colour along the arcs against that across the sides, from which they are the tile's edge."""
    oval_slack: float = 0.012
    """How far a point of an oval's outline may lie off it, share of its mean radius times two."""
    oval_share: float = 0.62
    """A curve with at least this share of its points on an oval is it; the rest are shadow and glints."""
    oval_rounds: int = 8
    """Rounds of fitting to the points that lie on the last round's oval."""
    oval_area: float = 0.12
    """Most difference of area between the curve and its oval, share."""
    face_loose: float = 0.25
    """Chance of a face from which a place may belong to a piece; parts of one are less sure than the rest."""
    face_sure: float = 0.6
    """Chance of a face that makes a place sure."""
    face_sure_share: float = 0.3
    """Share of a part that is sure at least."""
    least_support: float = 0.6
    """Mean chance of a face under which a part is no piece; by renders that nothing was fitted to."""
    least_unlike: float = 0.9
    """Difference from the table, in its own spreads, under which a part is table; pieces of renders that
    nothing was fitted to have 1.5 and more."""
    sure_though_alike: float = 0.68
    """Chance of its kind times that of a face, from which a part is a piece however like the table it is; in
    242 photos of the train and tune splits tables had up to 0.56, pieces like their table 0.80 and more."""
    sheet_carries: float = 0.6
    """A part on which more than this share of a card, chart or label lies is what they lie on."""
    sheet_support: float = 0.85
    """A part without sides of its own is paper only under this chance of a face; tiles have 0.9 and more,"""
    sheet_lightness: float = 55.0
    """only where lighter than this, L*,"""
    sheet_chroma: float = 20.0
    """with less chroma (no white balance is known yet),"""
    sheet_share: float = 0.4
    """and where more than this share of the ground round card, chart or labels"""
    sheet_alike: float = 6.0
    """differs in colour by less, L* counted at 0.4."""
    sheet_band: float = 0.02
    """Width of that ground, share of the photo's long side."""
    subject_sure: float = 0.75
    """Chance below which what a piece is counts as guessed."""
    tile_sure: float = 0.9
    """Chance of a tile under which a piece without straight sides, and no card beside it, is taken for ware:
    rendered tiles without straight sides have 0.99, rendered pots at most 0.7."""
    cut_slack: float = 0.06
    """How far off the frame an edge may run and be the frame's, and how rough an edge counts as straight,
    share of the piece's size."""
    cut_slant_deg: float = 30.0
    """What a phone's slant, a tile's turn to the frame and a rough outline may take off an edge's turning."""
    weighed_side_px: int = 120
    """Long side of the small picture in which clay and glaze are told by colour."""
    weighed_sure: float = 0.9
    """Chance of clay, or of glaze, from which a place shows how it looks."""
    weighed_least_px: int = 40
    """Fewer sure places than this say nothing."""
    weighed_delta_e: float = 4.0
    """Difference of two colour distances that weighs as much as odds of e to one."""
    weighed_alike: float = 9.0
    """Clay that differs less from a colour of the glaze is taken for glaze, if other clay differs more."""
    weighed_most: float = 2.5
    """Most that colour weighs, log odds."""
    weighed_net: float = 2.4
    """Most that the piece net weighs, log odds: clear colours outvote it."""
    bare_crumb: float = 0.004
    """Least share of a piece that a part of bare clay, or of glaze, is; smaller ones are the net's noise."""
    view_long_side_px: int = 1800
    """Longest side of a straightened view, pixels; more than a phone resolves on one tile of a board."""
    view_megapixels: float = 2.2
    """Largest straightened view, megapixels: bounds time and memory."""
    rim_fraction: float = 0.13
    """On ware, this fraction of the inscribed radius next to the outline is left out: there the surface of a
    round pot turns more than 60 degrees away (1 - sin 60 = 0.13)."""
    least_aspect: float = 0.12
    """A thinner piece than this (short side over long) is a pencil, a rule, an edge."""
    stray_share: float = 0.12
    """A piece smaller than this share of the photo's largest is a crumb."""
    blur_presmooth_px: float = 0.7
    """Smoothing before slopes are taken, pixels: keeps noise from passing as sharpness."""
    blur_known_px: float = 1.5
    """The known blur added to measure the unknown one, pixels."""
    blur_least_slope: float = 60.0
    """Least Scharr slope of an edge that counts, grey levels (a step of about 4 levels a pixel)."""
    blur_least_edges: int = 30
    """Fewer edges than this say nothing about sharpness."""
    blur_floor_px: float = 0.3
    """No lens and sensor are sharper than this (pixel aperture: 1/sqrt(12) of a pixel)."""
    blur_most_px: float = 8.0
    """More blur than this cannot be told apart."""
    blur_levels: int = 3
    """Resolutions at which blur is looked for, each half the last: noise hides a broad blur at full size."""
    blur_look_coarser_px: float = 1.3
    """More blur than this is measured again at half size."""
    blur_over_noise: float = 4.0
    """An edge's slope over the median slope."""
    blur_strong_percent: float = 50.0
    """Percentile of edges' slopes above which they count: weak edges carry noise."""
    blur_sharp_percent: float = 50.0
    """Percentile of sharpness among the strong edges: thin lines look sharper than edges, shadows softer."""
    blur_of_halving_px: float = 0.5
    """Blur that halving the picture adds, coarse pixels; measured on drawn edges."""
    glint_rise: float = 16.0
    """A reflection lifts L* at least this much above the piece's median."""
    glint_rise_spreads: float = 4.0
    """And at least this many of the piece's own spreads, so that white breaks are no glints."""
    glint_least_lightness: float = 62.0
    """A reflection of a lamp or window is at least this light, L*."""
    glint_white_lightness: float = 98.3
    """Above this L* with little colour the sensor was full."""
    glint_white_chroma: float = 4.0
    """Chroma under which a full sensor's pixel is a reflection."""
    glint_grow_fraction: float = 0.004
    """Glints are grown by this fraction of the view: their skirts tint the colour."""
    blur_unknown_px: float = 1.5
    """Blur assumed where a view has no edge to measure it on, pixels."""
    blurred_px: float = 2.5
    """More blur than this is flagged: a 6 px mark has lost half its contrast."""
    blurred_fraction: float = 0.002
    """But not less than this fraction of the view: a large view can spare more."""
    clipped_code: int = 252
    """8-bit code from which a channel counts as full."""
    clipped_fraction: float = 0.03
    """A larger full fraction of the piece is flagged."""
    dark_code: float = 70.0
    """A photo whose brightest hundredth lies under this 8-bit code is too dark."""
    little_glaze: float = 0.1
    """Less glaze than this fraction of the piece is flagged."""
    least_view_px: int = 120
    """A piece with fewer pixels across than this is too small in the photo."""
    pinhole_mm: float = 0.8
    """Pinholes are mostly smaller than this (common practice, no source): if the smallest mark that can be
    seen is larger, their absence says nothing."""
    table_sectors: int = 24
    """Sectors round the frame's middle in which a table colour's places are counted."""
    table_least_sectors: int = 5
    """A small cluster seen in fewer sectors than this is a piece cut by the frame, not table."""
    table_sure_share: float = 0.2
    """A cluster with more than this share of the border is table wherever it lies."""
    chart_board_share: float = 1.3
    """A chart's board is about this much larger than its field of patches; measured on two makes' photos."""
    deepest_shadow: float = 0.18
    """A cast shadow keeps at least this share of the light indoors: walls and ceiling fill it."""
    shadow_tint: float = 1.5
    """A shadow's tint may be off the table's by this many times the table's spread: it sees another lamp."""
    quad_straight: float = 0.55
    """And each of its sides lies on its line for this share of its length; a bowl's do not."""
    blur_pad: float = 0.06
    """Surroundings taken in when blur is measured, fraction of the piece: its outline is the surest edge."""
    focal_share: float = 0.95
    """Focal length as a share of the long side: phones have 0.72 (main lens) to 1.4 (twice as long)."""
    assumed_thickness_mm: float = 6.0
    """Thickness of a test tile where none is given (common practice, no source: 4 to 9 mm)."""
    thickness_doubt_mm: tuple[float, float] = (0.3, 1.5)
    """Doubt of the thickness: given by a person, and assumed (a third of the usual range's width)."""
    focal_doubt: tuple[float, float] = (0.03, 0.2)
    """Doubt of the focal length as a share: by EXIF (whole mm), and assumed (phones' usual lenses)."""
    most_nearer: float = 0.05
    """Largest correction for thickness: beyond it the distance is not to be trusted."""
    hole_end_share: float = 0.14
    """A hanging hole is at most this share of the tile's length from an end (common practice, no source)."""
    hole_off_middle: float = 0.12
    """and at most this share of its width off the middle line."""
    hole_least_width: float = 0.05
    """Narrowest hole, share of the tile's width: 2.5 mm in a 50 mm tile, a skewer's hole after firing."""
    hole_most_width: float = 0.2
    """Widest hole, share of the tile's width."""
    hole_core: float = 0.2
    """The middle of a hole that must be dark: radius as a share of its diameter."""
    hole_ring: tuple[float, float] = (0.8, 1.2)
    """The glaze around a hole it is compared with: radii as shares of its diameter."""
    hole_darkness: float = 0.8
    """A hole's middle has less than this share of the lightness around it: little light gets in."""
    hole_reach: float = 0.8
    """Marks nearer than this share of a hole's diameter to its centre are its rim or floor."""
