"""Unloadings: photos taken in, how far each is, what its filing did."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "unloading",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("load_id", sa.Integer(), nullable=True),
        sa.Column("files_itself", sa.Boolean(), nullable=False),
        sa.Column("stopped", sa.Boolean(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("closed_at", sa.DateTime(), nullable=True),
        sa.ForeignKeyConstraint(
            ["load_id"], ["load.id"], name=op.f("fk_unloading_load_id_load"), ondelete="SET NULL"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_unloading")),
        sa.UniqueConstraint("uid", name=op.f("uq_unloading_uid")),
    )
    op.create_table(
        "unloading_photo",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("unloading_id", sa.Integer(), nullable=False),
        sa.Column("photo_sha256", sa.String(length=64), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("state", sa.String(length=16), nullable=False),
        sa.Column("subject", sa.String(), nullable=True),
        sa.Column("outlines", sa.JSON(), nullable=False),
        sa.Column("reader", sa.String(), nullable=True),
        sa.Column("taken_at", sa.DateTime(), nullable=True),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("seconds", sa.Double(), nullable=True),
        sa.Column("reading", sa.JSON(), nullable=True),
        sa.Column("pictures", sa.JSON(), nullable=False),
        sa.Column("said", sa.JSON(), nullable=False),
        sa.Column("trouble", sa.JSON(), nullable=False),
        sa.Column("filing", sa.JSON(), nullable=False),
        sa.CheckConstraint(
            "state IN ('waiting', 'in_hand', 'read', 'failed', 'filed', 'left_out')",
            name=op.f("ck_unloading_photo_state"),
        ),
        sa.ForeignKeyConstraint(
            ["photo_sha256"],
            ["photo.sha256"],
            name=op.f("fk_unloading_photo_photo_sha256_photo"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["unloading_id"],
            ["unloading.id"],
            name=op.f("fk_unloading_photo_unloading_id_unloading"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_unloading_photo")),
        sa.UniqueConstraint(
            "unloading_id", "photo_sha256", name=op.f("uq_unloading_photo_unloading_id_photo_sha256")
        ),
    )
    for column in ("photo_sha256", "state", "unloading_id"):
        op.create_index(op.f(f"ix_unloading_photo_{column}"), "unloading_photo", [column])
