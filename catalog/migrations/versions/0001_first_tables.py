"""The first tables."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "body",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("name_key", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("rated_cone", sa.String(), nullable=True),
        sa.Column("absorption_pct", sa.Double(), nullable=True),
        sa.Column("facts", sa.JSON(), nullable=False),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint(
            "absorption_pct >= 0 AND absorption_pct <= 100", name=op.f("ck_body_absorption_pct")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_body")),
        sa.UniqueConstraint("name_key", name=op.f("uq_body_name_key")),
        sa.UniqueConstraint("uid", name=op.f("uq_body_uid")),
    )
    op.create_table(
        "counter",
        sa.Column("name", sa.String(length=64), nullable=False),
        sa.Column("value", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_counter")),
    )
    op.create_table(
        "load",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("kiln", sa.String(), nullable=False),
        sa.Column("fired_on", sa.Date(), nullable=True),
        sa.Column("cone_aimed", sa.String(), nullable=True),
        sa.Column("atmosphere", sa.String(), nullable=True),
        sa.Column("facts", sa.JSON(), nullable=False),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint("kind IN ('bisque', 'glaze')", name=op.f("ck_load_kind")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_load")),
        sa.UniqueConstraint("uid", name=op.f("uq_load_uid")),
    )
    op.create_table(
        "photo",
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("size_bytes", sa.Integer(), nullable=False),
        sa.Column("kept_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint("length(sha256) = 64", name=op.f("ck_photo_sha256")),
        sa.CheckConstraint("size_bytes > 0", name=op.f("ck_photo_size_bytes")),
        sa.PrimaryKeyConstraint("sha256", name=op.f("pk_photo")),
    )
    op.create_table(
        "recipe",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("name_key", sa.String(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("cone_low", sa.String(), nullable=True),
        sa.Column("cone_high", sa.String(), nullable=True),
        sa.Column("intended", sa.JSON(), nullable=False),
        sa.Column("facts", sa.JSON(), nullable=False),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("content", sa.String(length=64), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint("revision >= 1", name=op.f("ck_recipe_revision")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_recipe")),
        sa.UniqueConstraint("name_key", "revision", name=op.f("uq_recipe_name_key_revision")),
        sa.UniqueConstraint("uid", name=op.f("uq_recipe_uid")),
    )
    op.create_table(
        "load_cone",
        sa.Column("load_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("shelf", sa.String(), nullable=False),
        sa.Column("cone", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["load_id"], ["load.id"], name=op.f("fk_load_cone_load_id_load"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("load_id", "position", name=op.f("pk_load_cone")),
    )
    op.create_table(
        "load_segment",
        sa.Column("load_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("rate_c_per_h", sa.Double(), nullable=False),
        sa.Column("target_c", sa.Double(), nullable=False),
        sa.Column("hold_min", sa.Double(), nullable=False),
        sa.CheckConstraint("hold_min >= 0", name=op.f("ck_load_segment_hold_min")),
        sa.ForeignKeyConstraint(
            ["load_id"], ["load.id"], name=op.f("fk_load_segment_load_id_load"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("load_id", "position", name=op.f("pk_load_segment")),
    )
    op.create_table(
        "piece",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("code_key", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("body_id", sa.Integer(), nullable=True),
        sa.Column("load_id", sa.Integer(), nullable=True),
        sa.Column("shelf", sa.String(), nullable=True),
        sa.Column("facts", sa.JSON(), nullable=False),
        sa.Column("notes", sa.String(), nullable=False),
        sa.Column("filed_at", sa.DateTime(), nullable=False),
        sa.Column("deleted_at", sa.DateTime(), nullable=True),
        sa.CheckConstraint("kind IN ('tile', 'ware', 'patch')", name=op.f("ck_piece_kind")),
        sa.ForeignKeyConstraint(
            ["body_id"], ["body.id"], name=op.f("fk_piece_body_id_body"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["load_id"], ["load.id"], name=op.f("fk_piece_load_id_load"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_piece")),
        sa.UniqueConstraint("uid", name=op.f("uq_piece_uid")),
    )
    with op.batch_alter_table("piece", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_piece_body_id"), ["body_id"], unique=False)
        batch_op.create_index("ix_piece_filed_at_id", ["filed_at", "id"], unique=False)
        batch_op.create_index(batch_op.f("ix_piece_load_id"), ["load_id"], unique=False)
        batch_op.create_index(
            "uq_piece_code_key_kept",
            ["code_key"],
            unique=True,
            sqlite_where=sa.text("deleted_at IS NULL"),
            postgresql_where=sa.text("deleted_at IS NULL"),
        )

    op.create_table(
        "recipe_line",
        sa.Column("recipe_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("material", sa.String(), nullable=False),
        sa.Column("amount", sa.Double(), nullable=False),
        sa.Column("addition", sa.Boolean(), nullable=False),
        sa.CheckConstraint("amount >= 0", name=op.f("ck_recipe_line_amount")),
        sa.ForeignKeyConstraint(
            ["recipe_id"], ["recipe.id"], name=op.f("fk_recipe_line_recipe_id_recipe"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("recipe_id", "position", name=op.f("pk_recipe_line")),
    )
    op.create_table(
        "judgement",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("about", sa.String(), nullable=False),
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("verdict", sa.String(), nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("removed_at", sa.DateTime(), nullable=True),
        sa.CheckConstraint("about IN ('fault', 'cause', 'use')", name=op.f("ck_judgement_about")),
        sa.CheckConstraint(
            "verdict IN ('present', 'absent', 'intended', 'confirmed', 'refuted', 'fix_worked')",
            name=op.f("ck_judgement_verdict"),
        ),
        sa.ForeignKeyConstraint(
            ["piece_id"], ["piece.id"], name=op.f("fk_judgement_piece_id_piece"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_judgement")),
        sa.UniqueConstraint("uid", name=op.f("uq_judgement_uid")),
    )
    with op.batch_alter_table("judgement", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_judgement_piece_id"), ["piece_id"], unique=False)

    op.create_table(
        "layer",
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("recipe_id", sa.Integer(), nullable=True),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("coats", sa.Integer(), nullable=True),
        sa.Column("method", sa.String(), nullable=True),
        sa.Column("raw_thickness_mm", sa.Double(), nullable=True),
        sa.CheckConstraint("coats >= 0", name=op.f("ck_layer_coats")),
        sa.CheckConstraint("raw_thickness_mm >= 0", name=op.f("ck_layer_raw_thickness_mm")),
        sa.ForeignKeyConstraint(
            ["piece_id"], ["piece.id"], name=op.f("fk_layer_piece_id_piece"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["recipe_id"], ["recipe.id"], name=op.f("fk_layer_recipe_id_recipe"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("piece_id", "position", name=op.f("pk_layer")),
    )
    with op.batch_alter_table("layer", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_layer_recipe_id"), ["recipe_id"], unique=False)

    op.create_table(
        "piece_fault",
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("fault", sa.String(), nullable=False),
        sa.Column("probability", sa.Double(), nullable=False),
        sa.CheckConstraint("probability >= 0 AND probability <= 1", name=op.f("ck_piece_fault_probability")),
        sa.ForeignKeyConstraint(
            ["piece_id"], ["piece.id"], name=op.f("fk_piece_fault_piece_id_piece"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("piece_id", "fault", name=op.f("pk_piece_fault")),
    )
    with op.batch_alter_table("piece_fault", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_piece_fault_fault"), ["fault"], unique=False)

    op.create_table(
        "reading",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("photo_sha256", sa.String(length=64), nullable=False),
        sa.Column("tile_index", sa.Integer(), nullable=False),
        sa.Column("calibration_kind", sa.String(), nullable=False),
        sa.Column("mm_per_px", sa.Double(), nullable=True),
        sa.Column("residual_delta_e_00", sa.Double(), nullable=True),
        sa.Column("photo_flags", sa.JSON(), nullable=False),
        sa.Column("method", sa.JSON(), nullable=False),
        sa.Column("colour_method", sa.Integer(), nullable=False),
        sa.Column("finish", sa.String(), nullable=True),
        sa.Column("tile", sa.JSON(), nullable=False),
        sa.Column("view_sha256", sa.String(length=64), nullable=True),
        sa.Column("read_at", sa.DateTime(), nullable=False),
        sa.Column("superseded_by_id", sa.Integer(), nullable=True),
        sa.CheckConstraint(
            "calibration_kind IN ('chart', 'card', 'none')", name=op.f("ck_reading_calibration_kind")
        ),
        sa.CheckConstraint("tile_index >= 0", name=op.f("ck_reading_tile_index")),
        sa.ForeignKeyConstraint(
            ["photo_sha256"],
            ["photo.sha256"],
            name=op.f("fk_reading_photo_sha256_photo"),
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["piece_id"], ["piece.id"], name=op.f("fk_reading_piece_id_piece"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["superseded_by_id"],
            ["reading.id"],
            name=op.f("fk_reading_superseded_by_id_reading"),
            ondelete="SET NULL",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reading")),
        sa.UniqueConstraint("uid", name=op.f("uq_reading_uid")),
    )
    with op.batch_alter_table("reading", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_reading_photo_sha256"), ["photo_sha256"], unique=False)
        batch_op.create_index(batch_op.f("ix_reading_piece_id"), ["piece_id"], unique=False)

    op.create_table(
        "palette",
        sa.Column("reading_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("lightness", sa.Double(), nullable=False),
        sa.Column("a_star", sa.Double(), nullable=False),
        sa.Column("b_star", sa.Double(), nullable=False),
        sa.Column("fraction", sa.Double(), nullable=False),
        sa.CheckConstraint("fraction >= 0 AND fraction <= 1", name=op.f("ck_palette_fraction")),
        sa.CheckConstraint("lightness >= -1 AND lightness <= 101", name=op.f("ck_palette_lightness")),
        sa.ForeignKeyConstraint(
            ["reading_id"], ["reading.id"], name=op.f("fk_palette_reading_id_reading"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("reading_id", "position", name=op.f("pk_palette")),
    )
