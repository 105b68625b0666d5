"""The planner's findings by tree, so that they need not be worked out again."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    op.create_table(
        "kept_tree",
        sa.Column("tree_id", sa.Uuid(), nullable=False),
        sa.Column("garden_id", sa.Uuid(), nullable=False),
        sa.Column("made_for", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["tree_id"], ["tree.id"], name="fk_kept_tree_tree_id_tree", ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(["garden_id"], ["garden.id"], name="fk_kept_tree_garden_id_garden"),
        sa.PrimaryKeyConstraint("tree_id", name="pk_kept_tree"),
    )
    op.create_index("ix_kept_tree_garden_id", "kept_tree", ["garden_id"])
    op.create_table(
        "kept_item",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("garden_id", sa.Uuid(), nullable=False),
        sa.Column("tree_id", sa.Uuid(), nullable=False),
        sa.Column("bundle", sa.String(), nullable=False),
        sa.Column("opens", sa.Date(), nullable=False),
        sa.Column("data", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["garden_id"], ["garden.id"], name="fk_kept_item_garden_id_garden"),
        sa.ForeignKeyConstraint(
            ["tree_id"], ["kept_tree.tree_id"], name="fk_kept_item_tree_id_kept_tree", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_kept_item"),
    )
    op.create_index("ix_kept_item_tree_id", "kept_item", ["tree_id"])
    op.create_index("ix_kept_item_garden_id_bundle_opens", "kept_item", ["garden_id", "bundle", "opens"])


def downgrade() -> None:
    op.drop_table("kept_item")
    op.drop_table("kept_tree")
