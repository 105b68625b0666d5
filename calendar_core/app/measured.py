"""Measured days from a file: read, checked, and stored as a series that gardens share."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING
from uuid import UUID, uuid5

from calendar_core.app.errors import Refusal, faults_of
from calendar_core.app.forms import Label, Strict, Text, as_option, checked
from calendar_core.app.options import read_day
from calendar_core.storage.weather import WeatherSeries, save_series, store_days
from calendar_core.weather.past_years import past_years
from calendar_core.weather.sources.csv_daily import BadWeatherFile, DailyFile, parse_daily_csv
from calendar_core.weather.traces import climatology

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date
    from pathlib import Path

    import numpy as np
    from numpy.typing import NDArray
    from sqlalchemy import Connection

    from calendar_core.garden.model import Garden
    from calendar_core.weather.normals import Normals
    from calendar_core.weather.quality import Unit

FILES = UUID("6d0d9d1e-52d2-5a0e-9f0b-3a2f3d1c8a47")  # namespace of series that come from files


class Name(Strict):
    """What measured days are shown by."""

    station: Label
    credit: Text


@dataclass(frozen=True)
class MeasuredDays:
    """What a weather file holds, with the name and credit it is shown by."""

    file: DailyFile
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
        return series.id


def read_measured(
    path: Path,
    *,
    unit: Unit = "C",
    columns: Mapping[str, str] | None = None,
    missing: Sequence[float] = (),
    near: Normals | None = None,
    station: str | None = None,
    credit: str = "",
) -> MeasuredDays:
    """Return the checked days of a daily CSV, or refuse the file with a line for each fault."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise Refusal(
            f"{path}: cannot be read ({error.strerror}); right would be a CSV file of daily weather"
        ) from None
    except UnicodeDecodeError:
        raise Refusal(f"{path}: is not UTF-8 text; right would be a CSV file of daily weather") from None
    try:
        file = parse_daily_csv(text, file=str(path), unit=unit, columns=columns, missing=missing, near=near)
    except BadWeatherFile as error:
        raise Refusal(*error.lines) from None
    for day in (file.series.start, file.series.end):
        with faults_of(path):
            read_day(day.isoformat())
    name = checked(Name, {"station": station or path.stem, "credit": credit}, as_option)
    return MeasuredDays(file, name.station, name.credit)
