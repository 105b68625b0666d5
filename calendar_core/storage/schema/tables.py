"""All tables; those of subscribed calendars, of warnings and of told dates are in files of their own.

Columns carry the names of the dataclass fields they hold, so that a row is a dataclass. Names and labels
have a folded key beside them, because ``lower()`` differs between databases. There are no CHECK
constraints: Alembic's table rebuild on SQLite would lose them.
"""

from __future__ import annotations

from sqlalchemy import (
    JSON,
    Boolean,
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    String,
    Table,
    UniqueConstraint,
    false,
    true,
)

from calendar_core.storage.schema.access_tables import access_key, visit
from calendar_core.storage.schema.calendar_tables import calendar_address, calendar_place, calendar_text
from calendar_core.storage.schema.column_types import (
    Day,
    Id,
    LocalTime,
    LogData,
    MonthDayText,
    Points,
    SurfaceText,
    Texts,
    UtcDateTime,
    Uuids,
    garden_id,
    identity,
    metadata,
)
from calendar_core.storage.schema.told_tables import told_basis, told_date, told_move
from calendar_core.storage.schema.warning_tables import (
    channel,
    job_run,
    judgement,
    message,
    push_key,
    warning,
)

# What is made elsewhere and looked for here.
__all__ = [
    "access_key", "calendar_address", "calendar_place", "calendar_text", "channel", "job_run", "judgement", "message",
    "metadata", "push_key", "told_basis", "told_date", "told_move", "visit", "warning",
]  # fmt: skip

weather_series = Table(
    "weather_series",
    metadata,
    identity(),
    Column("source", String, nullable=False),
    Column("station", String, nullable=False),
    Column("place", String, nullable=False),
    Column("latitude", Float, nullable=False),
    Column("longitude", Float, nullable=False),
    Column("elevation_m", Float, nullable=False),
    Column("kind", String, nullable=False),
    Column("credit", String, nullable=False),
    Column("revision", Integer, nullable=False, server_default="0"),  # how often days of it were stored
    UniqueConstraint("source", "station", "kind"),
)

weather_day = Table(
    "weather_day",
    metadata,
    Column("series_id", Id, ForeignKey("weather_series.id", ondelete="CASCADE"), primary_key=True),
    Column("day", Day, primary_key=True),
    Column("t_min_c", Float),
    Column("t_max_c", Float),
    Column("precipitation_mm", Float),
    sqlite_with_rowid=False,  # days of a series then lie side by side in the file
)

weather_rejected = Table(
    "weather_rejected",
    metadata,
    Column("series_id", Id, ForeignKey("weather_series.id", ondelete="CASCADE"), primary_key=True),
    Column("day", Day, primary_key=True),
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
    Column("start", Day, nullable=False),
    Column("t_min_c", JSON, nullable=False),
    Column("t_max_c", JSON, nullable=False),
    Column("credit", String, nullable=False),
    Column("distance_km", Float, nullable=False),
    Column("expires", UtcDateTime),
)

forecast_hours = Table(
    "forecast_hours",
    metadata,
    Column("source", String, primary_key=True),
    Column("latitude", Float, primary_key=True),
    Column("longitude", Float, primary_key=True),
    Column("issued", UtcDateTime, nullable=False),
    Column("fetched", UtcDateTime, nullable=False),
    Column("start", UtcDateTime, nullable=False),
    Column("columns", JSON, nullable=False),
    Column("credit", String, nullable=False),
    Column("distance_km", Float, nullable=False),
    Column("expires", UtcDateTime),
)

garden = Table(
    "garden",
    metadata,
    identity(),
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
    Column("weather_series", Id, ForeignKey("weather_series.id")),
    Column("service_series", Id),  # no foreign key: SQLite would have to make the table anew
    Column("own_level", Boolean, nullable=False, server_default=true()),
    Column("elevation_known", Boolean, nullable=False, server_default=true()),
)

person = Table(
    "person",
    metadata,
    identity(),
    garden_id(),
    Column("name", String, nullable=False),
    Column("name_key", String, nullable=False),
    Column("role", String, nullable=False),
    UniqueConstraint("garden_id", "name_key"),
)

spot = Table(
    "spot",
    metadata,
    identity(),
    garden_id(),
    Column("name", String, nullable=False),
    Column("name_key", String, nullable=False),
    Column("sun_from", LocalTime),
    Column("sun_to", LocalTime),
    Column("cloth_percent", Integer, nullable=False),
    Column("profile", String, nullable=False),
    Column("wind", String, nullable=False),
    Column("surface", SurfaceText, nullable=False),
    Column("roof", Boolean, nullable=False),
    Column("quarantine", Boolean, nullable=False),
    Column("horizon", Points, nullable=False, server_default="[]"),
    UniqueConstraint("garden_id", "name_key"),
)

