"""Every threshold of the reading, with its unit and where it comes from. None stands bare in a function."""

from __future__ import annotations

from dataclasses import dataclass, field

__all__ = [
    "BalanceSettings",
    "CardSettings",
    "ChartSettings",
    "ColourSettings",
    "CrawlingSettings",
    "CrazingSettings",
    "GlossSettings",
    "LabelSettings",
    "MarkSettings",
    "PhotoSettings",
    "Settings",
    "TileSettings",
]


@dataclass(frozen=True, slots=True)
class PhotoSettings:
    """Loading: what is accepted."""

    limit_megapixels: float = 120.0
    """Largest photo decoded, megapixels. Phones in use reach 108; more is taken for a decompression bomb."""
    limit_file_mb: float = 400.0
    """Largest file read at all, megabytes. A 100-megapixel raw file holds about 200; our own limit."""
    salvage_fraction: float = 0.75
    """Rows of a cut-off JPEG that must be readable before it is read with a flag, 0..1; our own limit."""


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


@dataclass(frozen=True, slots=True)
class BalanceSettings:
    """Correcting colour from the card or chart."""

    tone_powers: tuple[float, ...] = (0.6, 0.7, 0.8, 0.9, 1.0, 1.1, 1.2, 1.3, 1.4, 1.5, 1.6)
    """Powers of light tried when a phone's tone curve is undone; 1 is a plain sRGB picture."""
    tone_contrasts: tuple[float, ...] = (-0.4, -0.2, 0.0, 0.2, 0.4, 0.6, 0.8)
    """Strengths of an S-shaped tone curve tried (share of a smoothstep mixed in); 0 is none. On the open
    phone photos 0.4 to 0.8 leaves least."""
    ridge: float = 1e-3
    """Pull of a colour matrix towards plain white balance, share of its mean energy. Lowers the
    leave-one-patch-out error of root-polynomials on the open phone photos by 0.1."""
    simpler_gain: float = 0.95
    """A richer model must bring the leave-one-patch-out error below this share of the simpler one's."""
    least_patches: int = 12
    """Fewest usable chart patches for a fit: half the chart."""
    odd_delta_e_00: float = 10.0
    """A chart patch missed by more than this, and by `odd_ratio` times the median, is left out."""
    odd_ratio: float = 3.5
    """See `odd_delta_e_00`."""
    most_odd: int = 3
    """Most chart patches left out as odd."""
    chart_trust_delta_e_00: float = 6.0
    """Leave-one-patch-out error above which a chart is not trusted. Open phone photos give 0.9 to 4.9."""
    shade_limit: float = 1.5
    """Largest factor by which shading is evened out; beyond the patches a slope is only a guess."""
    shade_hue_limit: float = 1.15
    """The same for one channel against the three's mean: a window on one side and a lamp on the other."""
    shade_reach: tuple[float, float] = (0.5, 0.15)
    """Share of the card's slope believed beyond the card, towards its bright and its dark side. Light falls
    ever more slowly away from a lamp. Chosen on 53 tiles of the training renders: mean delta E00 (each capped
    at 12) 4.95 without, 4.64 with the full slope, 4.32 so. A chart's own slope, over a shorter base, made
    things worse there (3.6 without, 5.4 with) and is used on the chart alone."""
    uneven_ratio: float = 1.2
    """Light that changes by more than this factor across the card or chart is called uneven."""
    least_papers: int = 6
    """Fewest places of bare paper from which shading across the card is told."""
    least_greys: int = 4
    """Fewest usable grey patches of the card for a fit."""
    grey_weights: tuple[tuple[float, float], ...] = ((20.0, 0.15), (30.0, 0.4), (90.0, 1.0), (101.0, 0.5))
    """Trust in a printed grey by its nominal L*, up to each bound: mid greys print best, black is a matter
    of ink and paper (15 to 25 instead of 17), the lightest is nearly paper."""
    grey_pair_ratio: float = 1.12
    """The two ramps' patches of one grey may differ by this factor, shading undone, before both lose trust:
    glare or something lying on one of them."""
    print_reflectance: float = 0.97
    """Light a printed grey gives back, as a share of what the file asks. The file asks 0.90 of bare paper;
    office paper gives 0.80 to 0.92 (common practice, no source), and printers scale greys to the paper."""
    print_floor: float = 0.01
    """Light that a print's darkest ink gives back beyond what is asked, 0..1: black is at L* 17 to 25."""
    tone_expected_contrast: float = 0.3
    """S-shaped contrast expected of a phone before the ramp is looked at; 0 to 0.6 is usual."""
    tone_pull: float = 2.0
    """Price of a tone curve other than the expected one, fitted to printed greys: delta E00 per unit of
    contrast, and twice that per unit of ln power. A printer's curve must not pass for the phone's."""


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


