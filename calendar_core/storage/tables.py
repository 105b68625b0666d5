"""The tables, and the column types in which SQLite and PostgreSQL would otherwise differ.

Columns carry the names of the dataclass fields they hold, so that a row is a dataclass. Names and labels
have a folded key beside them, because ``lower()`` differs between databases. There are no CHECK
constraints: Alembic's table rebuild on SQLite would lose them.
"""

from __future__ import annotations

from datetime import UTC, datetime, time
from typing import TYPE_CHECKING, Any
from uuid import UUID

from sqlalchemy import (
    JSON,
    Boolean,
    Column,
    Date,
    DateTime,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Time,
    TypeDecorator,
    UniqueConstraint,
    Uuid,
    true,
)
from sqlalchemy.exc import DontWrapMixin

from calendar_core.garden.model import MonthDay
from calendar_core.storage.errors import StoreError

if TYPE_CHECKING:
    from sqlalchemy import Dialect


class UnfitValueError(DontWrapMixin, StoreError):
    """A value that a column may not hold."""


class UtcDateTime(TypeDecorator[datetime]):
    """An instant: stored in UTC, returned aware. SQLite alone would drop the offset without a word."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, _dialect: Dialect) -> datetime | None:
        """Convert to UTC; refuse a time without offset."""
        if value is None:
            return None
        if value.utcoffset() is None:
            raise UnfitValueError(
                f"the time {value.isoformat()} has no offset from UTC: give one, like +00:00"
            )
        return value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, _dialect: Dialect) -> datetime | None:
        """Return an aware time in UTC."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


class LocalTime(TypeDecorator[time]):
    """A wall-clock time at the garden; refused with an offset, which SQLite would drop."""

    impl = Time
    cache_ok = True

    def process_bind_param(self, value: time | None, _dialect: Dialect) -> time | None:
        """Refuse a time that brings its own zone."""
        if value is not None and value.tzinfo is not None:
            raise UnfitValueError(f"the local time {value.isoformat()} has an offset: leave it out")
        return value


class MonthDayText(TypeDecorator[MonthDay]):
    """A day of the year as MM-DD."""

    impl = String(5)
    cache_ok = True

    def process_bind_param(self, value: MonthDay | None, _dialect: Dialect) -> str | None:
        """Write MM-DD."""
        return None if value is None else f"{value.month:02d}-{value.day:02d}"

    def process_result_value(self, value: str | None, _dialect: Dialect) -> MonthDay | None:
        """Read MM-DD."""
        return None if value is None else MonthDay(int(value[:2]), int(value[3:]))


class Texts(TypeDecorator[tuple[str, ...]]):
    """A tuple of texts in JSON."""

    impl = JSON
    cache_ok = True

    def process_result_value(self, value: Any, _dialect: Dialect) -> tuple[str, ...]:
        """Read a tuple."""
        return tuple(value)


class Uuids(TypeDecorator[tuple[UUID, ...]]):
    """A tuple of ids in JSON, in order."""

    impl = JSON
    cache_ok = True

    def process_bind_param(self, value: tuple[UUID, ...] | None, _dialect: Dialect) -> list[str]:
        """Write a list of texts."""
        return [str(each) for each in value or ()]

    def process_result_value(self, value: Any, _dialect: Dialect) -> tuple[UUID, ...]:
        """Read a tuple of ids."""
        return tuple(UUID(each) for each in value)


metadata = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    }
)


def _id() -> Column[UUID]:
    return Column("id", Uuid, primary_key=True)


def _garden_id(*, primary_key: bool = False) -> Column[UUID]:
    return Column("garden_id", Uuid, ForeignKey("garden.id"), nullable=False, primary_key=primary_key)


weather_series = Table(
    "weather_series",
    metadata,
    _id(),
    Column("source", String, nullable=False),
    Column("station", String, nullable=False),
    Column("place", String, nullable=False),
    Column("latitude", Float, nullable=False),
    Column("longitude", Float, nullable=False),
    Column("elevation_m", Float, nullable=False),
    Column("kind", String, nullable=False),
    Column("credit", String, nullable=False),
    UniqueConstraint("source", "station", "kind"),
)

weather_day = Table(
    "weather_day",
    metadata,
    Column("series_id", Uuid, ForeignKey("weather_series.id", ondelete="CASCADE"), primary_key=True),
    Column("day", Date, primary_key=True),
    Column("t_min_c", Float),
    Column("t_max_c", Float),
    Column("precipitation_mm", Float),
    sqlite_with_rowid=False,  # days of a series then lie side by side in the file
)

weather_rejected = Table(
    "weather_rejected",
    metadata,
    Column("series_id", Uuid, ForeignKey("weather_series.id", ondelete="CASCADE"), primary_key=True),
    Column("day", Date, primary_key=True),
    Column("hour", String, primary_key=True),
    Column("column", String, primary_key=True),
    Column("value", Float),
    Column("reason", String, nullable=False),
)

answer = Table(
    "answer",
    metadata,
    Column("url", String, primary_key=True),
    Column("etag", String),
    Column("last_modified", String),
    Column("expires", UtcDateTime),
    Column("fetched", UtcDateTime, nullable=False),
    Column("body", LargeBinary, nullable=False),
)

forecast = Table(
    "forecast",
    metadata,
    Column("source", String, primary_key=True),
    Column("latitude", Float, primary_key=True),
    Column("longitude", Float, primary_key=True),
    Column("zone", String, primary_key=True),
    Column("issued", UtcDateTime, nullable=False),
    Column("fetched", UtcDateTime, nullable=False),
    Column("start", Date, nullable=False),
    Column("t_min_c", JSON, nullable=False),
    Column("t_max_c", JSON, nullable=False),
    Column("credit", String, nullable=False),
    Column("distance_km", Float, nullable=False),
    Column("expires", UtcDateTime),
)

