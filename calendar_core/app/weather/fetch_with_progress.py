"""Getting weather for a session: with progress, and refused in words a grower can use."""

from __future__ import annotations

import subprocess
import sys
from typing import TYPE_CHECKING

from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.progress import progress
from calendar_core.app.weather.fetching import fetch_forecast, fetch_hours, fetch_years, with_height
from calendar_core.app.weather.measured import named
from calendar_core.storage import gardens
from calendar_core.weather.sources.files import WeatherFile
from calendar_core.weather.sources.http import ServiceError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from calendar_core.app.shell.session import Session
    from calendar_core.app.weather.fetching import YearFetched
    from calendar_core.app.weather.measured import MeasuredDays
    from calendar_core.app.weather.services import Services
    from calendar_core.storage.services import StoredForecast, StoredHours


def fetched(session: Session, asked: Services, years: Sequence[int], *, quiet: bool) -> Iterator[YearFetched]:
    """Fetch years of past days, the newest first. Raises Refusal; what is in then stays in."""
    done = 0
    try:
        for year in progress(years, "Past days", quiet=quiet):
            with session.store.read() as connection:
                garden = gardens.get_garden(connection, session.garden.name)
            garden = with_height(session.store, garden, asked.past, session.today)
            yield from fetch_years(session.store, garden, asked.past, session.today, [year])
            done += 1
    except ServiceError as error:
        stored = f"{done} of {len(years)} years are in; go on later with: leafclock weather fetch"
        raise Refusal(f"{_said(error)}; {stored}") from None


def station_of(asked: Services, station: str) -> MeasuredDays:
    """Fetch the record of a station. Raises Refusal."""
    try:
        record = asked.stations.station(station)
    except ServiceError as error:
        raise Refusal(_said(error)) from None
    file = WeatherFile(record.series, record.precipitation_mm, record.rejected, record.notes)
    return named(file, station, asked.stations.credit)


def in_background(years: int, db: str | None, garden: str) -> None:
    """Go on fetching past years in a process of its own, which outlives this one and says nothing."""
    words = ["weather", "fetch", "--years", str(years), "--garden", garden, *(["--db", db] if db else [])]
    process = subprocess.Popen(  # noqa: S603 - this program, with words of its own
        [sys.executable, "-m", "calendar_core", *words],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    process.returncode = 0  # let go: Python would complain of a process that still runs


def forecast_of(session: Session, asked: Services) -> StoredForecast:
    """Fetch the newest forecast. Raises Refusal."""
    try:
        garden = with_height(session.store, session.garden, asked.past, session.today)
        return fetch_forecast(session.store, garden, asked.ahead, session.clock.now)
    except ServiceError as error:
        raise Refusal(_said(error)) from None


def hours_of(session: Session, asked: Services) -> StoredHours:
    """Fetch the newest hours of the coming days. Raises Refusal."""
    try:
        garden = with_height(session.store, session.garden, asked.past, session.today)
        return fetch_hours(session.store, garden, asked.ahead, session.clock.now)
    except ServiceError as error:
        raise Refusal(_said(error)) from None


def each_tried(*steps: Callable[[], object]) -> list[str]:
    """Take each step, whatever befalls the others; return the lines of what was refused, each once."""
    faults: list[str] = []
    for step in steps:
        try:
            step()
        except Refusal as refusal:
            faults += refusal.lines
    return list(dict.fromkeys(faults))


def _said(error: ServiceError) -> str:
    if error.wait_s is None:
        return str(error)
    return f"{error} (it asks to wait {error.wait_s / 60:.0f} minutes)"
