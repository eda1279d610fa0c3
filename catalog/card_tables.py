"""Rows of the printed cards whose true colours were taught."""

from __future__ import annotations

from datetime import date

from sqlalchemy import ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from catalog.columns import JsonObject, Moment, Number, now
from catalog.tables import Base

__all__ = ["CardTeachingRow"]


class CardTeachingRow(Base):
    """One teaching of one card. The newest of a size that was not taken back is the one in use."""

    __tablename__ = "card_teaching"
    __table_args__ = ({"info": {"rights": "keeper"}},)

    id: Mapped[Number]
    layout: Mapped[str]
    taught_on: Mapped[date]
    card: Mapped[JsonObject]
    photo_sha256: Mapped[str] = mapped_column(ForeignKey("photo.sha256", ondelete="RESTRICT"), index=True)
    kept_at: Mapped[Moment] = mapped_column(default=now)
    removed_at: Mapped[Moment | None]
