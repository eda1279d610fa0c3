"""People, their sign-ins and tries, what is whose, and what was changed.

Revision ID: 0007
Revises: 0006
"""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"


def upgrade() -> None:
    op.create_table(
        "person",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("name_key", sa.String(), nullable=False),
        sa.Column("role", sa.String(length=8), nullable=False),
        sa.Column("email", sa.String(), nullable=True),
        sa.Column("email_key", sa.String(), nullable=True),
        sa.Column("passphrase_hash", sa.String(), nullable=True),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("left_at", sa.DateTime(), nullable=True),
        sa.CheckConstraint("role IN ('keeper', 'member', 'reader')", name=op.f("ck_person_role")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_person")),
        sa.UniqueConstraint("uid", name=op.f("uq_person_uid")),
        sa.UniqueConstraint("name_key", name=op.f("uq_person_name_key")),
        sa.UniqueConstraint("email_key", name=op.f("uq_person_email_key")),
    )
    op.create_table(
        "sign_in",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("token_digest", sa.String(length=64), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("seen_at", sa.DateTime(), nullable=False),
        sa.Column("ended_at", sa.DateTime(), nullable=True),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_sign_in_person_id_person"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sign_in")),
        sa.UniqueConstraint("token_digest", name=op.f("uq_sign_in_token_digest")),
    )
    op.create_index(op.f("ix_sign_in_person_id"), "sign_in", ["person_id"])
    op.create_table(
        "sign_in_attempt",
        sa.Column("who", sa.String(length=64), nullable=False),
        sa.Column("failures", sa.Integer(), nullable=False),
        sa.Column("last_at", sa.DateTime(), nullable=False),
        sa.Column("free_at", sa.DateTime(), nullable=False),
        sa.PrimaryKeyConstraint("who", name=op.f("pk_sign_in_attempt")),
    )
    op.create_table(
        "owned",
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_owned_person_id_person"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("uid", name=op.f("pk_owned")),
    )
    op.create_index(op.f("ix_owned_person_id"), "owned", ["person_id"])
    op.create_table(
        "change_group",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.Column("who", sa.String(), nullable=False),
        sa.Column("undoes_id", sa.Integer(), nullable=True),
        sa.Column("whole", sa.Boolean(), nullable=False),
        sa.Column("counts", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_change_group_person_id_person"), ondelete="SET NULL"
        ),
        sa.ForeignKeyConstraint(
            ["undoes_id"],
            ["change_group.id"],
            name=op.f("fk_change_group_undoes_id_change_group"),
            ondelete="SET NULL",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_change_group")),
    )
    op.create_index(op.f("ix_change_group_made_at"), "change_group", ["made_at"])
    op.create_index(op.f("ix_change_group_person_id"), "change_group", ["person_id"])
    op.create_table(
        "change_row",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("group_id", sa.Integer(), nullable=False),
        sa.Column("table_name", sa.String(length=64), nullable=False),
        sa.Column("row_key", sa.String(), nullable=False),
        sa.Column("root", sa.String(), nullable=False),
        sa.Column("kind", sa.String(length=8), nullable=False),
        sa.Column("before", sa.JSON(), nullable=False),
        sa.Column("after", sa.JSON(), nullable=False),
        sa.CheckConstraint("kind IN ('added', 'changed', 'removed')", name=op.f("ck_change_row_kind")),
        sa.ForeignKeyConstraint(
            ["group_id"],
            ["change_group.id"],
            name=op.f("fk_change_row_group_id_change_group"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_change_row")),
    )
    op.create_index(op.f("ix_change_row_group_id"), "change_row", ["group_id"])
    op.create_index(op.f("ix_change_row_root"), "change_row", ["root"])
    op.create_index("ix_change_row_table_name_row_key", "change_row", ["table_name", "row_key"])
