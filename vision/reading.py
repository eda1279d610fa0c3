"""What a reading is: frozen numbers and flags, no arrays. Its JSON form is `vision.reading_json`.

The types of colours are defined in `vision.reading_colours` and given from here like the others.

Conventions
-----------
Pixels are (x, y) = (column, row) with the centre of the first pixel at (0, 0) in lists of points,
and (row, column) in arrays. Millimetres have their origin at the straightened tile's top left as
seen in the photo, x right, y down. ``None`` means "not measured"; zero means "measured, none there".
Colour is CIELAB, D65, 2 degree observer. No NaN ever leaves `vision`.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from vision.reading_colours import (
    BodyColour,
    EdgeBreak,
    FaceColours,
    GlazeColour,
    Gradient,
    Lab,
    Opacity,
    PaletteEntry,
    ThickThin,
)

__all__ = [
    "MARK_KINDS",
    "METHOD",
    "TWO_LAMPS_METHOD",
    "BodyColour",
    "Calibration",
    "CalibrationKind",
    "Crawling",
    "Crazing",
    "EdgeBreak",
    "FaceColours",
    "FaultCall",
    "Finish",
    "Flag",
    "GlazeColour",
    "Gloss",
    "Gradient",
    "Lab",
    "Mark",
    "MarkKind",
    "Opacity",
    "PaletteEntry",
    "PhotoBeside",
    "PhotoReading",
    "PlaneHeight",
    "Pool",
    "Running",
    "Subject",
    "Taught",
    "ThickThin",
    "TileReading",
]

METHOD: dict[str, int] = {
    "photo": 1,
    "card": 1,
    "balance": 1,
    "tiles": 6,
    "colour": 2,
    "gloss": 4,
    "marks": 6,
    "crazing": 5,
    "crawling": 2,
    "face_colours": 1,
    "running": 1,
}
"""Version of each stage's definition. A changed definition gets a new number."""

TWO_LAMPS_METHOD = 2
"""Version of how two photos make one reading, kept with it beside the others as "two_lamps"."""


class Subject(StrEnum):
    """What kind of thing a reading is of."""

    TILE = "tile"
    WARE = "ware"
    PATCH = "patch"


class MarkKind(StrEnum):
    """Located marks, in the trade's words."""

    PINHOLE = "pinhole"
    BLISTER = "blister"
    CRATER = "crater"
    SPECK = "speck"


MARK_KINDS: tuple[MarkKind, ...] = tuple(MarkKind)


class Finish(StrEnum):
    """Finish classes, from how a reflection looks."""

    GLOSS = "gloss"
    SATIN = "satin"
    MATT = "matt"


class CalibrationKind(StrEnum):
    """Where colour correction and scale came from."""

    CHART = "chart"
    CARD = "card"
    NONE = "none"


class Flag(StrEnum):
    """What a reader of the numbers must know. `app.words` has one sentence and one remedy for each."""

    NO_CARD = "NO_CARD"
    NO_SCALE = "NO_SCALE"
    COLOUR_UNCORRECTED = "COLOUR_UNCORRECTED"
    CARD_PARTLY_SEEN = "CARD_PARTLY_SEEN"
    CHART_NOT_TRUSTED = "CHART_NOT_TRUSTED"
    CLIPPED_HIGHLIGHTS = "CLIPPED_HIGHLIGHTS"
    TOO_DARK = "TOO_DARK"
    BLURRED = "BLURRED"
    LOW_RESOLUTION = "LOW_RESOLUTION"
    CARD_AGED = "CARD_AGED"
    CARD_DRIFTED = "CARD_DRIFTED"
    UNEVEN_LIGHT = "UNEVEN_LIGHT"
    NOTHING_FOUND = "NOTHING_FOUND"
    NOT_POTTERY = "NOT_POTTERY"
    EDGE_CUT = "EDGE_CUT"
    MOSTLY_OUT = "MOSTLY_OUT"
    LITTLE_GLAZE = "LITTLE_GLAZE"
    NO_REFLECTION = "NO_REFLECTION"
    CRAZING_NOT_ASSESSABLE = "CRAZING_NOT_ASSESSABLE"
    FINE_LINES = "FINE_LINES"
    PINHOLES_NOT_ASSESSABLE = "PINHOLES_NOT_ASSESSABLE"
    CURVED_SURFACE = "CURVED_SURFACE"
    SCALE_APPROXIMATE = "SCALE_APPROXIMATE"
    SUBJECT_GUESSED = "SUBJECT_GUESSED"
    SUBJECT_DOUBTED = "SUBJECT_DOUBTED"
    GREY_PHOTO = "GREY_PHOTO"
    PROFILE_IGNORED = "PROFILE_IGNORED"
    DAMAGED_FILE = "DAMAGED_FILE"
    TWO_PHOTOS = "TWO_PHOTOS"
    SECOND_PHOTO_UNUSED = "SECOND_PHOTO_UNUSED"


