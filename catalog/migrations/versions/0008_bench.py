"""Buckets, what was glazed from them, stages, first cracks and losses of pieces."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def _points_at(
    table: str, column: str, other: str, ondelete: str, key: str = "id"
) -> sa.ForeignKeyConstraint:
    name = op.f(f"fk_{table}_{column}_{other}")
    return sa.ForeignKeyConstraint([column], [f"{other}.{key}"], name=name, ondelete=ondelete)


def upgrade() -> None:
    op.create_table(
        "bucket",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("recipe_id", sa.Integer(), nullable=True),
        sa.Column("mixed_on", sa.Date(), nullable=True),
        sa.Column("gravity", sa.Double(), nullable=True),
        sa.Column("measured_on", sa.Date(), nullable=True),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("kept_at", sa.DateTime(), nullable=False),
        sa.Column("removed_at", sa.DateTime(), nullable=True),
        sa.CheckConstraint("kind IN ('glaze', 'underglaze', 'slip')", name=op.f("ck_bucket_kind")),
        sa.CheckConstraint("gravity > 0", name=op.f("ck_bucket_gravity")),
        _points_at("bucket", "recipe_id", "recipe", "SET NULL"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_bucket")),
        sa.UniqueConstraint("uid", name=op.f("uq_bucket_uid")),
    )
    op.create_table(
        "glazing",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("glazed_on", sa.Date(), nullable=False),
        sa.Column("bisque_wiped", sa.Boolean(), nullable=True),
        sa.Column("foot_wiped", sa.Boolean(), nullable=True),
        sa.Column("overlap", sa.Boolean(), nullable=True),
        sa.Column("touches", sa.Boolean(), nullable=True),
        sa.Column("catch", sa.Boolean(), nullable=True),
        sa.Column("foot_gap_mm", sa.Double(), nullable=True),
        sa.Column("photo_sha256", sa.String(length=64), nullable=True),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("said_at", sa.DateTime(), nullable=False),
        sa.Column("removed_at", sa.DateTime(), nullable=True),
        sa.CheckConstraint("foot_gap_mm >= 0", name=op.f("ck_glazing_foot_gap_mm")),
        _points_at("glazing", "photo_sha256", "photo", "SET NULL", "sha256"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_glazing")),
        sa.UniqueConstraint("uid", name=op.f("uq_glazing_uid")),
    )
    op.create_table(
        "glazing_layer",
        sa.Column("glazing_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("bucket_id", sa.Integer(), nullable=True),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("method", sa.String(), nullable=True),
        sa.Column("coats", sa.Integer(), nullable=True),
        sa.Column("seconds", sa.Double(), nullable=True),
        sa.Column("gravity", sa.Double(), nullable=True),
        sa.CheckConstraint("coats >= 0", name=op.f("ck_glazing_layer_coats")),
        sa.CheckConstraint("seconds >= 0", name=op.f("ck_glazing_layer_seconds")),
        sa.CheckConstraint("gravity > 0", name=op.f("ck_glazing_layer_gravity")),
        _points_at("glazing_layer", "glazing_id", "glazing", "CASCADE"),
        _points_at("glazing_layer", "bucket_id", "bucket", "SET NULL"),
        sa.PrimaryKeyConstraint("glazing_id", "position", name=op.f("pk_glazing_layer")),
    )
    op.create_table(
        "glazing_piece",
        sa.Column("glazing_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("made", sa.Boolean(), nullable=False),
        _points_at("glazing_piece", "glazing_id", "glazing", "CASCADE"),
        _points_at("glazing_piece", "piece_id", "piece", "CASCADE"),
        sa.PrimaryKeyConstraint("glazing_id", "position", name=op.f("pk_glazing_piece")),
    )
    op.create_table(
        "glazing_before",
        sa.Column("glazing_id", sa.Integer(), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("before", sa.JSON(), nullable=False),
        sa.Column("after", sa.JSON(), nullable=False),
        _points_at("glazing_before", "glazing_id", "glazing", "CASCADE"),
        _points_at("glazing_before", "piece_id", "piece", "CASCADE"),
        sa.PrimaryKeyConstraint("glazing_id", "piece_id", name=op.f("pk_glazing_before")),
    )
    op.create_table(
        "piece_event",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=8), nullable=False),
        sa.Column("stage", sa.String(length=16), nullable=False),
        sa.Column("happened_on", sa.Date(), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("made", sa.Boolean(), nullable=False),
        sa.Column("entry", sa.String(length=32), nullable=False),
        sa.Column("glazing_id", sa.Integer(), nullable=True),
        sa.Column("said_at", sa.DateTime(), nullable=False),
        sa.Column("removed_at", sa.DateTime(), nullable=True),
        sa.CheckConstraint("kind IN ('stage', 'crack', 'loss')", name=op.f("ck_piece_event_kind")),
        sa.CheckConstraint(
            "stage IN ('made', 'drying', 'bone_dry', 'bisqued', 'glazed', 'fired', 'out')",
            name=op.f("ck_piece_event_stage"),
        ),
        _points_at("piece_event", "piece_id", "piece", "CASCADE"),
        _points_at("piece_event", "glazing_id", "glazing", "SET NULL"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_piece_event")),
        sa.UniqueConstraint("uid", name=op.f("uq_piece_event_uid")),
    )
    for table, column in (
        ("bucket", "code"),
        ("bucket", "recipe_id"),
        ("glazing", "photo_sha256"),
        ("glazing_layer", "bucket_id"),
        ("glazing_piece", "piece_id"),
        ("piece_event", "entry"),
        ("piece_event", "glazing_id"),
        ("piece_event", "piece_id"),
    ):
        op.create_index(op.f(f"ix_{table}_{column}"), table, [column])
