"""How often a series of weather was changed; kept items as texts that trees may have in common."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"


def upgrade() -> None:
    op.add_column("weather_series", sa.Column("revision", sa.Integer(), nullable=False, server_default="0"))
    _forget_all()
    op.drop_column("kept_item", "data")
    op.add_column("kept_item", sa.Column("data", sa.String(), nullable=False, server_default=""))


def downgrade() -> None:
    _forget_all()
    op.drop_column("kept_item", "data")
    op.add_column("kept_item", sa.Column("data", sa.JSON(), nullable=False, server_default="{}"))
    op.drop_column("weather_series", "revision")


def _forget_all() -> None:
    """Empty the kept plan: it is made again when it is asked for."""
    op.execute(sa.text("DELETE FROM kept_item"))
    op.execute(sa.text("DELETE FROM kept_tree"))
