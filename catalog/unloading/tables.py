"""Rows of unloadings: what was taken in, how far each photo is, what its filing did.

They are work in hand, so they never travel in a package.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import JSON, CheckConstraint, ForeignKey, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from catalog.columns import JsonObject, Moment, Number, Uid, now
from catalog.tables import Base

__all__ = ["UnloadingPhotoRow", "UnloadingRow"]


class UnloadingRow(Base):
    """One unloading: photos that came in together, of one load."""

    __tablename__ = "unloading"
    __table_args__ = ({"info": {"travels": "no", "log": "no", "rights": "free"}},)

    id: Mapped[Number]
    uid: Mapped[Uid]
    load_id: Mapped[int | None] = mapped_column(ForeignKey("load.id", ondelete="SET NULL"))
    files_itself: Mapped[bool]
    stopped: Mapped[bool]
    made_at: Mapped[Moment] = mapped_column(default=now)
    closed_at: Mapped[Moment | None]

    photos: Mapped[list[UnloadingPhotoRow]] = relationship(
        order_by="UnloadingPhotoRow.id", cascade="all, delete-orphan", passive_deletes=True
    )


class UnloadingPhotoRow(Base):
    """One photo of an unloading. `reading` is kept as it came, also after filing and undoing."""

    __tablename__ = "unloading_photo"
    __table_args__ = (
        UniqueConstraint("unloading_id", "photo_sha256"),
        CheckConstraint(
            "state IN ('waiting', 'in_hand', 'read', 'failed', 'filed', 'left_out')", name="state"
        ),
        {"info": {"travels": "no", "log": "no", "rights": "free"}},
    )

    id: Mapped[Number]
    unloading_id: Mapped[int] = mapped_column(ForeignKey("unloading.id", ondelete="CASCADE"), index=True)
    photo_sha256: Mapped[str] = mapped_column(ForeignKey("photo.sha256", ondelete="CASCADE"), index=True)
    name: Mapped[str]
    state: Mapped[str] = mapped_column(String(16), index=True)
    subject: Mapped[str | None]
    outlines: Mapped[JsonObject]
    reader: Mapped[str | None]
    taken_at: Mapped[Moment | None]
    tries: Mapped[int]
    seconds: Mapped[float | None]
    reading: Mapped[dict[str, Any] | None] = mapped_column(JSON)
    pictures: Mapped[JsonObject]
    said: Mapped[list[dict[str, Any]]] = mapped_column(JSON)
    trouble: Mapped[list[str]] = mapped_column(JSON)
    filing: Mapped[JsonObject]
