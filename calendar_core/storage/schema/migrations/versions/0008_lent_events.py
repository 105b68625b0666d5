"""Events in whose place a move by the hour stands while a warning holds."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"


def upgrade() -> None:
    op.add_column("published_event", sa.Column("lent", sa.String(), nullable=False, server_default=""))


def downgrade() -> None:
    op.drop_column("published_event", "lent")