tree = Table(
    "tree",
    metadata,
    identity(),
    garden_id(),
    Column("label", String, nullable=False),
    Column("label_key", String, nullable=False),
    Column("species", String, nullable=False),
    Column("cultivar", String, nullable=False),
    UniqueConstraint("garden_id", "label_key"),
)

entry = Table(
    "entry",
    metadata,
    identity(),
    garden_id(),
    Column("happened", Day, nullable=False),
    Column("at", LocalTime),
    Column("recorded_at", UtcDateTime, nullable=False),
    Column("who", String, nullable=False),
    Column("kind", String, nullable=False),
    Column("data", LogData, nullable=False),
    Column("data_version", Integer, nullable=False),
    Column("part_ids", Uuids, nullable=False),
    Column("voids", Id),  # no foreign key: a log merged from two devices may bring the void first
    Index(None, "garden_id", "happened"),
)

entry_tree = Table(
    "entry_tree",
    metadata,
    Column("entry_id", Id, ForeignKey("entry.id"), primary_key=True),
    Column("position", Integer, primary_key=True),
    garden_id(),
    Column("tree_id", Id, ForeignKey("tree.id"), nullable=False, index=True),
    Index(None, "garden_id"),
)

published_event = Table(
    "published_event",
    metadata,
    Column("uid", Id, primary_key=True),
    garden_id(),
    Column("group", String, nullable=False),
    Column("cycle", Integer, nullable=False),
    Column("tree_ids", Uuids, nullable=False),
    Column("start", Day, nullable=False),
    Column("end", Day, nullable=False),
    Column("summary", String, nullable=False),
    Column("description", String, nullable=False),
    Column("reminder", String, nullable=False),
    Column("categories", Texts, nullable=False),
    Column("status", String, nullable=False),
    Column("sequence", Integer, nullable=False),
    Column("created_at", UtcDateTime, nullable=False),
    Column("revised_at", UtcDateTime, nullable=False),
    Column("dates_changed", Day, nullable=False),
    Column("text_changed", Day, nullable=False),
    Column("lent", String, nullable=False, server_default=""),
    Column("moves", Integer, nullable=False, server_default="0"),
    Column("gone", Boolean, nullable=False, server_default=false()),
    Column("calendar", String, nullable=False, server_default="windows"),
    Column("begins", LocalTime),
    Column("minutes", Integer, nullable=False, server_default="0"),
    Index(None, "garden_id"),
)

told_work = Table(
    "told_work",
    metadata,
    garden_id(primary_key=True),
    Column("item_id", Id, primary_key=True),
    Column("day", Day, primary_key=True),
    Column("safe", Day, nullable=False),
    Column("told_at", UtcDateTime, nullable=False),
    Column("fits", Boolean, nullable=False),
)

calendar_file = Table(
    "calendar_file",
    metadata,
    garden_id(primary_key=True),
    Column("path", String, primary_key=True),
    Column("kind", String, nullable=False),
    Column("tree_id", Id),  # no foreign key: the file outlives the tree
)

plan_snapshot = Table(
    "plan_snapshot",
    metadata,
    identity(),
    garden_id(),
    Column("day", Day, nullable=False),
    Column("made_at", UtcDateTime, nullable=False),
    Column("data", JSON, nullable=False),
    Index(None, "garden_id", "day"),
)

published_member = Table(
    "published_member",
    metadata,
    garden_id(primary_key=True),
    Column("group", String, primary_key=True),
    Column("cycle", Integer, primary_key=True),
    Column("tree_id", Id, ForeignKey("tree.id"), primary_key=True),
    Column("event_uid", Id, nullable=False),  # no foreign key: the choice outlives the event
)

kept_tree = Table(
    "kept_tree",
    metadata,
    Column("tree_id", Id, ForeignKey("tree.id", ondelete="CASCADE"), primary_key=True),
    garden_id(),
    Column("made_for", String, nullable=False),
    Index(None, "garden_id"),
)

kept_item = Table(
    "kept_item",
    metadata,
    identity(),
    garden_id(),
    Column("tree_id", Id, ForeignKey("kept_tree.tree_id", ondelete="CASCADE"), nullable=False, index=True),
    Column("bundle", String, nullable=False),
    Column("opens", Day, nullable=False),
    Column("data", String, nullable=False, server_default=""),
    Index(None, "garden_id", "bundle", "opens"),
)