garden = Table(
    "garden",
    metadata,
    _id(),
    Column("name", String, nullable=False),
    Column("name_key", String, nullable=False, unique=True),
    Column("place", String, nullable=False),
    Column("latitude", Float, nullable=False),
    Column("longitude", Float, nullable=False),
    Column("elevation_m", Float, nullable=False),
    Column("zone", String, nullable=False),
    Column("units", String, nullable=False),
    Column("leaf_fall", MonthDayText, nullable=False),
    Column("coldest", MonthDayText, nullable=False),
    Column("weather_series", Uuid, ForeignKey("weather_series.id")),
    Column("service_series", Uuid),  # no foreign key: SQLite would have to make the table anew
    Column("own_level", Boolean, nullable=False, server_default=true()),
    Column("elevation_known", Boolean, nullable=False, server_default=true()),
)

person = Table(
    "person",
    metadata,
    _id(),
    _garden_id(),
    Column("name", String, nullable=False),
    Column("name_key", String, nullable=False),
    Column("role", String, nullable=False),
    UniqueConstraint("garden_id", "name_key"),
)

spot = Table(
    "spot",
    metadata,
    _id(),
    _garden_id(),
    Column("name", String, nullable=False),
    Column("name_key", String, nullable=False),
    Column("sun_from", LocalTime),
    Column("sun_to", LocalTime),
    Column("cloth_percent", Integer, nullable=False),
    Column("profile", String, nullable=False),
    Column("wind", String, nullable=False),
    Column("surface", String, nullable=False),
    Column("roof", Boolean, nullable=False),
    Column("quarantine", Boolean, nullable=False),
    UniqueConstraint("garden_id", "name_key"),
)

tree = Table(
    "tree",
    metadata,
    _id(),
    _garden_id(),
    Column("label", String, nullable=False),
    Column("label_key", String, nullable=False),
    Column("species", String, nullable=False),
    Column("cultivar", String, nullable=False),
    UniqueConstraint("garden_id", "label_key"),
)

entry = Table(
    "entry",
    metadata,
    _id(),
    _garden_id(),
    Column("happened", Date, nullable=False),
    Column("at", LocalTime),
    Column("recorded_at", UtcDateTime, nullable=False),
    Column("who", String, nullable=False),
    Column("kind", String, nullable=False),
    Column("data", JSON, nullable=False),
    Column("data_version", Integer, nullable=False),
    Column("part_ids", Uuids, nullable=False),
    Column("voids", Uuid),  # no foreign key: a log merged from two devices may bring the void first
    Index(None, "garden_id", "happened"),
)

entry_tree = Table(
    "entry_tree",
    metadata,
    Column("entry_id", Uuid, ForeignKey("entry.id"), primary_key=True),
    Column("position", Integer, primary_key=True),
    _garden_id(),
    Column("tree_id", Uuid, ForeignKey("tree.id"), nullable=False, index=True),
    Index(None, "garden_id"),
)

published_event = Table(
    "published_event",
    metadata,
    Column("uid", Uuid, primary_key=True),
    _garden_id(),
    Column("group", String, nullable=False),
    Column("cycle", Integer, nullable=False),
    Column("tree_ids", Uuids, nullable=False),
    Column("start", Date, nullable=False),
    Column("end", Date, nullable=False),
    Column("summary", String, nullable=False),
    Column("description", String, nullable=False),
    Column("reminder", String, nullable=False),
    Column("categories", Texts, nullable=False),
    Column("status", String, nullable=False),
    Column("sequence", Integer, nullable=False),
    Column("created_at", UtcDateTime, nullable=False),
    Column("revised_at", UtcDateTime, nullable=False),
    Column("dates_changed", Date, nullable=False),
    Column("text_changed", Date, nullable=False),
    Index(None, "garden_id"),
)

plan_snapshot = Table(
    "plan_snapshot",
    metadata,
    _id(),
    _garden_id(),
    Column("day", Date, nullable=False),
    Column("made_at", UtcDateTime, nullable=False),
    Column("data", JSON, nullable=False),
    Index(None, "garden_id", "day"),
)

published_member = Table(
    "published_member",
    metadata,
    _garden_id(primary_key=True),
    Column("group", String, primary_key=True),
    Column("cycle", Integer, primary_key=True),
    Column("tree_id", Uuid, ForeignKey("tree.id"), primary_key=True),
    Column("event_uid", Uuid, nullable=False),  # no foreign key: the choice outlives the event
)

warning = Table(
    "warning",
    metadata,
    _id(),
    _garden_id(),
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
    _id(),
    _garden_id(),
    Column("kind", String, nullable=False),
    Column("address", String, nullable=False),
    Column("secret", String, nullable=False),
    Column("person", String, nullable=False),
    Column("quiet_from", LocalTime),
    Column("quiet_to", LocalTime),
    Column("private_ok", Boolean, nullable=False),
    Column("why_off", String, nullable=False),
    UniqueConstraint("garden_id", "kind", "address"),
)

message = Table(
    "message",
    metadata,
    _id(),  # made from channel, warning, revision and action: the same message is never there twice
    _garden_id(),
    Column("channel_id", Uuid, ForeignKey("channel.id", ondelete="CASCADE"), nullable=False),
    Column("warning_id", Uuid, nullable=False),  # no foreign key: a digest is about no one warning
    Column("revision", Integer, nullable=False),
    Column("action", String, nullable=False),
    Column("notice", JSON, nullable=False),
    Column("state", String, nullable=False),
    Column("due_at", UtcDateTime, nullable=False),
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

judgement = Table(
    "judgement",
    metadata,
    _garden_id(primary_key=True),
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
