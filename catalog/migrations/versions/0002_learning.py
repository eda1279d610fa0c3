"""What a studio learns of its faults: answers, trials, outcomes, release tests, wanted effects."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "glaze_effect",
        sa.Column("glaze_key", sa.String(), nullable=False),
        sa.Column("effect", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("glaze_key", "effect", name=op.f("pk_glaze_effect")),
    )
    op.create_table(
        "setting",
        sa.Column("name", sa.String(length=64), nullable=False),
        sa.Column("value", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_setting")),
    )
    op.create_table(
        "answer",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("fact", sa.String(), nullable=False),
        sa.Column("value", sa.JSON(), nullable=False),
        sa.Column("certainty", sa.Double(), nullable=False),
        sa.Column("said_by", sa.String(), nullable=False),
        sa.Column("said_at", sa.DateTime(), nullable=False),
        sa.Column("removed_at", sa.DateTime(), nullable=True),
        sa.CheckConstraint("certainty > 0 AND certainty <= 1", name=op.f("ck_answer_certainty")),
        sa.ForeignKeyConstraint(
            ["piece_id"], ["piece.id"], name=op.f("fk_answer_piece_id_piece"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_answer")),
        sa.UniqueConstraint("uid", name=op.f("uq_answer_uid")),
    )
    op.create_index(op.f("ix_answer_piece_id"), "answer", ["piece_id"], unique=False)
    op.create_table(
        "leach_result",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("element", sa.String(), nullable=False),
        sa.Column("amount", sa.Double(), nullable=False),
        sa.Column("unit", sa.String(), nullable=False),
        sa.Column("below_reporting_limit", sa.Boolean(), nullable=False),
        sa.Column("method", sa.String(), nullable=False),
        sa.Column("laboratory", sa.String(), nullable=False),
        sa.Column("accredited", sa.Boolean(), nullable=False),
        sa.Column("tested_on", sa.Date(), nullable=False),
        sa.Column("ware", sa.String(), nullable=False),
        sa.Column("region", sa.String(), nullable=False),
        sa.Column("make", sa.JSON(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("kept_at", sa.DateTime(), nullable=False),
        sa.Column("removed_at", sa.DateTime(), nullable=True),
        sa.CheckConstraint("amount >= 0", name=op.f("ck_leach_result_amount")),
        sa.ForeignKeyConstraint(
            ["piece_id"], ["piece.id"], name=op.f("fk_leach_result_piece_id_piece"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_leach_result")),
        sa.UniqueConstraint("uid", name=op.f("uq_leach_result_uid")),
    )
    op.create_index(
        "ix_leach_result_piece_id_kept",
        "leach_result",
        ["piece_id"],
        unique=False,
        sqlite_where=sa.text("removed_at IS NULL"),
        postgresql_where=sa.text("removed_at IS NULL"),
    )
    op.create_table(
        "piece_batch",
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("name_key", sa.String(), nullable=False),
        sa.CheckConstraint("kind IN ('bucket', 'clay_lot')", name=op.f("ck_piece_batch_kind")),
        sa.ForeignKeyConstraint(
            ["piece_id"], ["piece.id"], name=op.f("fk_piece_batch_piece_id_piece"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("piece_id", "kind", name=op.f("pk_piece_batch")),
    )
    op.create_index("ix_piece_batch_kind_name_key", "piece_batch", ["kind", "name_key"], unique=False)
    op.create_table(
        "trial",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("fault", sa.String(), nullable=False),
        sa.Column("pair_id", sa.String(), nullable=False),
        sa.Column("split", sa.String(), nullable=False),
        sa.Column("plan", sa.JSON(), nullable=False),
        sa.Column("prediction", sa.Double(), nullable=False),
        sa.Column("ranking", sa.JSON(), nullable=False),
        sa.Column("planned_at", sa.DateTime(), nullable=False),
        sa.Column("said", sa.String(), nullable=True),
        sa.Column("said_by", sa.String(), nullable=False),
        sa.Column("said_at", sa.DateTime(), nullable=True),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("removed_at", sa.DateTime(), nullable=True),
        sa.CheckConstraint("said IN ('points_to', 'points_away', 'unclear')", name=op.f("ck_trial_said")),
        sa.CheckConstraint("prediction >= 0 AND prediction <= 1", name=op.f("ck_trial_prediction")),
        sa.ForeignKeyConstraint(
            ["piece_id"], ["piece.id"], name=op.f("fk_trial_piece_id_piece"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_trial")),
        sa.UniqueConstraint("uid", name=op.f("uq_trial_uid")),
    )
    op.create_index(op.f("ix_trial_piece_id"), "trial", ["piece_id"], unique=False)
    op.create_table(
        "outcome",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=300), nullable=False),
        sa.Column("studio", sa.String(), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=True),
        sa.Column("judgement_id", sa.Integer(), nullable=True),
        sa.Column("fault", sa.String(), nullable=False),
        sa.Column("pair_id", sa.String(), nullable=False),
        sa.Column("verdict", sa.String(), nullable=False),
        sa.Column("facts", sa.JSON(), nullable=False),
        sa.Column("said_by", sa.String(), nullable=False),
        sa.Column("said_on", sa.String(), nullable=False),
        sa.Column("kept_at", sa.DateTime(), nullable=False),
        sa.Column("removed_at", sa.DateTime(), nullable=True),
        sa.CheckConstraint(
            "verdict IN ('confirmed', 'refuted', 'fix_worked')", name=op.f("ck_outcome_verdict")
        ),
        sa.ForeignKeyConstraint(
            ["judgement_id"],
            ["judgement.id"],
            name=op.f("fk_outcome_judgement_id_judgement"),
            ondelete="SET NULL",
        ),
        sa.ForeignKeyConstraint(
            ["piece_id"], ["piece.id"], name=op.f("fk_outcome_piece_id_piece"), ondelete="SET NULL"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_outcome")),
        sa.UniqueConstraint("name", name=op.f("uq_outcome_name")),
    )
    op.create_index(op.f("ix_outcome_piece_id"), "outcome", ["piece_id"], unique=False)
    op.create_table(
        "trial_piece",
        sa.Column("trial_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("side", sa.String(), nullable=False),
        sa.Column("shows_if_so", sa.Boolean(), nullable=True),
        sa.ForeignKeyConstraint(
            ["piece_id"], ["piece.id"], name=op.f("fk_trial_piece_piece_id_piece"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["trial_id"], ["trial.id"], name=op.f("fk_trial_piece_trial_id_trial"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("trial_id", "position", name=op.f("pk_trial_piece")),
    )
    op.create_index(op.f("ix_trial_piece_piece_id"), "trial_piece", ["piece_id"], unique=False)