@dataclass(frozen=True, slots=True)
class Gloss:
    """Gloss proxy 0..1 (not gloss units) and the finish class; None when no reflection is in view."""

    proxy: float | None
    finish: Finish | None
    probability: float | None


@dataclass(frozen=True, slots=True)
class Mark:
    """One located mark. `x_px`, `y_px`, `diameter_px` are in the straightened view's pixels."""

    kind: MarkKind
    x_px: float
    y_px: float
    diameter_px: float
    probability: float
    x_mm: float | None = None
    y_mm: float | None = None
    diameter_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Crazing:
    """A net of fine cracks in the glaze; lengths are None without scale, all None when not assessable.

    `direction_deg` is the lines' mean axis, 0..180 anticlockwise from across; `direction_strength` 0 where
    they run all ways alike, 1 where they are parallel; `direction_shares` of 12 classes of 15 degrees.
    """

    present: bool | None
    probability: float | None
    length_mm_per_cm2: float | None = None
    cell_mm: float | None = None
    cell_quartiles_mm: tuple[float, float, float] | None = None
    direction_deg: float | None = None
    direction_strength: float | None = None
    direction_shares: tuple[float, ...] | None = None


@dataclass(frozen=True, slots=True)
class Crawling:
    """Bare patches inside the glazed area; `area_fraction` is of the glazed area including the patches."""

    present: bool
    probability: float
    area_fraction: float
    spots: int


@dataclass(frozen=True, slots=True)
class Pool:
    """Glaze just above its line against the field farther up."""

    pooled: Lab
    field: Lab
    delta_e_00: float
    delta_e_00_sd: float


@dataclass(frozen=True, slots=True)
class Running:
    """Glaze that has run below its line towards a bare foot; lengths in millimetres are None without scale.

    `longest_px` is in pixels of the straightened view; `width_share` is of the line's width.
    """

    present: bool
    runs: int
    longest_mm: float | None
    longest_sd_mm: float | None
    longest_px: float
    width_share: float
    reaches_end: bool
    toward: str
    pool: Pool | None = None


@dataclass(frozen=True, slots=True)
class PlaneHeight:
    """How high above the card a tile's face was taken to lie, and what that leaves open.

    `camera_mm` is the camera's height over the card; `thickness_given`, `focal_given`: a person and the
    photo's EXIF told them, else usual ones were assumed; `size_doubt` is the share (one standard deviation)
    by which lengths may be wrong for it.
    """

    thickness_mm: float
    thickness_given: bool
    camera_mm: float
    focal_given: bool
    size_doubt: float


@dataclass(frozen=True, slots=True)
class FaultCall:
    """A whole-piece fault: pinholed, blistered, cratered, specked, crazed or crawled."""

    fault: str
    probability: float


@dataclass(frozen=True, slots=True)
class TileReading:
    """Everything measured on one tile, piece of ware or patch in one photo.

    `beside_sha256` is the digest of the second photo where two were read together.
    """

    subject: Subject
    outline_px: tuple[tuple[float, float], ...]
    glaze: GlazeColour | None
    body: BodyColour | None
    gloss: Gloss
    marks: tuple[Mark, ...]
    density_per_cm2: dict[str, float | None]
    crazing: Crazing
    crawling: Crawling
    faults: tuple[FaultCall, ...]
    label: str | None = None
    width_mm: float | None = None
    height_mm: float | None = None
    view_mm_per_px: float | None = None
    smallest_mark_mm: float | None = None
    flags: tuple[Flag, ...] = ()
    outlined_by_hand: bool = False
    beside_sha256: str | None = None
    face_colours: FaceColours = field(default_factory=FaceColours)
    running: Running | None = None
    plane_height: PlaneHeight | None = None


@dataclass(frozen=True, slots=True)
class Taught:
    """The teaching that a card's colours rest on: its day, what was left then, its age at the reading."""

    on: date
    residual_delta_e_00: float
    age_days: int


@dataclass(frozen=True, slots=True)
class Calibration:
    """How the photo was calibrated.

    The residual is the mean delta E00 left on the patches; `taught` is None unless the card's true colours
    had been taught from a chart.
    """

    kind: CalibrationKind
    mm_per_px: float | None = None
    residual_delta_e_00: float | None = None
    taught: Taught | None = None


@dataclass(frozen=True, slots=True)
class PhotoBeside:
    """The second photo that a reading of two rests on: its name and digest."""

    photo: str
    sha256: str


@dataclass(frozen=True, slots=True)
class PhotoReading:
    """All that one photo says, or why it says nothing (`error`).

    `beside` is None unless two photos of the same pieces, lit from two sides, were read together.
    """

    photo: str
    sha256: str | None
    calibration: Calibration
    tiles: tuple[TileReading, ...]
    flags: tuple[Flag, ...] = ()
    error: str | None = None
    method: dict[str, int] = field(default_factory=lambda: dict(METHOD))
    beside: PhotoBeside | None = None
