"""Events that left the calendar are kept: one that comes back goes on from its SEQUENCE."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"


def upgrade() -> None:
    gone: sa.Column[bool] = sa.Column("gone", sa.Boolean(), nullable=False, server_default=sa.false())
    op.add_column("published_event", gone)


def downgrade() -> None:
    event = sa.table("published_event", sa.column("gone", sa.Boolean))
    op.execute(event.delete().where(event.c.gone))
    op.drop_column("published_event", "gone")
