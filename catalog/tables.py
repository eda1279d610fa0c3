"""The rows of the catalogue. They never leave `catalog`; everybody else sees `catalog.records`.

A change here needs a migration (`catalog/migrations/versions`); a test compares the two. What a table's or
column's `info` says of the log of changes and of rights: `catalog.people.belonging`.
"""

from __future__ import annotations

from datetime import date
from typing import ClassVar

from sqlalchemy import (
    JSON,
    CheckConstraint,
    Double,
    ForeignKey,
    Index,
    MetaData,
    String,
    UniqueConstraint,
    text,
)
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column, relationship

from catalog.columns import Digest, JsonObject, Moment, Number, Uid, now

__all__ = [
    "Base",
    "BodyRow",
    "ConeRow",
    "CounterRow",
    "JudgementRow",
    "LayerRow",
    "LineRow",
    "LoadRow",
    "PaletteRow",
    "PhotoRow",
    "PieceFaultRow",
    "PieceRow",
    "ReadingRow",
    "ReadingTaughtRow",
    "RecipeRow",
    "SegmentRow",
]


class Base(DeclarativeBase):
    """Base of all rows; names every constraint, so that a migration can find it again."""

    # SQLAlchemy 2.0 makes a FLOAT of a float, 2.1 a DOUBLE; the format on disk must not depend on it.
    type_annotation_map: ClassVar = {float: Double}
    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
            "pk": "pk_%(table_name)s",
        }
    )


class CounterRow(Base):
    """A number that only grows: the state of the colours (a search sees its copy is old), codes given."""

    __tablename__ = "counter"
    __table_args__ = ({"info": {"log": "no", "rights": "free"}},)

    name: Mapped[str] = mapped_column(String(64), primary_key=True)
    value: Mapped[int]


class BodyRow(Base):
    """A clay body."""

    __tablename__ = "body"
    __table_args__ = (
        CheckConstraint("absorption_pct >= 0 AND absorption_pct <= 100", name="absorption_pct"),
    )

    id: Mapped[Number]
    uid: Mapped[Uid]
    name: Mapped[str]
    name_key: Mapped[str] = mapped_column(unique=True)
    kind: Mapped[str]
    rated_cone: Mapped[str | None]
    absorption_pct: Mapped[float | None]
    facts: Mapped[JsonObject]
    notes: Mapped[str]
    created_at: Mapped[Moment] = mapped_column(default=now)


class RecipeRow(Base):
    """One revision of a recipe. Written once."""

    __tablename__ = "recipe"
    __table_args__ = (
        UniqueConstraint("name_key", "revision"),
        CheckConstraint("revision >= 1", name="revision"),
    )

    id: Mapped[Number]
    uid: Mapped[Uid]
    name: Mapped[str]
    name_key: Mapped[str]
    revision: Mapped[int]
    cone_low: Mapped[str | None]
    cone_high: Mapped[str | None]
    intended: Mapped[list[str]] = mapped_column(JSON)
    facts: Mapped[JsonObject]
    notes: Mapped[str]
    content: Mapped[Digest]
    created_at: Mapped[Moment] = mapped_column(default=now)

    lines: Mapped[list[LineRow]] = relationship(
        order_by="LineRow.position", cascade="all, delete-orphan", passive_deletes=True
    )


