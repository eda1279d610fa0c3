"""Cards whose true colours were taught; which readings rest on them."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "card_teaching",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("layout", sa.String(), nullable=False),
        sa.Column("taught_on", sa.Date(), nullable=False),
        sa.Column("card", sa.JSON(), nullable=False),
        sa.Column("photo_sha256", sa.String(length=64), nullable=False),
        sa.Column("kept_at", sa.DateTime(), nullable=False),
        sa.Column("removed_at", sa.DateTime(), nullable=True),
        sa.ForeignKeyConstraint(
            ["photo_sha256"],
            ["photo.sha256"],
            name=op.f("fk_card_teaching_photo_sha256_photo"),
            ondelete="RESTRICT",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_card_teaching")),
    )
    op.create_index(op.f("ix_card_teaching_photo_sha256"), "card_teaching", ["photo_sha256"])
    op.create_table(
        "reading_taught",
        sa.Column("reading_id", sa.Integer(), nullable=False),
        sa.Column("taught", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(
            ["reading_id"],
            ["reading.id"],
            name=op.f("fk_reading_taught_reading_id_reading"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("reading_id", name=op.f("pk_reading_taught")),
    )
