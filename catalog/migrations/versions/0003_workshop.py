"""Own materials, logs of loads, witness cones as found, bisque loads, measures of clays."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "material",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("name_key", sa.String(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("oxides", sa.JSON(), nullable=False),
        sa.Column("loi_pct", sa.Double(), nullable=False),
        sa.Column("basis", sa.String(), nullable=False),
        sa.Column("fluorine_pct", sa.Double(), nullable=False),
        sa.Column("moisture_pct", sa.Double(), nullable=True),
        sa.Column("lot", sa.String(), nullable=False),
        sa.Column("gas_like", sa.String(), nullable=False),
        sa.Column("source", sa.String(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint("moisture_pct >= 0 AND moisture_pct < 100", name=op.f("ck_material_moisture_pct")),
        sa.CheckConstraint("revision >= 1", name=op.f("ck_material_revision")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_material")),
        sa.UniqueConstraint("name_key", "revision", name=op.f("uq_material_name_key_revision")),
        sa.UniqueConstraint("uid", name=op.f("uq_material_uid")),
    )
    op.create_table(
        "load_log",
        sa.Column("load_id", sa.Integer(), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("size_bytes", sa.Integer(), nullable=False),
        sa.Column("choice", sa.JSON(), nullable=False),
        sa.Column("kept_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint("length(sha256) = 64", name=op.f("ck_load_log_sha256")),
        sa.CheckConstraint("size_bytes > 0", name=op.f("ck_load_log_size_bytes")),
        sa.ForeignKeyConstraint(
            ["load_id"], ["load.id"], name=op.f("fk_load_log_load_id_load"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("load_id", name=op.f("pk_load_log")),
    )
    op.create_table(
        "load_witness",
        sa.Column("load_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("shelf", sa.String(), nullable=False),
        sa.Column("form", sa.String(length=8), nullable=False),
        sa.Column("cone", sa.String(), nullable=False),
        sa.Column("angle_deg", sa.Double(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.CheckConstraint("angle_deg >= 0 AND angle_deg <= 180", name=op.f("ck_load_witness_angle_deg")),
        sa.CheckConstraint("form IN ('cone', 'bar')", name=op.f("ck_load_witness_form")),
        sa.ForeignKeyConstraint(
            ["load_id"], ["load.id"], name=op.f("fk_load_witness_load_id_load"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("load_id", "position", name=op.f("pk_load_witness")),
    )
    op.create_table(
        "load_bisque",
        sa.Column("load_id", sa.Integer(), nullable=False),
        sa.Column("bisque_id", sa.Integer(), nullable=False),
        sa.CheckConstraint("load_id != bisque_id", name=op.f("ck_load_bisque_not_itself")),
        sa.ForeignKeyConstraint(
            ["bisque_id"], ["load.id"], name=op.f("fk_load_bisque_bisque_id_load"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["load_id"], ["load.id"], name=op.f("fk_load_bisque_load_id_load"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("load_id", name=op.f("pk_load_bisque")),
    )
    op.create_index(op.f("ix_load_bisque_bisque_id"), "load_bisque", ["bisque_id"])
    op.create_table(
        "body_measure",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("body_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("cone", sa.String(), nullable=True),
        sa.Column("measured_on", sa.Date(), nullable=True),
        sa.Column("figures", sa.JSON(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("kept_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint(
            "kind IN ('ranges', 'expansion', 'absorption', 'shrinkage')", name=op.f("ck_body_measure_kind")
        ),
        sa.ForeignKeyConstraint(
            ["body_id"], ["body.id"], name=op.f("fk_body_measure_body_id_body"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_body_measure")),
        sa.UniqueConstraint("uid", name=op.f("uq_body_measure_uid")),
    )
    op.create_index(op.f("ix_body_measure_body_id"), "body_measure", ["body_id"])