@dataclass(frozen=True, slots=True)
class ColourSettings:
    """Colour of the glazed face."""

    edge_fraction: float = 0.008
    """Width left out along the edges of the glaze, fraction of the view: breaking edges, blur."""
    kept_share: float = 0.8
    """Share of pixels nearest the centre kept in the trimmed mean."""
    sample_pixels: int = 20000
    """Pixels looked at; the colour of 20 000 has a standard error far under the correction's own doubt."""
    least_pixels: int = 60
    """Fewer clear pixels than this give no colour."""
    least_body_fraction: float = 0.004
    """Less bare clay than this fraction of the piece is not measured."""
    palette_most: int = 6
    """Most colours in a palette."""
    palette_least: int = 3
    """Fewest colours in a palette."""
    palette_gap: float = 4.0
    """Colours nearer than this in CIELAB are told as one, down to the fewest."""
    chart_doubt: tuple[float, float, float] = (3.0, 2.0, 3.0)
    """Doubt of L*, a*, b* with a chart beyond its residual: light differs between chart and tile."""
    card_doubt: tuple[float, float, float] = (5.0, 3.0, 4.5)
    """The same with a home-printed card: greys only, paper and ink not neutral; two thirds of 36 tiles of
    training renders were nearer than this."""
    no_card_doubt: tuple[float, float, float] = (8.0, 5.0, 7.0)
    """The same for a phone's automatic exposure and white balance, nothing corrected."""
    residual_share: float = 0.7
    """Share of the patches' mean CIEDE2000 that goes to each coordinate."""
    spread_share: float = 0.25
    """Share of the face's own spread that goes into the doubt of its centre."""
    veil: float = 0.010
    """Linear light mirrored by a glaze's surface beside a window's reflection, white paper 1: 4 % (Fresnel,
    index 1.5, straight on) of a room a quarter as light as the paper. Lowest median error on training renders
    between 0.008 and 0.012."""
    veil_least_light: float = 0.003
    """No channel is taken below this linear light."""


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


@dataclass(frozen=True, slots=True)
class GlossSettings:
    """Gloss proxy and finish."""

    least_pixels: int = 200
    """Fewer glazed pixels than this at working size say nothing about gloss."""
    long_side_px: int = 400
    """Long side at which reflections are looked at, pixels: a window on a tile is still tens of pixels."""
    darkest: float = 0.01
    """Least linear luminance a highlight is compared to: blackest glazes reflect about 1 %."""
    highlight_share: float = 0.5
    """A highlight is above this share of the way from the median to the brightest hundredth."""
    full_lightness: float = 98.5
    """L* above which the sensor counts as full."""
    least_contrast: float = 0.12
    """Under this highlight contrast, nothing in view tells gloss from matt."""
    least_clipped: float = 0.002
    """Unless this fraction of the face is full."""
    weight_offset: float = -3.2
    """Weights of the cues in the proxy, logistic scale; to be fitted on training renders."""
    weight_contrast: float = 1.6
    """Of log(1 + contrast)."""
    weight_sharpness: float = 3.0
    """Of edge sharpness."""
    weight_skew: float = 0.35
    """Of skewness."""
    weight_clipped: float = 1.2
    """Of the share of the face where the sensor is full."""
    most_clipped: float = 0.02
    """A larger full share tells nothing more."""
    matt_below: float = 0.35
    """Proxy below which matt is likelier than satin."""
    gloss_above: float = 0.65
    """Proxy above which gloss is likelier than satin."""
    class_softness: float = 0.08
    """Width of the change from one class to the next, proxy units."""


