"""Thresholds of finding pieces and parting their surfaces."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["TileSettings"]


@dataclass(frozen=True, slots=True)
class TileSettings:
    """Finding pieces and parting glaze, bare clay and background."""

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
    piece_over_table: float = 2.4
    """A piece is this many times farther from the table's colours than nearly all (97 %) of the table is."""
    piece_least_distance: float = 1.4
    """But at least this far, table spreads: soft shadows on an even table lie under it."""
    piece_distance: float = 4.0
    """And this far is always a piece."""
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
    quad_fill: float = 0.88
    """A region that fills this much of its quadrilateral is a four-sided tile."""
    view_long_side_px: int = 1800
    """Longest side of a straightened view, pixels; more than a phone resolves on one tile of a board."""
    view_megapixels: float = 2.2
    """Largest straightened view, megapixels: bounds time and memory."""
    rim_fraction: float = 0.13
    """On ware, this fraction of the inscribed radius next to the outline is left out: there the surface of a
    round pot turns more than 60 degrees away (1 - sin 60 = 0.13)."""
    patch_cover: float = 0.9
    """A region that covers this much of the frame is taken for a close-up."""
    patch_lightness_spread: float = 12.0
    """A frame whose ninths differ by less than this in L* (one sd) may be a close-up of one glaze."""
    patch_hue_spread: float = 6.5
    """The same for a* and b*."""
    least_aspect: float = 0.12
    """A thinner piece than this (short side over long) is a pencil, a rule, an edge."""
    stray_share: float = 0.12
    """A piece smaller than this share of the photo's largest is a crumb."""
    ware_cut_px: int = 240
    """Long side at which a pot's silhouette is cut out, pixels: the cut's cost grows with the area."""
    ware_cut_rounds: int = 4
    """Rounds of the cut."""
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
    mask_long_side_px: int = 220
    """Long side at which glaze and bare clay are parted before the line is redrawn at full size, pixels."""
    bare_least: float = 0.035
    """Narrowest bare end looked for, fraction of the piece."""
    bare_most: float = 0.6
    """Widest bare end looked for, fraction of the piece."""
    bare_spread_floor: float = 4.0
    """Spread of CIELAB that any even strip of clay may have."""
    bare_least_score: float = 0.8
    """Least score (colour gap over spread, weighed by how clay-like the strip is) of a bare end."""
    bare_colour_floor: tuple[float, float, float] = (2.5, 1.5, 1.5)
    """Least spread of clay in L*, a*, b*."""
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
    bare_most_of_ware: float = 0.3
    """The same on ware: a foot."""
    bare_farthest: float = 40.0
    """Squared distance from the clay's colour, in its spreads, beyond which nothing is clay."""
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
    thin_fraction: float = 0.022
    """What is thinner than this fraction of the long side is a pencil or a tool, no tile."""
    quad_straight: float = 0.55
    """And each of its sides lies on its line for this share of its length; a bowl's do not."""
    quad_side_ratio: float = 1.45
    """Opposite sides differ by less than this factor: 25 degrees of tilt near by give about 1.3."""
    quad_most_cosine: float = 0.42
    """Corners are within 25 degrees of square, as a cosine."""
    blur_pad: float = 0.06
    """Surroundings taken in when blur is measured, fraction of the piece: its outline is the surest edge."""
    ware_smooth: float = 10.0
    """Local spread of colour (8-bit steps) under which a part that could be shadow is taken for it."""
    ware_bay: float = 0.06
    """Bays in a silhouette up to this share of its size (root of area) are filled: highlights at the edge."""
    ware_soft_edge: float = 0.35
    """An outline whose edge is weaker than this share of the outline's median edge is a shadow's."""
    ware_soft_run: float = 0.025
    """And only where it stays so for this share of the outline."""
    ware_largest_bulge: float = 0.25
    """A soft bulge of more than this share of the area is kept: then the edge is not what parts them."""
    patch_largest_piece: float = 0.05
    """In a close-up no part stands out that is larger than this fraction of the frame."""
    most_crumbs: int = 3
    """More small parts than this, and nothing else, are a scene without a piece."""
    split_factors: tuple[float, ...] = (1.0, 1.5, 2.2, 3.2, 4.5)
    """Where shadow joins pieces, the limit is raised by these factors in turn to part them."""
    split_cover: float = 0.4
    """As long as what is left covers this share of the joined part."""
    split_gain: float = 1.1
    """A higher limit must put this many times more into four-sided parts: it also eats at their edges."""
    sharp_edge: float = 5.0
    """Colour change of an edge that counts as fully sharp, CIELAB units a finding pixel."""
    sharp_enough: float = 0.75
    """A four-sided part with sides this sharp needs no splitting."""
    shadow_reach: float = 0.4
    """How far inside a soft side a sharp one is looked for, fraction of the piece."""
    sharp_side: float = 0.72
    """Mean sharpness along a side (0..1) from which it counts as sharp."""
    shadow_darker: float = 2.0
    """A shadow is at least this much darker than the table outside it, L*."""
    soft_side: float = 0.45
    """Mean sharpness of a side under which it may be the edge of a shadow of any tint."""
    lone_sharpness: float = 0.65
    """Without card, chart or label, sides this sharp (0..1) make a piece a flat tile; a pot and its shadow
    can look four-sided too."""
    glare_full_share: float = 0.06
    """A part with more of its pixels than this burnt out is a reflection in a close-up, no piece."""
    lone_fraction: float = 0.012
    """And only if it covers this fraction of the frame: a bare patch in a close-up can be square."""
    gap_factors: tuple[float, ...] = (1.0, 1.6, 2.5)
    """Factors on the limit at which a gap between tiles in a row is looked for."""
    gap_share: tuple[float, float] = (0.012, 0.35)
    """Share of the joined part that such gaps cover, least and most."""
    gap_shaded: float = 1.6
    """What lies in a gap is nearer to shaded table than this many times the limit."""
    focal_share: float = 0.95
    """Focal length as a share of the long side: phones have 0.72 (main lens) to 1.4 (twice as long)."""
    assumed_thickness_mm: float = 6.0
    """Thickness of a test tile where none is given (common practice, no source: 4 to 9 mm)."""
    most_nearer: float = 0.05
    """Largest correction for thickness: beyond it the distance is not to be trusted."""
    faint_edge: float = 2.5
    """Colour change at the edge of a tile on a table of nearly its colour, CIELAB units a finding pixel."""
    extend_reach: float = 1.5
    """How far beyond a side its further end is looked for, in the depth of what was found."""
    extend_least: float = 7.0
    """Nearer ends than this are the same side seen twice, or the tile's own wall, finding pixels."""
    extend_window: int = 7
    """A side that runs on may not be broken for this long, finding pixels."""
    extend_end: float = 0.75
    """Mean strength (0..1) of the further end."""
    extend_sides: float = 0.65
    """Strength (0..1) of the weakest stretch of the two sides that run on to it."""
    extend_contrast: float = 10.0
    """What a tile is extended by differs at least this much from the table beside it, CIELAB units."""
    extend_over_table: float = 1.2
    """On a busy table an edge counts in full from this many times the table's own (85th percentile) edges."""
    bare_width_power: float = 0.5
    """Weight of a bare end's width when its inner edge is placed, as a power."""
    bare_least_score_of_ware: float = 1.3
    """The same on ware, where shading alone parts a foot from a wall."""
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
    usual_rise: float = 0.016
    """Thickness of a tile over the camera's height where no card tells: 6.5 mm from 0.4 m."""
    wall_least_px: float = 1.5
    """Lower walls than this do not matter, photo pixels."""
    wall_reach: float = 2.0
    """How far to either side of an outline a wall's other edge is looked for, in foreseen wall heights."""
    wall_window: tuple[float, float] = (0.45, 1.9)
    """A wall is this many times as high as foreseen, least and most: tiles are 3 to 12 mm thick."""
    wall_edge: float = 0.3
    """Strength of the face's edge over the outer one, from which it is taken."""
    side_sound: float = 0.7
    """A part whose sides have a weaker stretch (0..1) than this is looked at again, line by line."""
    side_reach: float = 0.5
    """How far beyond a part's own rectangle sides are looked for, fraction of its longer side."""
    side_edge: float = 5.0
    """Colour change of an edge that counts in full as a side, CIELAB units a finding pixel."""
    side_candidate: float = 0.5
    """Mean strength (0..1) of a line that may be a side."""
    side_most_candidates: int = 8
    """Most lines tried in each direction."""
    side_mean: float = 0.7
    """Least mean strength (0..1) of each side."""
    side_weakest: float = 0.5
    """Least strength (0..1) of any stretch of a side."""
    side_longest: float = 4.0
    """Longest tile, long side over short."""
    side_area: tuple[float, float] = (0.45, 1.6)
    """Area of a tile over that of the part it is found from, least and most."""
    side_table: float = 0.7
    """Below this share of the limit a pixel is table."""
    side_most_table: float = 0.4
    """Most of a tile that may look like the table."""
    side_power: float = 12.0
    """Weight of the weakest side's strength against area when one of several closings is chosen, a power."""
    side_busy: float = 4.0
    """Edges of the table itself (85th percentile, CIELAB units a pixel) above which lines tell nothing."""
