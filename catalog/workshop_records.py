"""What a studio measures of its own stuff, as frozen records."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from catalog.glaze.analysis_sheet import AnalysisSheet, OwnMaterial

__all__ = ["MEASURE_KINDS", "BodyMeasure", "KeptLog", "KeptMaterial"]

MEASURE_KINDS = ("ranges", "expansion", "absorption", "shrinkage")


@dataclass(frozen=True, slots=True)
class KeptMaterial:
    """One revision of a material of the studio's own: the sheet as typed, and what it makes."""

    id: int
    sheet: AnalysisSheet
    own: OwnMaterial
    created_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class KeptLog:
    """The log of a load: its file's digest and name, and what a person chose of its columns."""

    load_id: int
    sha256: str
    name: str
    size_bytes: int
    choice: Mapping[str, str]
    kept_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class BodyMeasure:
    """One thing measured of a clay (`catalog.body.measures` says what `figures` holds for each kind).

    `cone` is the cone the test pieces were fired to, as text.
    """

    id: int
    body_id: int
    kind: str
    figures: Mapping[str, Any] = field(default_factory=dict)
    cone: str | None = None
    measured_on: date | None = None
    note: str = ""
    kept_at: datetime | None = None