@dataclass(frozen=True, slots=True)
class MarkSettings:
    """Pinholes, blisters, craters and specks."""

    smallest_px: float = 5.0
    """Smallest mark diameter told apart, pixels: common practice, no source."""
    smallest_blurs: float = 3.0
    """Smallest mark diameter in blur standard deviations: a blurred dot of that size has lost its rim."""
    largest_fraction: float = 0.2
    """Largest mark diameter, fraction of the surface's shorter side: a larger patch is not one mark."""
    response_mads: float = 3.0
    """Height from which a filter's peak is looked at, robust standard deviations; low, the screen decides."""
    response_lightness: float = 0.5
    """Least height of a peak, L* units: below it lies JPEG noise."""
    most_peaks: int = 3000
    """Peaks looked at for each filter and size, highest first: bounds the time on textured surfaces."""
    screen_odds: float = -5.0
    """Log odds of the screen below which a peak gets no close look; keeps 99 % of the marks of renders."""
    most_candidates: int = 600
    """Candidates that get a close look, likeliest first: bounds the time on textured surfaces."""
    vote_reach: float = 0.5
    """Candidates whose centres lie within this many radii of a mark's vote on its kind."""
    vote_size: float = 1.5
    """Factor of size up to which a candidate stands for the same mark."""
    least_probability: float = 0.45
    """A mark is reported when its kinds together are this likely; chosen on held-out training renders."""


@dataclass(frozen=True, slots=True)
class CrazingSettings:
    """The craze net."""

    working_megapixels: float = 1.6
    """Resolution the ridge filter works at, megapixels: bounds the time; lines stay 1 to 3 pixels wide."""
    most_blur_px: float = 2.5
    """Blur standard deviation that hides a hairline, pixels (a 1 px line loses 80 % of its contrast)."""
    coarsest_mm_per_px: float = 0.3
    """Coarsest scale at which absence is stated, mm per pixel: a 0.06 mm line is a fifth of a pixel."""
    sigmas_px: tuple[float, ...] = (1.0, 1.8)
    """Standard deviations of the ridge filter, pixels: lines of 1 to 5 pixels."""
    strong_mads: float = 6.0
    """Ridge response that starts a line, robust standard deviations of the response."""
    weak_mads: float = 2.8
    """Ridge response that continues a line, robust standard deviations of the response."""
    weak_lightness: float = 0.35
    """Least ridge response that continues a line, L* per sigma: below it lies JPEG noise."""
    shortest_px: int = 14
    """Shortest line kept, pixels of the working resolution."""
    least_probability: float = 0.5
    """Probability from which a net is called present."""


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
    """A foot of this many working pixels tells the clay's colour; patches then follow the mask."""
    foot_along: float = 0.3
    """Share of a side that must be bare for it to be a foot, where drips may cover the rest."""
    least_probability: float = 0.5
    """Probability from which crawling is called present."""


@dataclass(frozen=True, slots=True)
class Settings:
    """All settings of one reading."""

    photo: PhotoSettings = field(default_factory=PhotoSettings)
    card: CardSettings = field(default_factory=CardSettings)
    chart: ChartSettings = field(default_factory=ChartSettings)
    balance: BalanceSettings = field(default_factory=BalanceSettings)
    tiles: TileSettings = field(default_factory=TileSettings)
    colour: ColourSettings = field(default_factory=ColourSettings)
    labels: LabelSettings = field(default_factory=LabelSettings)
    gloss: GlossSettings = field(default_factory=GlossSettings)
    marks: MarkSettings = field(default_factory=MarkSettings)
    crazing: CrazingSettings = field(default_factory=CrazingSettings)
    crawling: CrawlingSettings = field(default_factory=CrawlingSettings)
