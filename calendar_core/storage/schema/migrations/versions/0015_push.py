"""The key by which push services know this database, and channels whose receiver is gone."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0015"
down_revision = "0014"


_channel = sa.table("channel", sa.column("id", sa.Uuid), sa.column("kind", sa.String))
_message = sa.table("message", sa.column("channel_id", sa.Uuid))


def upgrade() -> None:
    op.create_table(
        "push_key",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("private_key", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_push_key"),
    )
    op.add_column("channel", sa.Column("gone", sa.Boolean(), nullable=False, server_default=sa.false()))


def downgrade() -> None:
    pushed = _channel.c.kind == "push"  # an older program knows no such kind
    op.execute(_message.delete().where(_message.c.channel_id.in_(sa.select(_channel.c.id).where(pushed))))
    op.execute(_channel.delete().where(pushed))
    op.drop_column("channel", "gone")
    op.drop_table("push_key")
