"""Rows of the work before the firing. They never leave `catalog`."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column, relationship

from catalog.columns import JsonObject, Moment, Number, Uid, now
from catalog.tables import Base

__all__ = [
    "BucketRow",
    "GlazingBeforeRow",
    "GlazingLayerRow",
    "GlazingPieceRow",
    "GlazingRow",
    "PieceEventRow",
]


class BucketRow(Base):
    """A bucket (or jar) as it was mixed. Pieces name theirs in `piece_batch`. One removed keeps its row."""

    __tablename__ = "bucket"
    __table_args__ = (
        CheckConstraint("kind IN ('glaze', 'underglaze', 'slip')", name="kind"),
        CheckConstraint("gravity > 0", name="gravity"),
    )

    id: Mapped[Number]
    uid: Mapped[Uid]
    code: Mapped[str] = mapped_column(String(40), index=True)
    kind: Mapped[str] = mapped_column(String(16))
    name: Mapped[str]
    recipe_id: Mapped[int | None] = mapped_column(ForeignKey("recipe.id", ondelete="SET NULL"), index=True)
    mixed_on: Mapped[date | None]
    gravity: Mapped[float | None]
    measured_on: Mapped[date | None]
    note: Mapped[str]
    kept_at: Mapped[Moment] = mapped_column(default=now)
    removed_at: Mapped[Moment | None]


class GlazingRow(Base):
    """Pieces glazed together in one way. One taken back keeps its row."""

    __tablename__ = "glazing"
    __table_args__ = (CheckConstraint("foot_gap_mm >= 0", name="foot_gap_mm"),)

    id: Mapped[Number]
    uid: Mapped[Uid]
    glazed_on: Mapped[date]
    bisque_wiped: Mapped[bool | None]
    foot_wiped: Mapped[bool | None]
    overlap: Mapped[bool | None]
    touches: Mapped[bool | None]
    catch: Mapped[bool | None]
    foot_gap_mm: Mapped[float | None]
    photo_sha256: Mapped[str | None] = mapped_column(
        ForeignKey("photo.sha256", ondelete="SET NULL"), index=True
    )
    note: Mapped[str]
    said_at: Mapped[Moment] = mapped_column(default=now)
    removed_at: Mapped[Moment | None]

    layers: Mapped[list[GlazingLayerRow]] = relationship(
        order_by="GlazingLayerRow.position", cascade="all, delete-orphan", passive_deletes=True
    )
    pieces: Mapped[list[GlazingPieceRow]] = relationship(
        order_by="GlazingPieceRow.position", cascade="all, delete-orphan", passive_deletes=True
    )


class GlazingLayerRow(Base):
    """One layer of a glazing, from the clay outward, with the bucket's gravity on that day."""

    __tablename__ = "glazing_layer"
    __table_args__ = (
        CheckConstraint("coats >= 0", name="coats"),
        CheckConstraint("seconds >= 0", name="seconds"),
        CheckConstraint("gravity > 0", name="gravity"),
    )

    glazing_id: Mapped[int] = mapped_column(ForeignKey("glazing.id", ondelete="CASCADE"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    bucket_id: Mapped[int | None] = mapped_column(ForeignKey("bucket.id", ondelete="SET NULL"), index=True)
    kind: Mapped[str] = mapped_column(String(16))
    name: Mapped[str]
    method: Mapped[str | None]
    coats: Mapped[int | None]
    seconds: Mapped[float | None]
    gravity: Mapped[float | None]

    bucket: Mapped[BucketRow | None] = relationship()


class GlazingPieceRow(Base):
    """A piece of a glazing, and whether the glazing made it."""

    __tablename__ = "glazing_piece"

    glazing_id: Mapped[int] = mapped_column(ForeignKey("glazing.id", ondelete="CASCADE"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id", ondelete="CASCADE"), index=True)
    made: Mapped[bool]


class GlazingBeforeRow(Base):
    """What a piece was before a glazing and what that made of it, to undo it. Stays at home."""

    __tablename__ = "glazing_before"
    __table_args__ = ({"info": {"travels": "no"}},)

    glazing_id: Mapped[int] = mapped_column(ForeignKey("glazing.id", ondelete="CASCADE"), primary_key=True)
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id", ondelete="CASCADE"), primary_key=True)
    before: Mapped[JsonObject]
    after: Mapped[JsonObject]


class PieceEventRow(Base):
    """One thing that happened to a piece on a day: a stage reached, a crack first seen, a loss.

    Rows said together share `entry`, by which they are taken back together; a taken-back one keeps its row.
    """

    __tablename__ = "piece_event"
    __table_args__ = (
        CheckConstraint("kind IN ('stage', 'crack', 'loss')", name="kind"),
        CheckConstraint(
            "stage IN ('made', 'drying', 'bone_dry', 'bisqued', 'glazed', 'fired', 'out')", name="stage"
        ),
    )

    id: Mapped[Number]
    uid: Mapped[Uid]
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id", ondelete="CASCADE"), index=True)
    kind: Mapped[str] = mapped_column(String(8))
    stage: Mapped[str] = mapped_column(String(16))
    happened_on: Mapped[date]
    reason: Mapped[str]
    note: Mapped[str]
    made: Mapped[bool]
    entry: Mapped[str] = mapped_column(String(32), index=True)
    glazing_id: Mapped[int | None] = mapped_column(ForeignKey("glazing.id", ondelete="SET NULL"), index=True)
    said_at: Mapped[Moment] = mapped_column(default=now)
    removed_at: Mapped[Moment | None]
