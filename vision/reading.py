"""What a reading is: frozen numbers and flags, no arrays, and its JSON form.

Conventions
-----------
Pixels are (x, y) = (column, row) with the centre of the first pixel at (0, 0) in lists of points,
and (row, column) in arrays. Millimetres have their origin at the straightened tile's top left as
seen in the photo, x right, y down. ``None`` means "not measured"; zero means "measured, none there".
Colour is CIELAB, D65, 2 degree observer. No NaN ever leaves `vision`.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

__all__ = [
    "MARK_KINDS",
    "METHOD",
    "BodyColour",
    "Calibration",
    "CalibrationKind",
    "Crawling",
    "Crazing",
    "FaultCall",
    "Finish",
    "Flag",
    "GlazeColour",
    "Gloss",
    "Lab",
    "Mark",
    "MarkKind",
    "PaletteEntry",
    "PhotoReading",
    "Subject",
    "TileReading",
    "reading_to_dict",
    "tile_from_dict",
    "tile_to_dict",
]

METHOD: dict[str, int] = {
    "photo": 1,
    "card": 1,
    "balance": 1,
    "tiles": 2,
    "colour": 2,
    "gloss": 2,
    "marks": 2,
    "crazing": 2,
    "crawling": 1,
}
"""Version of each stage's definition. A changed definition gets a new number."""


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
    UNEVEN_LIGHT = "UNEVEN_LIGHT"
    NOTHING_FOUND = "NOTHING_FOUND"
    EDGE_CUT = "EDGE_CUT"
    LITTLE_GLAZE = "LITTLE_GLAZE"
    NO_REFLECTION = "NO_REFLECTION"
    CRAZING_NOT_ASSESSABLE = "CRAZING_NOT_ASSESSABLE"
    PINHOLES_NOT_ASSESSABLE = "PINHOLES_NOT_ASSESSABLE"
    CURVED_SURFACE = "CURVED_SURFACE"
    SCALE_APPROXIMATE = "SCALE_APPROXIMATE"
    SUBJECT_GUESSED = "SUBJECT_GUESSED"
    SUBJECT_DOUBTED = "SUBJECT_DOUBTED"
    GREY_PHOTO = "GREY_PHOTO"
    PROFILE_IGNORED = "PROFILE_IGNORED"
    DAMAGED_FILE = "DAMAGED_FILE"


@dataclass(frozen=True, slots=True)
class Lab:
    """A colour in CIELAB, D65, 2 degree observer (ISO/CIE 11664-4)."""

    lightness: float
    a_star: float
    b_star: float

    def as_tuple(self) -> tuple[float, float, float]:
        """Return (L*, a*, b*)."""
        return (self.lightness, self.a_star, self.b_star)


@dataclass(frozen=True, slots=True)
class PaletteEntry:
    """One colour of a glazed face and the fraction (0..1) of the face it covers."""

    lab: Lab
    fraction: float


@dataclass(frozen=True, slots=True)
class GlazeColour:
    """Colour of the glazed face; `lab_sd` is the stated doubt (one standard deviation) of each coordinate."""

    lab: Lab
    lab_sd: tuple[float, float, float]
    palette: tuple[PaletteEntry, ...] = ()
    area_cm2: float | None = None


@dataclass(frozen=True, slots=True)
class BodyColour:
    """Colour of the bare clay in view."""

    lab: Lab
    area_cm2: float | None = None


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
    """A net of fine cracks in the glaze; lengths are None without scale, all None when not assessable."""

    present: bool | None
    probability: float | None
    length_mm_per_cm2: float | None = None
    cell_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Crawling:
    """Bare patches inside the glazed area; `area_fraction` is of the glazed area including the patches."""

    present: bool
    probability: float
    area_fraction: float
    spots: int


@dataclass(frozen=True, slots=True)
class FaultCall:
    """A whole-piece fault: pinholed, blistered, cratered, specked, crazed or crawled."""

    fault: str
    probability: float


@dataclass(frozen=True, slots=True)
class TileReading:
    """Everything measured on one tile, piece of ware or patch in one photo."""

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


@dataclass(frozen=True, slots=True)
class Calibration:
    """How the photo was calibrated; the residual is the mean delta E00 left on the patches."""

    kind: CalibrationKind
    mm_per_px: float | None = None
    residual_delta_e_00: float | None = None


@dataclass(frozen=True, slots=True)
class PhotoReading:
    """All that one photo says, or why it says nothing (`error`)."""

    photo: str
    sha256: str | None
    calibration: Calibration
    tiles: tuple[TileReading, ...]
    flags: tuple[Flag, ...] = ()
    error: str | None = None
    method: dict[str, int] = field(default_factory=lambda: dict(METHOD))


def _rounded(value: float | None, digits: int) -> float | None:
    return None if value is None else round(float(value), digits)


def _lab_list(lab: Lab) -> list[float]:
    return [round(float(v), 2) for v in lab.as_tuple()]


