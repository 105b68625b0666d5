"""Calendars of several kinds: what the work of a day was told to be, and which file is of which kind."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"


def upgrade() -> None:
    op.add_column(
        "published_event", sa.Column("calendar", sa.String(), nullable=False, server_default="windows")
    )
    op.add_column("published_event", sa.Column("begins", sa.Time()))
    op.add_column("published_event", sa.Column("minutes", sa.Integer(), nullable=False, server_default="0"))
    op.create_table(
        "told_work",
        sa.Column("garden_id", sa.Uuid(), nullable=False),
        sa.Column("item_id", sa.Uuid(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("safe", sa.Date(), nullable=False),
        sa.Column("told_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("fits", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["garden_id"], ["garden.id"], name="fk_told_work_garden_id_garden"),
        sa.PrimaryKeyConstraint("garden_id", "item_id", "day", name="pk_told_work"),
    )
    op.create_table(
        "calendar_file",
        sa.Column("garden_id", sa.Uuid(), nullable=False),
        sa.Column("path", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("tree_id", sa.Uuid()),
        sa.ForeignKeyConstraint(["garden_id"], ["garden.id"], name="fk_calendar_file_garden_id_garden"),
        sa.PrimaryKeyConstraint("garden_id", "path", name="pk_calendar_file"),
    )


def downgrade() -> None:
    event = sa.table("published_event", sa.column("calendar", sa.String))
    op.execute(event.delete().where(event.c.calendar != "windows"))
    op.drop_table("calendar_file")
    op.drop_table("told_work")
    for column in ("minutes", "begins", "calendar"):
        op.drop_column("published_event", column)
