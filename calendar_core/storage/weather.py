"""Daily weather, kept once per source and station and shared by gardens."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Literal
from uuid import UUID

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import String, func, select, type_coerce, update

from calendar_core.storage.errors import StoreError
from calendar_core.storage.rows import columns, insert, record, upsert
from calendar_core.storage.schema import tables
from calendar_core.weather.daily import DailySeries

if TYPE_CHECKING:
    from uuid import UUID

    from sqlalchemy import Connection

Days = tuple[date, NDArray[np.float64], NDArray[np.float64]]
_VALUES = ("t_min_c", "t_max_c", "precipitation_mm")


@dataclass(frozen=True, slots=True)
class WeatherSeries:
    """Where days of weather come from. ``credit`` is the line that its terms ask to be shown."""

    id: UUID
    source: str
    station: str
    place: str
    latitude: float
    longitude: float
    elevation_m: float
    kind: Literal["measured", "normals", "service"]
    credit: str = ""


def save_series(connection: Connection, series: WeatherSeries) -> WeatherSeries:
    """Store a series, or renew the one of the same source, station and kind; return it with the stored id."""
    kept = tables.weather_series.c
    same = (kept.source == series.source, kept.station == series.station, kept.kind == series.kind)
    stored_id = connection.execute(select(kept.id).where(*same)).scalar()
    stored = series if stored_id is None else replace(series, id=stored_id)
    upsert(connection, tables.weather_series, [record(stored)])
    return stored


def get_series(connection: Connection, series_id: UUID) -> WeatherSeries:
    """Return a stored series."""
    found = [series for series in list_series(connection) if series.id == series_id]
    if not found:
        raise StoreError(f"no weather series {series_id}: import weather first")
    return found[0]


def list_series(connection: Connection) -> tuple[WeatherSeries, ...]:
    """Return all series by source and station."""
    rows = connection.execute(select(*columns(tables.weather_series, WeatherSeries)))
    return tuple(
        sorted((WeatherSeries(*row) for row in rows), key=lambda each: (each.source, each.station, each.kind))
    )


def store_days(
    connection: Connection,
    series_id: UUID,
    start: date,
    t_min_c: NDArray[np.float64],
    t_max_c: NDArray[np.float64],
    *,
    precipitation_mm: NDArray[np.float64] | None = None,
) -> int:
    """Store days from ``start`` on; newer values replace older ones, a gap (NaN) replaces nothing.

    Parameters
    ----------
    t_min_c, t_max_c, precipitation_mm : (n_days,) arrays
        Air temperature [degC] and precipitation [mm] of each day, NaN where missing.

    Returns
    -------
    int
        How many days held a value.
    """
    rain = np.full(len(t_min_c), np.nan) if precipitation_mm is None else precipitation_mm
    if not len(t_min_c) == len(t_max_c) == len(rain):
        raise StoreError(f"weather from {start}: the columns differ in length: give each day in every column")
    rows = _day_rows(series_id, start, np.column_stack([t_min_c, t_max_c, rain]).astype(np.float64))
    if rows:
        statement, kept = insert(connection, tables.weather_day), tables.weather_day.c
        newer = {name: func.coalesce(statement.excluded[name], kept[name]) for name in _VALUES}
        statement = statement.on_conflict_do_update(index_elements=["series_id", "day"], set_=newer)
        connection.execute(statement, rows)
        series = tables.weather_series
        again = update(series).where(series.c.id == series_id).values(revision=series.c.revision + 1)
        connection.execute(again)
    return len(rows)


def load_days(connection: Connection, series_id: UUID) -> Days | None:
    """Return the first day of a series and its temperatures up to the last day; None where it has no day yet.

    Returns
    -------
    start : date
    t_min_c, t_max_c : (n_days,) arrays
        [degC], NaN where missing.
    """
    kept = tables.weather_day.c
    day = type_coerce(kept.day, String)  # as the driver gives it: NumPy reads text far faster than dates
    chosen = select(day, kept.t_min_c, kept.t_max_c).where(kept.series_id == series_id).order_by(kept.day)
    rows = connection.execute(chosen).all()
    if not rows:
        return None
    days, low, high = zip(*rows, strict=True)
    dates = np.array([str(each) for each in days], dtype="datetime64[D]")
    index = (dates - dates[0]).astype(np.int64)
    t_min_c, t_max_c = np.full((2, index[-1] + 1), np.nan)
    t_min_c[index] = np.array(low, dtype=np.float64)
    t_max_c[index] = np.array(high, dtype=np.float64)
    return date.fromisoformat(str(days[0])), t_min_c, t_max_c


def _day_rows(series_id: UUID, start: date, values: NDArray[np.float64]) -> list[dict[str, object]]:
    """Return the days that hold a value, of an (n_days, 3) array."""
    missing = np.isnan(values)
    cells = values.astype(np.object_)
    cells[missing] = None
    held = np.flatnonzero(~missing.all(axis=1))
    return [
        {"series_id": series_id, "day": start + timedelta(days=day), **dict(zip(_VALUES, row, strict=True))}
        for day, row in zip(held.tolist(), cells[held].tolist(), strict=True)
    ]


def days_in(connection: Connection, series_id: UUID | None) -> DailySeries | None:
    """Return the days of a stored series; None where there is none, or where it has no day yet."""
    found = None if series_id is None else load_days(connection, series_id)
    return None if found is None else DailySeries(*found)
