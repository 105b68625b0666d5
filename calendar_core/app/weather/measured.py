"""Measured days from a file or a station: read, checked, and stored as a series that gardens share."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING
from uuid import UUID, uuid5

from calendar_core.app.shell.clock import utc_now
from calendar_core.app.shell.days import ahead
from calendar_core.app.shell.errors import Refusal, faults_of
from calendar_core.app.shell.forms import Label, Strict, Text, as_option, checked
from calendar_core.app.shell.options import read_day
from calendar_core.app.shell.reading import MOST_BYTES, bytes_of, decoded
from calendar_core.storage.services import RejectedValue, put_rejected
from calendar_core.storage.weather import WeatherSeries, save_series, store_days
from calendar_core.weather.daily import DailySeries
from calendar_core.weather.past_years import past_years
from calendar_core.weather.sources.answers import GZIP, Nonsense, unpacked
from calendar_core.weather.sources.csv_table import BadWeatherFile
from calendar_core.weather.sources.files import WeatherFile, parse_file
from calendar_core.weather.traces import climatology

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path
    from zoneinfo import ZoneInfo

    import numpy as np
    from numpy.typing import NDArray
    from sqlalchemy import Connection

    from calendar_core.garden.model import Garden
    from calendar_core.weather.normals import Normals
    from calendar_core.weather.quality import Rejected, Unit

FILES = UUID("6d0d9d1e-52d2-5a0e-9f0b-3a2f3d1c8a47")  # namespace of series that come from files


class Name(Strict):
    """What measured days are shown by."""

    station: Label
    credit: Text


@dataclass(frozen=True)
class MeasuredDays:
    """What a weather file holds, with the name and credit it is shown by."""

    file: WeatherFile
    station: str
    credit: str

    def mean_year(self, today: date) -> NDArray[np.float64] | None:
        """Return the mean year (366,) [degC] of the days up to today, None where there is no whole year."""
        if not len(past_years(self.file.series, today)):
            return None
        return climatology(self.file.series, until=today).t_mean_c

    def store(self, connection: Connection, garden: Garden) -> UUID:
        """Store the series and its days; days that are there already are renewed."""
        identity = uuid5(FILES, f"{self.station}|{garden.latitude:.2f}|{garden.longitude:.2f}")
        series = save_series(
            connection,
            WeatherSeries(
                identity, "file", f"{self.station} {garden.latitude:.2f} {garden.longitude:.2f}", self.station,
                garden.latitude, garden.longitude, garden.elevation_m, "measured", self.credit,
            ),
        )  # fmt: skip
        days, rain = self.file.series, self.file.precipitation_mm
        store_days(connection, series.id, days.start, days.t_min_c, days.t_max_c, precipitation_mm=rain)
        keep_rejected(connection, series.id, days, self.file.rejected)
        return series.id


def read_measured(
    path: Path,
    *,
    zone: ZoneInfo,
    unit: Unit = "C",
    columns: Mapping[str, str] | None = None,
    missing: Sequence[float] = (),
    near: Normals | None = None,
    other: DailySeries | None = None,
    station: str | None = None,
    credit: str = "",
) -> MeasuredDays:
    """Return the checked days of a weather file, or refuse the file with a line for each fault."""
    try:
        file = parse_file(
            _text(path), file=str(path), zone=zone, unit=unit, columns=columns, missing=missing, near=near, other=other
        )  # fmt: skip
    except BadWeatherFile as error:
        raise Refusal(*error.lines) from None
    tomorrow = utc_now().date() + timedelta(days=1)  # somewhere it has begun
    for day in (file.series.start, file.series.end):
        with faults_of(path):
            read_day(day.isoformat())
            if day > tomorrow:
                raise Refusal(f"{ahead(day, tomorrow)}: nothing is measured before it comes")
    return named(file, station or file.station or path.name.partition(".")[0], credit or file.credit)


def named(file: WeatherFile, station: str, credit: str) -> MeasuredDays:
    """Return the days under a checked name. Raises Refusal, also where no value of any day is believed."""
    if not file.series.measured.any():
        why = file.rejected[0].reason if file.rejected else "missing: right would be measured days"
        raise Refusal(f"{station}: no day of it can be believed; the first is {why}")
    name = checked(Name, {"station": station, "credit": credit}, as_option)
    return MeasuredDays(file, name.station, name.credit)


def keep_rejected(
    connection: Connection, series_id: UUID, series: DailySeries, rejected: Sequence[Rejected]
) -> None:
    """Store the values left out of a series, in place of those known of the same days."""
    rows: dict[tuple[date, str, str], RejectedValue] = {}
    for value in rejected:
        hour = f"{value.when.astimezone(UTC):%H:%M}" if isinstance(value.when, datetime) else ""
        row = RejectedValue(series_id, day_of(value), hour, value.column, value.value, value.reason)
        rows.setdefault((row.day, hour, value.column), row)  # the first reason is the gravest
    put_rejected(connection, series_id, series.start, series.end, list(rows.values()))


def day_of(rejected: Rejected) -> date:
    """Return the day of a value: that of UTC for an hour."""
    when = rejected.when
    return when.astimezone(UTC).date() if isinstance(when, datetime) else when


def _text(path: Path) -> str:
    right = "a CSV file of weather, or a station record"
    body = bytes_of(path, right)
    try:
        return decoded(unpacked(body, MOST_BYTES) if body.startswith(GZIP) else body, path, right)
    except Nonsense as error:
        raise Refusal(f"{path}: holds {error}") from None
