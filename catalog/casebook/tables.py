"""Rows of what a studio learns of its faults. They never leave `catalog`."""

from __future__ import annotations

from datetime import date
from typing import Any

from sqlalchemy import JSON, CheckConstraint, ForeignKey, Index, String, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from catalog.columns import JsonObject, Moment, Number, Uid, now
from catalog.tables import Base

__all__ = [
    "AnswerRow",
    "GlazeEffectRow",
    "LeachRow",
    "OutcomeRow",
    "PieceBatchRow",
    "SettingRow",
    "TrialPieceRow",
    "TrialRow",
]


class SettingRow(Base):
    """How this studio works: whether it shares its kiln, where its ware is used."""

    __tablename__ = "setting"
    __table_args__ = ({"info": {"rights": "keeper"}},)

    name: Mapped[str] = mapped_column(String(64), primary_key=True)
    value: Mapped[str]


class AnswerRow(Base):
    """What a person answered about a piece. `value` is {"value": ...}, or empty for "nobody knows"."""

    __tablename__ = "answer"
    __table_args__ = (CheckConstraint("certainty > 0 AND certainty <= 1", name="certainty"),)

    id: Mapped[Number]
    uid: Mapped[Uid]
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id", ondelete="CASCADE"), index=True)
    fact: Mapped[str]
    value: Mapped[JsonObject]
    certainty: Mapped[float]
    said_by: Mapped[str]
    said_at: Mapped[Moment] = mapped_column(default=now)
    removed_at: Mapped[Moment | None]


class PieceBatchRow(Base):
    """Which bucket a piece was glazed from, which lot its clay came from."""

    __tablename__ = "piece_batch"
    __table_args__ = (
        CheckConstraint("kind IN ('bucket', 'clay_lot')", name="kind"),
        Index("ix_piece_batch_kind_name_key", "kind", "name_key"),
    )

    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id", ondelete="CASCADE"), primary_key=True)
    kind: Mapped[str] = mapped_column(String(16), primary_key=True)
    name: Mapped[str]
    name_key: Mapped[str]


class GlazeEffectRow(Base):
    """An effect that a glaze is meant to have, in all its revisions."""

    __tablename__ = "glaze_effect"
    __table_args__ = ({"info": {"rights": "keeper"}},)

    glaze_key: Mapped[str] = mapped_column(primary_key=True)
    effect: Mapped[str] = mapped_column(primary_key=True)


class TrialRow(Base):
    """A trial as it was planned, with the prediction written down before the firing."""

    __tablename__ = "trial"
    __table_args__ = (
        CheckConstraint("prediction >= 0 AND prediction <= 1", name="prediction"),
        CheckConstraint("said IN ('points_to', 'points_away', 'unclear')", name="said"),
    )

    id: Mapped[Number]
    uid: Mapped[Uid]
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id", ondelete="CASCADE"), index=True)
    fault: Mapped[str]
    pair_id: Mapped[str]
    split: Mapped[str]
    plan: Mapped[JsonObject]
    prediction: Mapped[float]
    ranking: Mapped[JsonObject]
    planned_at: Mapped[Moment] = mapped_column(default=now)
    said: Mapped[str | None]
    said_by: Mapped[str]
    said_at: Mapped[Moment | None]
    note: Mapped[str]
    removed_at: Mapped[Moment | None]

    pieces: Mapped[list[TrialPieceRow]] = relationship(
        order_by="TrialPieceRow.position", cascade="all, delete-orphan", passive_deletes=True
    )


class TrialPieceRow(Base):
    """One piece of a trial, its side, and whether the fault is expected on it if the cause is right."""

    __tablename__ = "trial_piece"

    trial_id: Mapped[int] = mapped_column(ForeignKey("trial.id", ondelete="CASCADE"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id", ondelete="CASCADE"), index=True)
    side: Mapped[str]
    shows_if_so: Mapped[bool | None]


class OutcomeRow(Base):
    """A person's word on a cause with the facts known then, of this studio or another. Undone: kept."""

    __tablename__ = "outcome"
    __table_args__ = (
        UniqueConstraint("name"),
        CheckConstraint("verdict IN ('confirmed', 'refuted', 'fix_worked')", name="verdict"),
        {"info": {"belongs": "piece_id"}},
    )

    id: Mapped[Number]
    name: Mapped[str] = mapped_column(String(300))
    studio: Mapped[str]
    piece_id: Mapped[int | None] = mapped_column(ForeignKey("piece.id", ondelete="SET NULL"), index=True)
    judgement_id: Mapped[int | None] = mapped_column(ForeignKey("judgement.id", ondelete="SET NULL"))
    fault: Mapped[str]
    pair_id: Mapped[str]
    verdict: Mapped[str]
    facts: Mapped[JsonObject]
    said_by: Mapped[str]
    said_on: Mapped[str]
    kept_at: Mapped[Moment] = mapped_column(default=now)
    removed_at: Mapped[Moment | None]


class LeachRow(Base):
    """One figure of a laboratory's report on a tested piece."""

    __tablename__ = "leach_result"
    __table_args__ = (
        CheckConstraint("amount >= 0", name="amount"),
        Index(
            "ix_leach_result_piece_id_kept",
            "piece_id",
            sqlite_where=text("removed_at IS NULL"),
            postgresql_where=text("removed_at IS NULL"),
        ),
    )

    id: Mapped[Number]
    uid: Mapped[Uid]
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id", ondelete="CASCADE"))
    element: Mapped[str]
    amount: Mapped[float]
    unit: Mapped[str]
    below_reporting_limit: Mapped[bool]
    method: Mapped[str]
    laboratory: Mapped[str]
    accredited: Mapped[bool]
    tested_on: Mapped[date]
    ware: Mapped[str]
    region: Mapped[str]
    make: Mapped[dict[str, Any]] = mapped_column(JSON)
    note: Mapped[str]
    kept_at: Mapped[Moment] = mapped_column(default=now)
    removed_at: Mapped[Moment | None]
