"""The tables of warnings: what is told, on which channels, and what was last judged and run."""

from __future__ import annotations

from sqlalchemy import (
    JSON,
    Boolean,
    Column,
    ForeignKey,
    Index,
    Integer,
    String,
    Table,
    UniqueConstraint,
    false,
)

from calendar_core.storage.schema.column_types import (
    Id,
    LocalTime,
    UtcDateTime,
    garden_id,
    identity,
    metadata,
)

warning = Table(
    "warning",
    metadata,
    identity(),
    garden_id(),
    Column("hazard", String, nullable=False),
    Column("severity", String, nullable=False),
    Column("onset", UtcDateTime, nullable=False),
    Column("expires", UtcDateTime, nullable=False),
    Column("state", String, nullable=False),
    Column("revision", Integer, nullable=False),
    Column("data", JSON, nullable=False),
    Column("made_at", UtcDateTime, nullable=False),
    Column("forecast_at", UtcDateTime),
    Index(None, "garden_id", "state"),
)

channel = Table(
    "channel",
    metadata,
    identity(),
    garden_id(),
    Column("kind", String, nullable=False),
    Column("address", String, nullable=False),
    Column("secret", String, nullable=False),
    Column("person", String, nullable=False),
    Column("quiet_from", LocalTime),
    Column("quiet_to", LocalTime),
    Column("private_ok", Boolean, nullable=False),
    Column("why_off", String, nullable=False),
    Column("while_away", Boolean, nullable=False, server_default=false()),
    Column("failing_since", UtcDateTime),
    Column("why_failing", String, nullable=False, server_default=""),
    Column("refused_at", UtcDateTime),
    Column("refusals", Integer, nullable=False, server_default="0"),
    Column("gone", Boolean, nullable=False, server_default=false()),
    UniqueConstraint("garden_id", "kind", "address"),
)

message = Table(
    "message",
    metadata,
    identity(),  # made from channel, warning, revision and action: the same message is never there twice
    garden_id(),
    Column("channel_id", Id, ForeignKey("channel.id", ondelete="CASCADE"), nullable=False),
    Column("warning_id", Id, nullable=False),  # no foreign key: a digest is about no one warning
    Column("revision", Integer, nullable=False),
    Column("action", String, nullable=False),
    Column("notice", JSON, nullable=False),
    Column("state", String, nullable=False),
    Column("due_at", UtcDateTime, nullable=False),
    Column("touched_at", UtcDateTime),  # when due_at was set: later than now, if a clock was wrong
    Column("onset", UtcDateTime),  # what begins first is sent first
    Column("expires", UtcDateTime, nullable=False),
    Column("tries", Integer, nullable=False),
    Column("holder", String, nullable=False),
    Column("told", Boolean, nullable=False),
    Column("last_error", String, nullable=False),
    Column("made_at", UtcDateTime, nullable=False),
    Column("sent_at", UtcDateTime),
    Index(None, "state", "due_at"),
    Index(None, "warning_id", "channel_id"),
    Index(None, "channel_id"),
    Index(None, "garden_id"),
)

push_key = Table(
    "push_key",
    metadata,
    Column("id", Integer, primary_key=True, autoincrement=False),  # 1: a database has one
    Column("private_key", String, nullable=False),
)

judgement = Table(
    "judgement",
    metadata,
    garden_id(primary_key=True),
    Column("judged_at", UtcDateTime, nullable=False),
    Column("forecast_at", UtcDateTime, nullable=False),
)

job_run = Table(
    "job_run",
    metadata,
    Column("job", String, primary_key=True),
    Column("slot", UtcDateTime, primary_key=True),
    Column("tries", Integer, nullable=False),
    Column("started_at", UtcDateTime, nullable=False),
    Column("done_at", UtcDateTime),
    Column("error", String, nullable=False),
)