class LineRow(Base):
    """One material of a recipe."""

    __tablename__ = "recipe_line"
    __table_args__ = (CheckConstraint("amount >= 0", name="amount"),)

    recipe_id: Mapped[int] = mapped_column(ForeignKey("recipe.id", ondelete="CASCADE"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    material: Mapped[str]
    amount: Mapped[float]
    addition: Mapped[bool]


class LoadRow(Base):
    """One kiln firing."""

    __tablename__ = "load"
    __table_args__ = (CheckConstraint("kind IN ('bisque', 'glaze')", name="kind"),)

    id: Mapped[Number]
    uid: Mapped[Uid]
    name: Mapped[str]
    kind: Mapped[str]
    kiln: Mapped[str]
    fired_on: Mapped[date | None]
    cone_aimed: Mapped[str | None]
    atmosphere: Mapped[str | None]
    facts: Mapped[JsonObject]
    notes: Mapped[str]
    created_at: Mapped[Moment] = mapped_column(default=now)

    cones: Mapped[list[ConeRow]] = relationship(
        order_by="ConeRow.position", cascade="all, delete-orphan", passive_deletes=True
    )
    segments: Mapped[list[SegmentRow]] = relationship(
        order_by="SegmentRow.position", cascade="all, delete-orphan", passive_deletes=True
    )


class ConeRow(Base):
    """A witness cone of a load."""

    __tablename__ = "load_cone"

    load_id: Mapped[int] = mapped_column(ForeignKey("load.id", ondelete="CASCADE"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    shelf: Mapped[str]
    cone: Mapped[str]
    note: Mapped[str]


class SegmentRow(Base):
    """A segment of a load's planned schedule."""

    __tablename__ = "load_segment"
    __table_args__ = (CheckConstraint("hold_min >= 0", name="hold_min"),)

    load_id: Mapped[int] = mapped_column(ForeignKey("load.id", ondelete="CASCADE"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    rate_c_per_h: Mapped[float]
    target_c: Mapped[float]
    hold_min: Mapped[float]


class PhotoRow(Base):
    """A photo kept by the digest of its bytes."""

    __tablename__ = "photo"
    __table_args__ = (
        CheckConstraint("length(sha256) = 64", name="sha256"),
        CheckConstraint("size_bytes > 0", name="size_bytes"),
        {"info": {"log": "no"}},
    )

    sha256: Mapped[str] = mapped_column(String(64), primary_key=True)
    name: Mapped[str]
    size_bytes: Mapped[int]
    kept_at: Mapped[Moment] = mapped_column(default=now)


class PieceRow(Base):
    """A tile or a piece of ware. A removed one keeps its row, so that it can come back."""

    __tablename__ = "piece"
    __table_args__ = (
        CheckConstraint("kind IN ('tile', 'ware', 'patch')", name="kind"),
        Index(
            "uq_piece_code_key_kept",
            "code_key",
            unique=True,
            sqlite_where=text("deleted_at IS NULL"),
            postgresql_where=text("deleted_at IS NULL"),
        ),
        Index("ix_piece_filed_at_id", "filed_at", "id"),
    )

    id: Mapped[Number]
    uid: Mapped[Uid]
    code: Mapped[str]
    code_key: Mapped[str]
    kind: Mapped[str]
    body_id: Mapped[int | None] = mapped_column(ForeignKey("body.id", ondelete="RESTRICT"), index=True)
    load_id: Mapped[int | None] = mapped_column(ForeignKey("load.id", ondelete="RESTRICT"), index=True)
    shelf: Mapped[str | None]
    facts: Mapped[JsonObject]
    notes: Mapped[str]
    filed_at: Mapped[Moment] = mapped_column(default=now)
    deleted_at: Mapped[Moment | None]

    body: Mapped[BodyRow | None] = relationship()
    load: Mapped[LoadRow | None] = relationship()
    layers: Mapped[list[LayerRow]] = relationship(
        order_by="LayerRow.position", cascade="all, delete-orphan", passive_deletes=True
    )
    readings: Mapped[list[ReadingRow]] = relationship(
        order_by="ReadingRow.id.desc()", back_populates="piece", passive_deletes=True
    )
    judgements: Mapped[list[JudgementRow]] = relationship(
        order_by="JudgementRow.id", passive_deletes=True, cascade="all, delete-orphan"
    )


class LayerRow(Base):
    """A layer on a piece, counted from the clay outward."""

    __tablename__ = "layer"
    __table_args__ = (
        CheckConstraint("coats >= 0", name="coats"),
        CheckConstraint("raw_thickness_mm >= 0", name="raw_thickness_mm"),
    )

    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id", ondelete="CASCADE"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    recipe_id: Mapped[int | None] = mapped_column(ForeignKey("recipe.id", ondelete="RESTRICT"), index=True)
    name: Mapped[str]
    coats: Mapped[int | None]
    method: Mapped[str | None]
    raw_thickness_mm: Mapped[float | None]

    recipe: Mapped[RecipeRow | None] = relationship()


class ReadingRow(Base):
    """A reading as filed. `superseded_by_id` names the later reading of the same tile in the same photo.

    One that names itself was taken back when its filing was undone: it is kept, and shown nowhere.
    """

    __tablename__ = "reading"
    __table_args__ = (
        CheckConstraint("calibration_kind IN ('chart', 'card', 'none')", name="calibration_kind"),
        CheckConstraint("tile_index >= 0", name="tile_index"),
    )

    id: Mapped[Number]
    uid: Mapped[Uid]
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id", ondelete="CASCADE"), index=True)
    photo_sha256: Mapped[str] = mapped_column(ForeignKey("photo.sha256", ondelete="RESTRICT"), index=True)
    tile_index: Mapped[int]
    calibration_kind: Mapped[str]
    mm_per_px: Mapped[float | None]
    residual_delta_e_00: Mapped[float | None]
    photo_flags: Mapped[list[str]] = mapped_column(JSON)
    method: Mapped[JsonObject]
    colour_method: Mapped[int]
    finish: Mapped[str | None]
    tile: Mapped[JsonObject] = mapped_column(info={"log": "no"})
    view_sha256: Mapped[str | None] = mapped_column(String(64))
    read_at: Mapped[Moment] = mapped_column(default=now)
    superseded_by_id: Mapped[int | None] = mapped_column(ForeignKey("reading.id", ondelete="SET NULL"))

    piece: Mapped[PieceRow] = relationship(back_populates="readings")
    palette: Mapped[list[PaletteRow]] = relationship(
        order_by="PaletteRow.position", cascade="all, delete-orphan", passive_deletes=True
    )
    taught: Mapped[ReadingTaughtRow | None] = relationship(
        lazy="selectin", cascade="all, delete-orphan", passive_deletes=True
    )


class ReadingTaughtRow(Base):
    """The teaching that a reading's colours rest on, as it stood when the photo was read."""

    __tablename__ = "reading_taught"
    __table_args__ = ({"info": {"log": "no", "rights": "free"}},)

    reading_id: Mapped[int] = mapped_column(ForeignKey("reading.id", ondelete="CASCADE"), primary_key=True)
    taught: Mapped[JsonObject]


class PaletteRow(Base):
    """One colour of a reading's glazed face, CIELAB D65/2 degree."""

    __tablename__ = "palette"
    __table_args__ = (
        CheckConstraint("lightness >= -1 AND lightness <= 101", name="lightness"),
        CheckConstraint("fraction >= 0 AND fraction <= 1", name="fraction"),
        {"info": {"log": "no", "rights": "free"}},
    )

    reading_id: Mapped[int] = mapped_column(ForeignKey("reading.id", ondelete="CASCADE"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    lightness: Mapped[float]
    a_star: Mapped[float]
    b_star: Mapped[float]
    fraction: Mapped[float]


class JudgementRow(Base):
    """A person's word on a piece. One taken back keeps its row."""

    __tablename__ = "judgement"
    __table_args__ = (
        CheckConstraint("about IN ('fault', 'cause', 'use')", name="about"),
        CheckConstraint(
            "verdict IN ('present', 'absent', 'intended', 'confirmed', 'refuted', 'fix_worked')",
            name="verdict",
        ),
    )

    id: Mapped[Number]
    uid: Mapped[Uid]
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id", ondelete="CASCADE"), index=True)
    about: Mapped[str]
    subject: Mapped[str]
    verdict: Mapped[str]
    by: Mapped[str]
    note: Mapped[str]
    made_at: Mapped[Moment] = mapped_column(default=now)
    removed_at: Mapped[Moment | None]


class PieceFaultRow(Base):
    """A fault that stands after a person's word. Derived by `catalog.faults`, kept for quick filters."""

    __tablename__ = "piece_fault"
    __table_args__ = (
        CheckConstraint("probability >= 0 AND probability <= 1", name="probability"),
        {"info": {"log": "no", "rights": "free"}},
    )

    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id", ondelete="CASCADE"), primary_key=True)
    fault: Mapped[str] = mapped_column(primary_key=True, index=True)
    probability: Mapped[float]
