"""How often the weather moved the dates of an event."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"


def upgrade() -> None:
    op.add_column("published_event", sa.Column("moves", sa.Integer(), nullable=False, server_default="0"))


def downgrade() -> None:
    op.drop_column("published_event", "moves")
