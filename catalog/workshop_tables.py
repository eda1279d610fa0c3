"""Rows of what a studio measures of its own stuff: materials by sheet, logs, witness cones, clays."""

from __future__ import annotations

from datetime import date
from typing import Any

from sqlalchemy import JSON, CheckConstraint, ForeignKey, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from catalog.columns import Digest, JsonObject, Moment, Number, Uid, now
from catalog.tables import Base

__all__ = ["BodyMeasureRow", "LoadBisqueRow", "LoadLogRow", "LoadWitnessRow", "MaterialRow"]


class MaterialRow(Base):
    """One revision of a material of the studio's own, as its sheet says. Written once."""

    __tablename__ = "material"
    __table_args__ = (
        UniqueConstraint("name_key", "revision"),
        CheckConstraint("revision >= 1", name="revision"),
        CheckConstraint("moisture_pct >= 0 AND moisture_pct < 100", name="moisture_pct"),
    )

    id: Mapped[Number]
    uid: Mapped[Uid]
    name: Mapped[str]
    name_key: Mapped[str]
    revision: Mapped[int]
    oxides: Mapped[JsonObject]
    loi_pct: Mapped[float]
    basis: Mapped[str]
    fluorine_pct: Mapped[float]
    moisture_pct: Mapped[float | None]
    lot: Mapped[str]
    gas_like: Mapped[str]
    source: Mapped[str]
    created_at: Mapped[Moment] = mapped_column(default=now)


class LoadLogRow(Base):
    """The log of a load: which file, and how a person said its columns are to be read."""

    __tablename__ = "load_log"
    __table_args__ = (
        CheckConstraint("length(sha256) = 64", name="sha256"),
        CheckConstraint("size_bytes > 0", name="size_bytes"),
    )

    load_id: Mapped[int] = mapped_column(ForeignKey("load.id", ondelete="CASCADE"), primary_key=True)
    sha256: Mapped[Digest]
    name: Mapped[str]
    size_bytes: Mapped[int]
    choice: Mapped[JsonObject]
    kept_at: Mapped[Moment] = mapped_column(default=now)


class LoadWitnessRow(Base):
    """A witness cone or bar as it was found: which one stood where, and how far it had bent."""

    __tablename__ = "load_witness"
    __table_args__ = (
        CheckConstraint("form IN ('cone', 'bar')", name="form"),
        CheckConstraint("angle_deg >= 0 AND angle_deg <= 180", name="angle_deg"),
    )

    load_id: Mapped[int] = mapped_column(ForeignKey("load.id", ondelete="CASCADE"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    shelf: Mapped[str]
    form: Mapped[str] = mapped_column(String(8))
    cone: Mapped[str]
    angle_deg: Mapped[float]
    note: Mapped[str]


class LoadBisqueRow(Base):
    """The bisque load that the ware of a glaze load came from."""

    __tablename__ = "load_bisque"
    __table_args__ = (CheckConstraint("load_id != bisque_id", name="not_itself"),)

    load_id: Mapped[int] = mapped_column(ForeignKey("load.id", ondelete="CASCADE"), primary_key=True)
    bisque_id: Mapped[int] = mapped_column(ForeignKey("load.id", ondelete="CASCADE"), index=True)


class BodyMeasureRow(Base):
    """One thing measured of a clay, or typed from its sheet: the newest of a kind counts."""

    __tablename__ = "body_measure"
    __table_args__ = (
        CheckConstraint("kind IN ('ranges', 'expansion', 'absorption', 'shrinkage')", name="kind"),
    )

    id: Mapped[Number]
    uid: Mapped[Uid]
    body_id: Mapped[int] = mapped_column(ForeignKey("body.id", ondelete="CASCADE"), index=True)
    kind: Mapped[str] = mapped_column(String(16))
    cone: Mapped[str | None]
    measured_on: Mapped[date | None]
    figures: Mapped[dict[str, Any]] = mapped_column(JSON)
    note: Mapped[str]
    kept_at: Mapped[Moment] = mapped_column(default=now)
