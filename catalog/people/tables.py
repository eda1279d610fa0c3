"""Rows of people, of their being signed in, of what is whose, and of what was changed.

None of them travels in a package: they say who works here, not what was made.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import JSON, CheckConstraint, ForeignKey, Index, String
from sqlalchemy.orm import Mapped, mapped_column

from catalog.columns import Digest, JsonObject, Moment, Number, Uid, now
from catalog.tables import Base

__all__ = ["AttemptRow", "ChangeGroupRow", "ChangeRow", "OwnedRow", "PersonRow", "SignInRow"]


class PersonRow(Base):
    """One person. Somebody who left keeps the row: their name stands on what they did."""

    __tablename__ = "person"
    __table_args__ = (
        CheckConstraint("role IN ('keeper', 'member', 'reader')", name="role"),
        {"info": {"travels": "no", "rights": "keeper"}},
    )

    id: Mapped[Number]
    uid: Mapped[Uid]
    name: Mapped[str]
    name_key: Mapped[str] = mapped_column(unique=True)
    role: Mapped[str] = mapped_column(String(8))
    email: Mapped[str | None]
    email_key: Mapped[str | None] = mapped_column(unique=True)
    passphrase_hash: Mapped[str | None] = mapped_column(info={"log": "no"})
    created_at: Mapped[Moment] = mapped_column(default=now)
    left_at: Mapped[Moment | None]


class SignInRow(Base):
    """Somebody signed in. The token itself is known only to their browser; here stands its digest."""

    __tablename__ = "sign_in"
    __table_args__ = ({"info": {"travels": "no", "log": "no", "rights": "none"}},)

    id: Mapped[Number]
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id", ondelete="CASCADE"), index=True)
    token_digest: Mapped[Digest] = mapped_column(unique=True)
    made_at: Mapped[Moment] = mapped_column(default=now)
    seen_at: Mapped[Moment] = mapped_column(default=now)
    ended_at: Mapped[Moment | None]


class AttemptRow(Base):
    """How often signing in failed in a row, under one name (its digest) or in all, and the wait for it."""

    __tablename__ = "sign_in_attempt"
    __table_args__ = ({"info": {"travels": "no", "log": "no", "rights": "none"}},)

    who: Mapped[str] = mapped_column(String(64), primary_key=True)
    failures: Mapped[int]
    last_at: Mapped[Moment]
    free_at: Mapped[Moment]


class OwnedRow(Base):
    """Whose a piece, load, clay or other thing with a `uid` is. What stands here not is the keeper's."""

    __tablename__ = "owned"
    __table_args__ = ({"info": {"travels": "no", "log": "no", "rights": "keeper"}},)

    uid: Mapped[str] = mapped_column(String(32), primary_key=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id", ondelete="RESTRICT"), index=True)


class ChangeGroupRow(Base):
    """One transaction that changed something: who, when, and whether it took another one back."""

    __tablename__ = "change_group"
    __table_args__ = ({"info": {"travels": "no", "log": "no", "rights": "keeper"}},)

    id: Mapped[Number]
    made_at: Mapped[Moment] = mapped_column(default=now, index=True)
    person_id: Mapped[int | None] = mapped_column(ForeignKey("person.id", ondelete="SET NULL"), index=True)
    who: Mapped[str]
    undoes_id: Mapped[int | None] = mapped_column(ForeignKey("change_group.id", ondelete="SET NULL"))
    whole: Mapped[bool]
    counts: Mapped[JsonObject]


class ChangeRow(Base):
    """One row added, changed or removed: its key, what it is part of, its columns before and after."""

    __tablename__ = "change_row"
    __table_args__ = (
        CheckConstraint("kind IN ('added', 'changed', 'removed')", name="kind"),
        Index("ix_change_row_table_name_row_key", "table_name", "row_key"),
        {"info": {"travels": "no", "log": "no", "rights": "keeper"}},
    )

    id: Mapped[Number]
    group_id: Mapped[int] = mapped_column(ForeignKey("change_group.id", ondelete="CASCADE"), index=True)
    table_name: Mapped[str] = mapped_column(String(64))
    row_key: Mapped[str]
    root: Mapped[str] = mapped_column(index=True)
    kind: Mapped[str] = mapped_column(String(8))
    before: Mapped[dict[str, Any]] = mapped_column(JSON)
    after: Mapped[dict[str, Any]] = mapped_column(JSON)