def tile_to_dict(tile: TileReading) -> dict[str, Any]:
    """Give the JSON form of one tile, as ``glostbook read --json`` prints it."""
    glaze = None
    if tile.glaze is not None:
        glaze = {
            "lab": _lab_list(tile.glaze.lab),
            "lab_sd": [round(float(v), 2) for v in tile.glaze.lab_sd],
            "palette": [
                {"lab": _lab_list(p.lab), "fraction": round(float(p.fraction), 4)} for p in tile.glaze.palette
            ],
            "area_cm2": _rounded(tile.glaze.area_cm2, 2),
        }
    body = None
    if tile.body is not None:
        body = {"lab": _lab_list(tile.body.lab), "area_cm2": _rounded(tile.body.area_cm2, 2)}
    return {
        "subject": str(tile.subject),
        "outline_px": [[round(float(x), 1), round(float(y), 1)] for x, y in tile.outline_px],
        "label": tile.label,
        "width_mm": _rounded(tile.width_mm, 2),
        "height_mm": _rounded(tile.height_mm, 2),
        "view_mm_per_px": _rounded(tile.view_mm_per_px, 5),
        "smallest_mark_mm": _rounded(tile.smallest_mark_mm, 3),
        "glaze": glaze,
        "body": body,
        "gloss": {
            "proxy": _rounded(tile.gloss.proxy, 3),
            "finish": None if tile.gloss.finish is None else str(tile.gloss.finish),
            "probability": _rounded(tile.gloss.probability, 3),
        },
        "marks": [
            {
                "kind": str(m.kind),
                "x_mm": _rounded(m.x_mm, 2),
                "y_mm": _rounded(m.y_mm, 2),
                "diameter_mm": _rounded(m.diameter_mm, 3),
                "x_px": _rounded(m.x_px, 1),
                "y_px": _rounded(m.y_px, 1),
                "diameter_px": _rounded(m.diameter_px, 1),
                "probability": _rounded(m.probability, 3),
            }
            for m in tile.marks
        ],
        "density_per_cm2": {k: _rounded(v, 4) for k, v in tile.density_per_cm2.items()},
        "crazing": {
            "present": tile.crazing.present,
            "probability": _rounded(tile.crazing.probability, 3),
            "length_mm_per_cm2": _rounded(tile.crazing.length_mm_per_cm2, 2),
            "cell_mm": _rounded(tile.crazing.cell_mm, 2),
        },
        "crawling": {
            "present": tile.crawling.present,
            "probability": _rounded(tile.crawling.probability, 3),
            "area_fraction": _rounded(tile.crawling.area_fraction, 4),
            "spots": tile.crawling.spots,
        },
        "faults": [{"fault": f.fault, "probability": _rounded(f.probability, 3)} for f in tile.faults],
        "flags": [str(f) for f in tile.flags],
        "outlined_by_hand": tile.outlined_by_hand,
    }


def tile_from_dict(data: dict[str, Any]) -> TileReading:
    """Read back what `tile_to_dict` gave (used when a kept reading is loaded)."""
    glaze = None
    if data["glaze"] is not None:
        g = data["glaze"]
        sd = g["lab_sd"]
        glaze = GlazeColour(
            lab=Lab(*g["lab"]),
            lab_sd=(sd[0], sd[1], sd[2]),
            palette=tuple(PaletteEntry(Lab(*p["lab"]), p["fraction"]) for p in g["palette"]),
            area_cm2=g["area_cm2"],
        )
    body = None
    if data["body"] is not None:
        body = BodyColour(Lab(*data["body"]["lab"]), data["body"]["area_cm2"])
    finish = data["gloss"]["finish"]
    return TileReading(
        subject=Subject(data["subject"]),
        outline_px=tuple((p[0], p[1]) for p in data["outline_px"]),
        label=data["label"],
        width_mm=data["width_mm"],
        height_mm=data["height_mm"],
        view_mm_per_px=data["view_mm_per_px"],
        smallest_mark_mm=data["smallest_mark_mm"],
        glaze=glaze,
        body=body,
        gloss=Gloss(
            data["gloss"]["proxy"], None if finish is None else Finish(finish), data["gloss"]["probability"]
        ),
        marks=tuple(
            Mark(
                kind=MarkKind(m["kind"]),
                x_px=m["x_px"],
                y_px=m["y_px"],
                diameter_px=m["diameter_px"],
                probability=m["probability"],
                x_mm=m["x_mm"],
                y_mm=m["y_mm"],
                diameter_mm=m["diameter_mm"],
            )
            for m in data["marks"]
        ),
        density_per_cm2=dict(data["density_per_cm2"]),
        crazing=Crazing(**data["crazing"]),
        crawling=Crawling(**data["crawling"]),
        faults=tuple(FaultCall(f["fault"], f["probability"]) for f in data["faults"]),
        flags=tuple(Flag(f) for f in data["flags"]),
        outlined_by_hand=data.get("outlined_by_hand", False),
    )


def reading_to_dict(reading: PhotoReading) -> dict[str, Any]:
    """Give the JSON form of one photo's reading, as ``glostbook read --json`` prints it."""
    return {
        "photo": reading.photo,
        "sha256": reading.sha256,
        "error": reading.error,
        "calibration": {
            "kind": str(reading.calibration.kind),
            "mm_per_px": _rounded(reading.calibration.mm_per_px, 5),
            "residual_delta_e_00": _rounded(reading.calibration.residual_delta_e_00, 2),
        },
        "flags": [str(f) for f in reading.flags],
        "method": dict(reading.method),
        "tiles": [tile_to_dict(t) for t in reading.tiles],
    }
