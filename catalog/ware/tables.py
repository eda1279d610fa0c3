"""Rows of what is known of pieces outside the kiln and inside it: who has them, which side they stood on."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column

from catalog.columns import Moment, now
from catalog.tables import Base

__all__ = ["HolderRow", "SideRow"]


class HolderRow(Base):
    """Who has a piece, in the potter's own words. Taken away, it is gone: it may name a person."""

    __tablename__ = "piece_holder"

    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id", ondelete="CASCADE"), primary_key=True)
    holder: Mapped[str] = mapped_column(info={"log": "no"})
    since: Mapped[date | None]
    note: Mapped[str] = mapped_column(info={"log": "no"})
    kept_at: Mapped[Moment] = mapped_column(default=now)


class SideRow(Base):
    """On which side of its shelf a piece stands or stood."""

    __tablename__ = "piece_side"
    __table_args__ = (CheckConstraint("side IN ('front', 'back', 'left', 'right', 'middle')", name="side"),)

    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id", ondelete="CASCADE"), primary_key=True)
    side: Mapped[str] = mapped_column(String(8))
