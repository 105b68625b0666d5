"""What tables are made of: the column types in which SQLite and PostgreSQL would otherwise differ."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from typing import TYPE_CHECKING, Any, ClassVar, TypeVar
from uuid import UUID

from sqlalchemy import (
    JSON,
    Column,
    Date,
    DateTime,
    ForeignKey,
    MetaData,
    String,
    Time,
    TypeDecorator,
    Uuid,
)

from calendar_core.garden.model import MonthDay
from calendar_core.knowledge.words import SURFACES, Surface
from calendar_core.storage.errors import UnfitValueError, UnreadableError

if TYPE_CHECKING:
    from collections.abc import Callable

    from sqlalchemy import Dialect


Value = TypeVar("Value")


class Kept(TypeDecorator[Value]):
    """A column that is read as it was written, or else refused: somebody may have been in the file by hand."""

    cache_ok = True
    holds: ClassVar[str]

    def result_processor(self, dialect: Dialect, coltype: object) -> Callable[[Any], Any] | None:
        """Read a value. Raises UnreadableError."""
        read = super().result_processor(dialect, coltype)
        if read is None:
            return None

        def read_or_refuse(value: Any) -> Any:
            try:
                return read(value)
            except (ValueError, TypeError, OverflowError, AttributeError, RecursionError) as error:
                raise UnreadableError(value, self.holds) from error

        return read_or_refuse


class Day(Kept[date]):
    """A day."""

    impl = Date
    cache_ok = True
    holds = "a day"


class Id(Kept[UUID]):
    """An id."""

    impl = Uuid
    cache_ok = True
    holds = "an id"


class UtcDateTime(Kept[datetime]):
    """An instant: stored in UTC, returned aware. SQLite alone would drop the offset without a word."""

    impl = DateTime(timezone=True)
    cache_ok = True
    holds = "a moment"

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


class LocalTime(Kept[time]):
    """A wall-clock time at the garden; refused with an offset, which SQLite would drop."""

    impl = Time
    cache_ok = True
    holds = "a time of day"

    def process_bind_param(self, value: time | None, _dialect: Dialect) -> time | None:
        """Refuse a time that brings its own zone."""
        if value is not None and value.tzinfo is not None:
            raise UnfitValueError(f"the local time {value.isoformat()} has an offset: leave it out")
        return value


class MonthDayText(Kept[MonthDay]):
    """A day of the year as MM-DD."""

    impl = String(5)
    cache_ok = True
    holds = "a day of the year"

    def process_bind_param(self, value: MonthDay | None, _dialect: Dialect) -> str | None:
        """Write MM-DD."""
        return None if value is None else f"{value.month:02d}-{value.day:02d}"

    def process_result_value(self, value: str | None, _dialect: Dialect) -> MonthDay | None:
        """Read MM-DD."""
        return None if value is None else MonthDay(int(value[:2]), int(value[3:]))


class Texts(Kept[tuple[str, ...]]):
    """A tuple of texts in JSON."""

    impl = JSON
    cache_ok = True
    holds = "a list of texts"

    def process_result_value(self, value: Any, _dialect: Dialect) -> tuple[str, ...]:
        """Read a tuple."""
        return tuple(value)


class SurfaceText(TypeDecorator[Surface]):
    """What is under a spot. Any text was once allowed: one without a meaning reads as a bench."""

    impl = String
    cache_ok = True

    def process_result_value(self, value: str | None, _dialect: Dialect) -> Surface:
        """Read a known surface."""
        return next((known for known in SURFACES if known == value), "bench")


class LogData(TypeDecorator[Any]):
    """What an entry says, in JSON. What is no JSON is read as the text that stands there: the log sets it aside."""

    impl = JSON
    cache_ok = True

    def result_processor(self, dialect: Dialect, coltype: object) -> Callable[[Any], Any] | None:
        """Read JSON, and what is none."""
        read = self.impl_instance.result_processor(dialect, coltype)
        if read is None:
            return None

        def read_or_show(value: Any) -> Any:
            try:
                return read(value)
            except (ValueError, RecursionError):
                return str(value)

        return read_or_show


class Points(Kept[tuple[tuple[float, float], ...]]):
    """A tuple of pairs of numbers in JSON."""

    impl = JSON
    cache_ok = True
    holds = "a list of pairs of numbers"

    def process_result_value(self, value: Any, _dialect: Dialect) -> tuple[tuple[float, float], ...]:
        """Read a tuple of pairs."""
        return tuple((x, y) for x, y in value)


class Uuids(Kept[tuple[UUID, ...]]):
    """A tuple of ids in JSON, in order."""

    impl = JSON
    cache_ok = True
    holds = "a list of ids"

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


def identity() -> Column[UUID]:
    """Return the column of a row's own id."""
    return Column("id", Id, primary_key=True)


def garden_id(*, primary_key: bool = False) -> Column[UUID]:
    """Return the column of the garden a row belongs to."""
    return Column("garden_id", Id, ForeignKey("garden.id"), nullable=False, primary_key=primary_key)
