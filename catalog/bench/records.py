"""The work before the firing as frozen records."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime

__all__ = [
    "BUCKET_KINDS",
    "EVENT_KINDS",
    "LOSS_REASONS",
    "METHODS",
    "STAGES",
    "Bucket",
    "Glazing",
    "GlazingDraft",
    "GlazingLayer",
    "LayerDraft",
    "Loss",
    "Progress",
]

BUCKET_KINDS = ("glaze", "underglaze", "slip")

METHODS = ("dip", "pour", "brush", "spray")
"""Values of the fact `application.method`."""

STAGES = ("made", "drying", "bone_dry", "bisqued", "glazed", "fired", "out")
"""In the order a piece goes through them; "out" is out of the kiln and looked at."""

EVENT_KINDS = ("stage", "crack", "loss")

LOSS_REASONS = ("cracked", "broken", "warped", "burst", "glaze", "stuck", "other")
"""Why a piece was lost; "burst" is blown apart in the kiln, "stuck" grown to shelf or neighbour."""


@dataclass(frozen=True, slots=True)
class Bucket:
    """A bucket or jar as it was mixed.

    Attributes
    ----------
    code : on its label, such as B-0003
    kind : one of `BUCKET_KINDS`
    name : of the glaze or colour
    recipe_id : the revision it was mixed from, None for a bought one
    gravity : g/ml as last measured on `measured_on`; None is not measured
    """

    id: int
    code: str
    kind: str
    name: str
    recipe_id: int | None = None
    mixed_on: date | None = None
    gravity: float | None = None
    measured_on: date | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class LayerDraft:
    """One layer to be put on, from one bucket. `seconds` is how long it was dipped or poured."""

    bucket: str
    method: str | None = None
    coats: int | None = None
    seconds: float | None = None


@dataclass(frozen=True, slots=True)
class GlazingDraft:
    """What a person says of pieces glazed together. Anything unknown stays None.

    Attributes
    ----------
    layers : from the clay outward, at least one
    codes : pieces kept already, or codes of pieces that nobody has filed yet: those are made
    new : how many pieces to make besides, each with the next free code
    kind, body_id : of the pieces made
    bisque_wiped : sponged or rinsed before glazing
    foot_wiped : foot and all that stands on the shelf is bare
    overlap : one layer laps over another in part
    touches : rims or lids that will touch another piece are glazed, or it will be stacked
    catch : will stand on a catch plate
    foot_gap_mm : bare band left above the foot, mm
    photo : bytes of one picture of the raw coat
    """

    layers: tuple[LayerDraft, ...]
    codes: tuple[str, ...] = ()
    new: int = 0
    kind: str = "tile"
    body_id: int | None = None
    bisque_wiped: bool | None = None
    foot_wiped: bool | None = None
    overlap: bool | None = None
    touches: bool | None = None
    catch: bool | None = None
    foot_gap_mm: float | None = None
    photo: bytes | None = None
    photo_name: str = "raw-coat.jpg"
    on: date | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class GlazingLayer:
    """A layer as it was put on; `bucket` is the bucket's code, `gravity` its g/ml on that day."""

    bucket: str | None
    kind: str
    name: str
    method: str | None = None
    coats: int | None = None
    seconds: float | None = None
    gravity: float | None = None


@dataclass(frozen=True, slots=True)
class Glazing:
    """Pieces glazed together; fields as `GlazingDraft`. `made` are the codes that it made."""

    id: int
    glazed_on: date
    layers: tuple[GlazingLayer, ...]
    codes: tuple[str, ...]
    made: tuple[str, ...]
    said_at: datetime
    bisque_wiped: bool | None = None
    foot_wiped: bool | None = None
    overlap: bool | None = None
    touches: bool | None = None
    catch: bool | None = None
    foot_gap_mm: float | None = None
    photo_sha256: str | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Loss:
    """A piece lost: at which stage, why (`LOSS_REASONS`), when."""

    stage: str
    reason: str
    on: date
    note: str = ""


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a piece is.

    Attributes
    ----------
    stage : the last one said, None where nobody said one
    days : when each stage was reached, as last said
    crack : the stage at which a crack was first seen
    loss : set where the piece was lost
    """

    code: str
    stage: str | None = None
    days: Mapping[str, date] = field(default_factory=dict)
    crack: str | None = None
    loss: Loss | None = None
