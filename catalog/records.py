"""What the studio keeps, as frozen records. Rows never leave `store`; everybody else sees these."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import overload

from vision.reading import Flag, Lab, Taught, TileReading

__all__ = [
    "ATMOSPHERES",
    "BODY_KINDS",
    "FINISHES",
    "LOAD_KINDS",
    "PIECE_KINDS",
    "Body",
    "ColourMatch",
    "ConeResult",
    "EffectiveFault",
    "FactValue",
    "Filing",
    "Judgement",
    "KeptPhoto",
    "KeptReading",
    "Layer",
    "Load",
    "Piece",
    "PieceDraft",
    "Recipe",
    "RecipeLine",
    "Segment",
]

FactValue = bool | float | str

BODY_KINDS = ("earthenware", "red_earthenware", "stoneware", "dark_stoneware", "porcelain", "raku", "other")
"""Values of the fact `body.kind`."""

ATMOSPHERES = ("oxidation", "neutral", "light_reduction", "heavy_reduction")
"""Values of the fact `firing.atmosphere`."""

LOAD_KINDS = ("bisque", "glaze")

PIECE_KINDS = ("tile", "ware", "patch")
"""A patch is a close-up whose piece nobody has named yet."""

FINISHES = ("gloss", "satin", "matt")


@dataclass(frozen=True, slots=True)
class Body:
    """A clay body. `kind` is a value of the fact `body.kind`; cones are text ("6" is not "06")."""

    id: int
    name: str
    kind: str
    rated_cone: str | None = None
    absorption_pct: float | None = None
    facts: Mapping[str, FactValue] = field(default_factory=dict)
    notes: str = ""


@dataclass(frozen=True, slots=True)
class RecipeLine:
    """One material of a recipe: parts by weight; an addition stands above the base of 100."""

    material: str
    amount: float
    addition: bool = False


@dataclass(frozen=True, slots=True)
class Recipe:
    """One revision of a glaze recipe. Never changed in place: a change is a new revision.

    `intended` holds effects that are wanted and so no fault: "crazed", "matt", "specked", "crawled", ...
    """

    id: int
    name: str
    revision: int
    lines: tuple[RecipeLine, ...]
    cone_low: str | None = None
    cone_high: str | None = None
    intended: frozenset[str] = frozenset()
    facts: Mapping[str, FactValue] = field(default_factory=dict)
    notes: str = ""
    created_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Layer:
    """One glaze, slip or underglaze on a piece, from the clay outward."""

    recipe_id: int | None
    name: str
    coats: int | None = None
    method: str | None = None
    raw_thickness_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Segment:
    """One segment of a planned schedule."""

    rate_c_per_h: float
    target_c: float
    hold_min: float = 0.0


@dataclass(frozen=True, slots=True)
class ConeResult:
    """A witness cone as read after the firing: the cone the shelf reached, on the cone ladder."""

    shelf: str
    cone: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Load:
    """One kiln firing with its pieces. `kind` is "bisque" or "glaze"."""

    id: int
    name: str
    kind: str
    kiln: str
    fired_on: date | None = None
    cone_aimed: str | None = None
    cones: tuple[ConeResult, ...] = ()
    atmosphere: str | None = None
    schedule: tuple[Segment, ...] = ()
    facts: Mapping[str, FactValue] = field(default_factory=dict)
    notes: str = ""


@dataclass(frozen=True, slots=True)
class KeptPhoto:
    """A photo kept by the digest of its bytes."""

    sha256: str
    name: str
    size_bytes: int
    kept_at: datetime


@dataclass(frozen=True, slots=True)
class KeptReading:
    """A reading as filed: which photo, which tile in it, which methods, when.

    `calibration_kind` is "chart", "card" or "none"; `superseded` says that a later reading of the same tile
    in the same photo, by another method version, stands in its place.
    """

    id: int
    photo_sha256: str
    tile_index: int
    calibration_kind: str
    method: Mapping[str, int]
    read_at: datetime
    tile: TileReading
    mm_per_px: float | None = None
    residual_delta_e_00: float | None = None
    photo_flags: tuple[Flag, ...] = ()
    view_sha256: str | None = None
    superseded: bool = False
    taught: Taught | None = None


@dataclass(frozen=True, slots=True)
class Judgement:
    """A person's word. It outranks the machine.

    `about` is "fault", "cause" or "use"; `subject` the fault or cause named; `verdict` one of
    "present", "absent", "intended", "confirmed", "refuted", "fix_worked".
    """

    id: int
    about: str
    subject: str
    verdict: str
    by: str
    made_at: datetime
    note: str = ""


@dataclass(frozen=True, slots=True)
class Piece:
    """A tile or a piece of ware, with all that is known of it.

    `readings` are newest first, `judgements` in the order given. `intended` joins the wanted effects of
    the recipe revisions in its layers.
    """

    id: int
    code: str
    kind: str
    body: Body | None = None
    layers: tuple[Layer, ...] = ()
    load: Load | None = None
    shelf: str | None = None
    facts: Mapping[str, FactValue] = field(default_factory=dict)
    readings: tuple[KeptReading, ...] = ()
    judgements: tuple[Judgement, ...] = ()
    notes: str = ""
    filed_at: datetime | None = None
    intended: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class EffectiveFault:
    """A fault that stands after a person's word. `by` is "reading" or "person" (then probability 1)."""

    fault: str
    probability: float
    by: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Filing(Sequence[Piece]):
    """What filing a photo did: the pieces, in the order of the drafts, and what was new about each.

    Attributes
    ----------
    pieces : as they are now, one for each draft
    added : codes of pieces made by this filing
    extended : codes of pieces kept before that gained a reading
    repeated : codes whose tile in this photo was filed before; nothing was added for them
    """

    pieces: tuple[Piece, ...]
    added: tuple[str, ...] = ()
    extended: tuple[str, ...] = ()
    repeated: tuple[str, ...] = ()

    @overload
    def __getitem__(self, index: int) -> Piece: ...
    @overload
    def __getitem__(self, index: slice) -> tuple[Piece, ...]: ...
    def __getitem__(self, index: int | slice) -> Piece | tuple[Piece, ...]:
        return self.pieces[index]

    def __len__(self) -> int:
        return len(self.pieces)

    def __iter__(self) -> Iterator[Piece]:
        return iter(self.pieces)


@dataclass(frozen=True, slots=True)
class PieceDraft:
    """What a person says of one read tile when filing it. Anything unknown stays None.

    `load_id` is the piece's own load where it is another than its photo's; `replaces` is the number of an
    earlier reading of the same piece that this one stands in for, such as one with a wrong outline.
    """

    tile_index: int
    code: str | None = None
    kind: str = "tile"
    body_id: int | None = None
    layers: tuple[Layer, ...] = ()
    shelf: str | None = None
    facts: Mapping[str, FactValue] = field(default_factory=dict)
    notes: str = ""
    load_id: int | None = None
    replaces: int | None = None


@dataclass(frozen=True, slots=True)
class ColourMatch:
    """A piece found by colour: which of its palette colours came nearest, and how near.

    `calibration_kind` tells what the colour rests on: with "none" the photo carried neither card nor chart,
    and the difference says little. `outdated` marks a colour measured by an earlier definition than
    the one in use; read its photo again before comparing.
    """

    piece: Piece
    delta_e_00: float
    lab: Lab
    fraction: float
    calibration_kind: str = "none"
    reading_id: int | None = None
    outdated: bool = False
