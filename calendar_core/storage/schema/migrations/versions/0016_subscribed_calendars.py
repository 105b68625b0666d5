"""Calendars that are subscribed to: secret addresses, the bytes behind them, and places they are sent to."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0016"
down_revision = "0015"


def _of_garden(table: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(["garden_id"], ["garden.id"], name=f"fk_{table}_garden_id_garden")


def upgrade() -> None:
    op.create_table(
        "calendar_address",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("garden_id", sa.Uuid(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("tree_id", sa.Uuid()),
        sa.Column("label", sa.String(), nullable=False),
        sa.Column("secret_hash", sa.String(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("last_used", sa.DateTime(timezone=True)),
        sa.Column("revoked_at", sa.DateTime(timezone=True)),
        _of_garden("calendar_address"),
        sa.PrimaryKeyConstraint("id", name="pk_calendar_address"),
        sa.UniqueConstraint("secret_hash", name="uq_calendar_address_secret_hash"),
    )
    op.create_index("ix_calendar_address_garden_id", "calendar_address", ["garden_id"])
    op.create_table(
        "calendar_text",
        sa.Column("garden_id", sa.Uuid(), nullable=False),
        sa.Column("holds", sa.String(), nullable=False),
        sa.Column("data", sa.LargeBinary(), nullable=False),
        sa.Column("etag", sa.String(), nullable=False),
        sa.Column("modified_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("made_from", sa.String(), nullable=False),
        _of_garden("calendar_text"),
        sa.PrimaryKeyConstraint("garden_id", "holds", name="pk_calendar_text"),
    )
    op.create_table(
        "calendar_place",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("garden_id", sa.Uuid(), nullable=False),
        sa.Column("place", sa.String(), nullable=False),
        sa.Column("login", sa.String(), nullable=False),
        sa.Column("added_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("sent", sa.JSON(), nullable=False),
        sa.Column("why_failing", sa.String(), nullable=False),
        _of_garden("calendar_place"),
        sa.PrimaryKeyConstraint("id", name="pk_calendar_place"),
        sa.UniqueConstraint("place", name="uq_calendar_place_place"),
    )
    op.create_index("ix_calendar_place_garden_id", "calendar_place", ["garden_id"])


def downgrade() -> None:
    op.drop_table("calendar_place")
    op.drop_table("calendar_text")
    op.drop_table("calendar_address")
