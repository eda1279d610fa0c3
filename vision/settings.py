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


@dataclass(frozen=True, slots=True)
class ChartSettings:
    """Finding the 24-patch colour chart."""


@dataclass(frozen=True, slots=True)
class BalanceSettings:
    """Correcting colour from the card or chart."""


@dataclass(frozen=True, slots=True)
class TileSettings:
    """Finding pieces and parting glaze, bare clay and background."""

    find_long_side_px: int = 560
    """Long side of the shrunken photo in which pieces are found, pixels; a 20 px tile is still 3 % of it."""
    border_fraction: float = 0.03
    """Width of the frame's border taken for table, fraction of the short side."""
    keep_out_margin: float = 0.006
    """Card, chart and label outlines are grown by this fraction of the long side: their edges are no table."""
    table_colours: int = 6
    """Colour clusters that describe a table (wood grain, print, weave)."""
    table_colour_share: float = 0.04
    """A cluster with less than this share of the border is not table (a piece cut by the frame)."""
    table_spread_floor: tuple[float, float, float] = (3.5, 2.0, 2.0)
    """Least spread of a table colour in L*, a*, b*: sensor noise and JPEG blocks."""
    shading_rounds: int = 4
    """Rounds of trimmed fitting of the table's shading."""
    shadow_weight: float = 0.6
    """A pixel darker than the table counts this much of one lighter: shadows darken, they do not lighten."""
    sure_table_distance: float = 3.0
    """Below this distance (table spreads) a pixel is used to learn the table again."""
    piece_distance: float = 4.0
    """Above this distance (table spreads) a pixel starts a piece."""
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
    """Longest side of a straightened view, pixels; more detail than a phone resolves on one tile of a board."""
    view_megapixels: float = 2.2
    """Largest straightened view, megapixels: bounds time and memory."""
    rim_fraction: float = 0.13
    """On ware, this fraction of the inscribed radius next to the outline is left out: there the surface of a
    round pot turns more than 60 degrees away (1 - sin 60 = 0.13)."""
    patch_cover: float = 0.9
    """A region that covers this much of the frame is taken for a close-up."""
    patch_lightness_spread: float = 7.0
    """A frame whose ninths differ by less than this in L* (one sd) may be a close-up of one glaze."""
    patch_hue_spread: float = 4.0
    """The same for a* and b*."""
    least_aspect: float = 0.12
    """A thinner piece than this (short side over long) is a pencil, a rule, an edge."""
    stray_share: float = 0.12
    """A piece smaller than this share of the photo's largest is a crumb."""
    ware_cut_px: int = 200
    """Long side at which a pot's silhouette is cut out, pixels: the cut's cost grows with the area."""
    ware_cut_rounds: int = 3
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


@dataclass(frozen=True, slots=True)
class ColourSettings:
    """Colour of the glazed face."""


@dataclass(frozen=True, slots=True)
class GlossSettings:
    """Gloss proxy and finish."""


@dataclass(frozen=True, slots=True)
class MarkSettings:
    """Pinholes, blisters, craters and specks."""

    smallest_px: float = 5.0
    """Smallest mark diameter told apart, pixels (knowledge/defects.md §1: about 5 pixels across to be classed)."""
    smallest_blurs: float = 3.0
    """Smallest mark diameter in blur standard deviations: a blurred dot of that size has lost its rim."""
    largest_fraction: float = 0.2
    """Largest mark diameter, fraction of the shorter side of the surface: beyond it a patch is not one mark."""
    response_mads: float = 5.0
    """Candidate threshold, robust standard deviations of the filter response; low, since the classifier decides."""
    response_lightness: float = 0.8
    """Least filter response of a candidate, L* units: half of a just visible difference on JPEG noise."""
    most_candidates: int = 1200
    """Candidates kept, strongest first: bounds the time on textured surfaces."""
    least_probability: float = 0.5
    """A mark is reported when its kinds together are at least this likely; tuned on the tuning renders."""


@dataclass(frozen=True, slots=True)
class CrazingSettings:
    """The craze net."""

    working_megapixels: float = 1.6
    """Resolution the ridge filter works at, megapixels: bounds the time; craze lines stay 1 to 3 pixels wide."""
    most_blur_px: float = 2.5
    """Blur standard deviation above which a hairline cannot be seen, pixels (a 1 px line loses 80 % contrast)."""
    coarsest_mm_per_px: float = 0.2
    """Coarsest scale at which an inked craze line shows, mm per pixel (knowledge/defects.md §1)."""
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
    """Smallest bare patch counted, mm² (knowledge/defects.csv: crawl from 1 mm across)."""
    smallest_spot_fraction: float = 4e-4
    """The same where the photo carries no scale, fraction of the glazed face."""
    enclosed_fraction: float = 0.55
    """Share of a bare patch's outline that must border glaze: a foot strip along an edge has at most half."""
    strip_extent: float = 0.7
    """A bare patch reaching over this share of a side of the piece and touching it is a foot or wax line."""
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
    gloss: GlossSettings = field(default_factory=GlossSettings)
    marks: MarkSettings = field(default_factory=MarkSettings)
    crazing: CrazingSettings = field(default_factory=CrazingSettings)
    crawling: CrawlingSettings = field(default_factory=CrawlingSettings)
