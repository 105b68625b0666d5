"""What weather services handed out: answers as they came, forecasts as days and as hours, and values that were not believed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING
from uuid import UUID, uuid4
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import delete, select

from calendar_core.storage.places import shared_place
from calendar_core.storage.rows import columns, record, upsert
from calendar_core.storage.schema import tables
from calendar_core.weather.hourly import HOUR, HourlySeries

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from typing import Any

    from sqlalchemy import Connection

    from calendar_core.weather.hourly import Column


@dataclass(frozen=True, slots=True)
class Answer:
    """An answer of a service as it came; times are UTC."""

    url: str
    etag: str | None
    last_modified: str | None
    expires: datetime | None
    fetched: datetime
    body: bytes


def get_answer(connection: Connection, url: str) -> Answer | None:
    """Return the stored answer of a URL."""
    kept = tables.answer
    row = connection.execute(select(*columns(kept, Answer)).where(kept.c.url == url)).first()
    return None if row is None else Answer(*row)


def put_answer(connection: Connection, answer: Answer) -> None:
    """Store an answer in place of an older one of its URL."""
    upsert(connection, tables.answer, [record(answer)])


@dataclass(frozen=True, slots=True, eq=False)
class StoredForecast:
    """The newest run of a source for a place, rounded, as days of a zone; arrays are (n_members, n_days) [degC]."""

    source: str
    latitude: float
    longitude: float
    zone: str
    issued: datetime
    fetched: datetime
    start: date
    t_min_c: NDArray[np.float64]
    t_max_c: NDArray[np.float64]
    credit: str
    distance_km: float
    expires: datetime | None = None

    @property
    def issued_here(self) -> datetime:
        """When it was issued by the clock of its zone: its day may be another than in UTC."""
        return self.issued.astimezone(ZoneInfo(self.zone))


def put_forecast(connection: Connection, forecast: StoredForecast) -> None:
    """Store a run in place of the one before."""
    place = shared_place(forecast.latitude, forecast.longitude)
    days = {
        "t_min_c": [_texts(member) for member in forecast.t_min_c],
        "t_max_c": [_texts(member) for member in forecast.t_max_c],
    }
    upsert(connection, tables.forecast, [record(forecast) | place | days])


def forecast_data(forecast: StoredForecast) -> dict[str, Any]:
    """Return a run as JSON, its place rounded, for what must outlive the row it came from."""
    place = shared_place(forecast.latitude, forecast.longitude)
    times = {name: value and value.isoformat() for name, value in _times(forecast).items()}
    days = {name: [_texts(member) for member in getattr(forecast, name)] for name in ("t_min_c", "t_max_c")}
    return record(forecast) | place | times | days


def forecast_of(data: Mapping[str, Any]) -> StoredForecast:
    """Return the run that `forecast_data` wrote."""
    moments = {
        name: data[name] and datetime.fromisoformat(data[name]) for name in ("issued", "fetched", "expires")
    }
    days = {name: _array(data[name]) for name in ("t_min_c", "t_max_c")}
    return StoredForecast(**{**data, **moments, **days, "start": date.fromisoformat(data["start"])})


def _times(forecast: StoredForecast) -> dict[str, date | None]:
    return {name: getattr(forecast, name) for name in ("issued", "fetched", "start", "expires")}


def get_forecast(
    connection: Connection, latitude: float, longitude: float, zone: str
) -> StoredForecast | None:
    """Return the run fetched last for a place, whatever its source."""
    kept = tables.forecast
    here = shared_place(latitude, longitude) | {"zone": zone}
    newest = select(*columns(kept, StoredForecast)).filter_by(**here).order_by(kept.c.fetched.desc()).limit(1)
    row = connection.execute(newest).mappings().first()
    if row is None:
        return None
    return StoredForecast(**{**row, "t_min_c": _array(row["t_min_c"]), "t_max_c": _array(row["t_max_c"])})


@dataclass(frozen=True, slots=True, eq=False)
class StoredHours:
    """The newest run of a source for a place, rounded, hour by hour from ``start`` (UTC) on.

    ``columns`` are (n_hours,) each, to two decimals and NaN where unknown, in the units of their names.
    """

    source: str
    latitude: float
    longitude: float
    issued: datetime
    fetched: datetime
    start: datetime
    columns: Mapping[Column, NDArray[np.float64]]
    credit: str
    distance_km: float
    expires: datetime | None = None

    @property
    def series(self) -> HourlySeries:
        """The hours."""
        return HourlySeries(self.start, self.columns)

    @property
    def reach(self) -> datetime:
        """The last hour with a temperature; the hour before ``start`` if there is none."""
        known = np.flatnonzero(~np.isnan(self.series["t_c"]))
        return self.start + (int(known[-1]) if known.size else -1) * HOUR


def put_forecast_hours(connection: Connection, hours: StoredHours) -> bool:
    """Store a run in place of the one before and tell so; one without any temperature to come is not stored."""
    if hours.reach < hours.fetched:
        return False
    place = shared_place(hours.latitude, hours.longitude)
    texts = {"columns": {name: _texts(values) for name, values in hours.columns.items()}}
    upsert(connection, tables.forecast_hours, [record(hours) | place | texts])
    return True


def get_forecast_hours(connection: Connection, latitude: float, longitude: float) -> StoredHours | None:
    """Return the run fetched last for a place, whatever its source."""
    kept = tables.forecast_hours
    here = shared_place(latitude, longitude)
    newest = select(*columns(kept, StoredHours)).filter_by(**here).order_by(kept.c.fetched.desc()).limit(1)
    row = connection.execute(newest).mappings().first()
    if row is None:
        return None
    hourly = {name: np.array(values, dtype=np.float64) for name, values in row["columns"].items()}
    return StoredHours(**{**row, "columns": hourly})


def _texts(values: NDArray[np.float64]) -> list[float | None]:
    return [None if value != value else value for value in np.round(values, 2).tolist()]  # noqa: PLR0124 - NaN


def _array(rows: Sequence[Sequence[float | None]]) -> NDArray[np.float64]:
    return np.array(rows, dtype=np.float64)


@dataclass(frozen=True, slots=True)
class RejectedValue:
    """A value that was not believed, and why; ``hour`` is an hour of UTC such as 03:00, "" for a whole day."""

    series_id: UUID
    day: date
    hour: str
    column: str
    value: float | None
    reason: str


def put_rejected(
    connection: Connection, series_id: UUID, first: date, last: date, rejected: Sequence[RejectedValue]
) -> None:
    """Store the values that were not believed between two days, in place of those known before."""
    kept = tables.weather_rejected
    connection.execute(delete(kept).where(kept.c.series_id == series_id, kept.c.day.between(first, last)))
    upsert(connection, tables.weather_rejected, [record(value) for value in rejected])


def list_rejected(connection: Connection, series_id: UUID) -> tuple[RejectedValue, ...]:
    """Return the values of a series that were not believed, by day."""
    kept = tables.weather_rejected
    chosen = select(*columns(kept, RejectedValue)).where(kept.c.series_id == series_id)
    return tuple(
        RejectedValue(*row)
        for row in connection.execute(chosen.order_by(kept.c.day, kept.c.hour, kept.c.column))
    )


def put_snapshot(
    connection: Connection, garden_id: UUID, day: date, made_at: datetime, data: Mapping[str, Any]
) -> UUID:
    """Store what a plan was made from, and return its id."""
    identity = uuid4()
    row = {"id": identity, "garden_id": garden_id, "day": day, "made_at": made_at, "data": dict(data)}
    upsert(connection, tables.plan_snapshot, [row])
    return identity


def latest_snapshot(
    connection: Connection, garden_id: UUID, upto: date
) -> tuple[date, dict[str, Any]] | None:
    """Return the day and content of the newest snapshot up to a day."""
    kept = tables.plan_snapshot.c
    chosen = select(kept.day, kept.data).where(kept.garden_id == garden_id, kept.day <= upto)
    row = connection.execute(chosen.order_by(kept.day.desc(), kept.made_at.desc()).limit(1)).first()
    return None if row is None else (row[0], dict(row[1]))
