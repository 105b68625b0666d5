"""What services answered: kept answers, forecasts, rejected values; a garden's record from a service."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    op.add_column("garden", sa.Column("service_series", sa.Uuid(), nullable=True))
    op.add_column(
        "garden", sa.Column("elevation_known", sa.Boolean(), nullable=False, server_default=sa.true())
    )
    op.add_column("garden", sa.Column("own_level", sa.Boolean(), nullable=False, server_default=sa.true()))
    _create_answers()
    _create_rejected()
    _create_snapshots()


def _create_answers() -> None:
    op.create_table(
        "answer",
        sa.Column("url", sa.String(), nullable=False),
        sa.Column("etag", sa.String(), nullable=True),
        sa.Column("last_modified", sa.String(), nullable=True),
        sa.Column("expires", sa.DateTime(timezone=True), nullable=True),
        sa.Column("fetched", sa.DateTime(timezone=True), nullable=False),
        sa.Column("body", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("url", name="pk_answer"),
    )
    op.create_table(
        "forecast",
        sa.Column("source", sa.String(), nullable=False),
        sa.Column("latitude", sa.Float(), nullable=False),
        sa.Column("longitude", sa.Float(), nullable=False),
        sa.Column("zone", sa.String(), nullable=False),
        sa.Column("issued", sa.DateTime(timezone=True), nullable=False),
        sa.Column("fetched", sa.DateTime(timezone=True), nullable=False),
        sa.Column("start", sa.Date(), nullable=False),
        sa.Column("t_min_c", sa.JSON(), nullable=False),
        sa.Column("t_max_c", sa.JSON(), nullable=False),
        sa.Column("credit", sa.String(), nullable=False),
        sa.Column("distance_km", sa.Float(), nullable=False),
        sa.Column("expires", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("source", "latitude", "longitude", "zone", name="pk_forecast"),
    )


def _create_rejected() -> None:
    op.create_table(
        "weather_rejected",
        sa.Column("series_id", sa.Uuid(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("hour", sa.String(), nullable=False),
        sa.Column("column", sa.String(), nullable=False),
        sa.Column("value", sa.Float(), nullable=True),
        sa.Column("reason", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["series_id"],
            ["weather_series.id"],
            name="fk_weather_rejected_series_id_weather_series",
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("series_id", "day", "hour", "column", name="pk_weather_rejected"),
    )


def _create_snapshots() -> None:
    op.create_table(
        "plan_snapshot",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("garden_id", sa.Uuid(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("data", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["garden_id"], ["garden.id"], name="fk_plan_snapshot_garden_id_garden"),
        sa.PrimaryKeyConstraint("id", name="pk_plan_snapshot"),
    )
    op.create_index("ix_plan_snapshot_garden_id_day", "plan_snapshot", ["garden_id", "day"])


def downgrade() -> None:
    for table in ("plan_snapshot", "weather_rejected", "forecast", "answer"):
        op.drop_table(table)
    op.drop_column("garden", "elevation_known")
    op.drop_column("garden", "own_level")
    op.drop_column("garden", "service_series")
