"""Who has a piece; on which side of its shelf it stood."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "piece_holder",
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("holder", sa.String(), nullable=False),
        sa.Column("since", sa.Date(), nullable=True),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("kept_at", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["piece_id"], ["piece.id"], name=op.f("fk_piece_holder_piece_id_piece"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("piece_id", name=op.f("pk_piece_holder")),
    )
    op.create_table(
        "piece_side",
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("side", sa.String(length=8), nullable=False),
        sa.CheckConstraint(
            "side IN ('front', 'back', 'left', 'right', 'middle')", name=op.f("ck_piece_side_side")
        ),
        sa.ForeignKeyConstraint(
            ["piece_id"], ["piece.id"], name=op.f("fk_piece_side_piece_id_piece"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("piece_id", name=op.f("pk_piece_side")),
    )
