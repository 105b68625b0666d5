"""The hours of a forecast, and the horizon of a spot."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    op.add_column("spot", sa.Column("horizon", sa.JSON(), nullable=False, server_default="[]"))
    op.create_table(
        "forecast_hours",
        sa.Column("source", sa.String(), nullable=False),
        sa.Column("latitude", sa.Float(), nullable=False),
        sa.Column("longitude", sa.Float(), nullable=False),
        sa.Column("issued", sa.DateTime(timezone=True), nullable=False),
        sa.Column("fetched", sa.DateTime(timezone=True), nullable=False),
        sa.Column("start", sa.DateTime(timezone=True), nullable=False),
        sa.Column("columns", sa.JSON(), nullable=False),
        sa.Column("credit", sa.String(), nullable=False),
        sa.Column("distance_km", sa.Float(), nullable=False),
        sa.Column("expires", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("source", "latitude", "longitude", name="pk_forecast_hours"),
    )


def downgrade() -> None:
    op.drop_table("forecast_hours")
    op.drop_column("spot", "horizon")
