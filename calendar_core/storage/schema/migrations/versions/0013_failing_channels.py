"""Since when a channel fails and is refused; when a message was last put off, and when what it tells of begins.

A refusal was once final: what it closed lapses at its own time, and the channel it switched off is told of.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"

BY_HAND = "switched off by hand"
_channel = sa.table(
    "channel",
    sa.column("why_off", sa.String),
    sa.column("failing_since", sa.DateTime(timezone=True)),
    sa.column("why_failing", sa.String),
)
_message = sa.table(
    "message",
    sa.column("state", sa.String),
    sa.column("made_at", sa.DateTime(timezone=True)),
    sa.column("expires", sa.DateTime(timezone=True)),
    sa.column("touched_at", sa.DateTime(timezone=True)),
    sa.column("onset", sa.DateTime(timezone=True)),
)


def upgrade() -> None:
    op.add_column("channel", sa.Column("failing_since", sa.DateTime(timezone=True)))
    op.add_column("channel", sa.Column("why_failing", sa.String(), nullable=False, server_default=""))
    op.add_column("channel", sa.Column("refused_at", sa.DateTime(timezone=True)))
    op.add_column("channel", sa.Column("refusals", sa.Integer(), nullable=False, server_default="0"))
    op.add_column("message", sa.Column("touched_at", sa.DateTime(timezone=True)))
    op.add_column("message", sa.Column("onset", sa.DateTime(timezone=True)))
    refused = _channel.c.why_off.not_in(["", BY_HAND])
    since = {"failing_since": sa.func.current_timestamp(), "why_failing": _channel.c.why_off}
    op.execute(sa.update(_channel).where(refused).values(since))
    op.execute(sa.update(_message).values(touched_at=_message.c.made_at, onset=_message.c.expires))
    op.execute(sa.update(_message).where(_message.c.state == "dead").values(state="lapsed"))


def downgrade() -> None:
    for name in ("onset", "touched_at"):
        op.drop_column("message", name)
    for name in ("refusals", "refused_at", "why_failing", "failing_since"):
        op.drop_column("channel", name)
