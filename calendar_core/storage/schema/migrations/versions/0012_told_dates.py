"""Dates as they were last told, what they rested on, and how they moved."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"


def _of_garden(table: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(["garden_id"], ["garden.id"], name=f"fk_{table}_garden_id_garden")


def _of_tree(table: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(["tree_id"], ["tree.id"], name=f"fk_{table}_tree_id_tree")


def upgrade() -> None:
    op.create_table(
        "told_basis",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("garden_id", sa.Uuid(), nullable=False),
        sa.Column("told_on", sa.Date(), nullable=False),
        sa.Column("measured_to", sa.Date()),
        sa.Column("recorded", sa.DateTime(timezone=True)),
        sa.Column("record", sa.String(), nullable=False),
        sa.Column("program", sa.String(), nullable=False),
        sa.Column("forecast", sa.JSON()),
        _of_garden("told_basis"),
        sa.PrimaryKeyConstraint("id", name="pk_told_basis"),
    )
    op.create_index("ix_told_basis_garden_id", "told_basis", ["garden_id"])
    op.create_table(
        "told_date",
        sa.Column("item_id", sa.Uuid(), nullable=False),
        sa.Column("side", sa.String(), nullable=False),
        sa.Column("garden_id", sa.Uuid(), nullable=False),
        sa.Column("tree_id", sa.Uuid(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("told_on", sa.Date(), nullable=False),
        sa.Column("basis", sa.Uuid(), nullable=False),
        _of_garden("told_date"),
        _of_tree("told_date"),
        sa.ForeignKeyConstraint(["basis"], ["told_basis.id"], name="fk_told_date_basis_told_basis"),
        sa.PrimaryKeyConstraint("item_id", "side", name="pk_told_date"),
    )
    op.create_index("ix_told_date_garden_id", "told_date", ["garden_id"])
    op.create_table(
        "told_move",
        sa.Column("item_id", sa.Uuid(), nullable=False),
        sa.Column("side", sa.String(), nullable=False),
        sa.Column("moved_on", sa.Date(), nullable=False),
        sa.Column("garden_id", sa.Uuid(), nullable=False),
        sa.Column("tree_id", sa.Uuid(), nullable=False),
        sa.Column("told_on", sa.Date(), nullable=False),
        sa.Column("before", sa.Date(), nullable=False),
        sa.Column("after", sa.Date(), nullable=False),
        sa.Column("parts", sa.JSON(), nullable=False),
        sa.Column("operation", sa.String(), nullable=False),
        sa.Column("rule", sa.String(), nullable=False),
        sa.Column("cycle", sa.Integer(), nullable=False),
        sa.Column("label", sa.String(), nullable=False),
        sa.Column("part", sa.String(), nullable=False),
        _of_garden("told_move"),
        _of_tree("told_move"),
        sa.PrimaryKeyConstraint("item_id", "side", "moved_on", name="pk_told_move"),
    )
    op.create_index("ix_told_move_garden_id_moved_on", "told_move", ["garden_id", "moved_on"])


def downgrade() -> None:
    op.drop_table("told_move")
    op.drop_table("told_date")
    op.drop_table("told_basis")
