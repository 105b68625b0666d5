"""Keys to the pages, and who has entered with them."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0014"
down_revision = "0013"


def upgrade() -> None:
    op.create_table(
        "access_key",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("garden_id", sa.Uuid(), nullable=False),
        sa.Column("role", sa.String(), nullable=False),
        sa.Column("label", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("hash", sa.String(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["garden_id"], ["garden.id"], name="fk_access_key_garden_id_garden"),
        sa.PrimaryKeyConstraint("id", name="pk_access_key"),
    )
    op.create_index("ix_access_key_hash", "access_key", ["hash"])
    op.create_table(
        "visit",
        sa.Column("secret_hash", sa.String(), nullable=False),
        sa.Column("key_id", sa.Uuid(), nullable=False),
        sa.Column("expires_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["key_id"], ["access_key.id"], name="fk_visit_key_id_access_key", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("secret_hash", name="pk_visit"),
    )


def downgrade() -> None:
    op.drop_table("visit")
    op.drop_table("access_key")
