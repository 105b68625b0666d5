"""The weather of a garden that is about to be founded: its place by name, its years, its mean year."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from calendar_core.app.garden.place import find_place
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.progress import notice, progress
from calendar_core.app.weather.services import services
from calendar_core.garden.limits import possible_height
from calendar_core.weather.daily import DailySeries
from calendar_core.weather.sources.http import KeptAnswer, ServiceError
from calendar_core.weather.traces import TooLittleWeather, climatology
from calendar_core.wording.garden.first_day_text import START
from calendar_core.wording.style import Style

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from numpy.typing import NDArray

    from calendar_core.app.garden.garden_file import GardenPart
    from calendar_core.app.weather.services import Services

FIRST_YEARS = 10
"""So many at once, that the first plan stands within minutes; the rest comes with ``weather fetch``."""


@dataclass
class Remembered:
    """Answers of services kept in memory, until there is a database to put days into."""

    answers: dict[str, KeptAnswer] = field(default_factory=dict)

    def get(self, url: str) -> KeptAnswer | None:
        """Return the answer of a URL."""
        return self.answers.get(url)

    def put(self, kept: KeptAnswer) -> None:
        """Remember an answer."""
        self.answers[kept.url] = kept


def services_in_memory(now: Callable[[], datetime]) -> Services:
    """Return the services that are set, whose answers are remembered while the program runs."""
    return services(Remembered(), now)


def looked_up(part: GardenPart, asked: Services) -> GardenPart:
    """Return the part with the coordinates of a place that is not bundled, as the service finds it."""
    if part.place is None or part.latitude is not None:
        return part
    try:
        find_place(part.place)
    except Refusal:
        pass
    else:
        return part
    try:
        found = asked.places.places(part.place, count=1)
    except ServiceError as error:
        raise Refusal(
            f"'{part.place}' is no bundled place, and {error}; right would be --lat and --lon"
        ) from None
    if not found:
        raise Refusal(f"no place '{part.place}' was found; right would be a town nearby, or --lat and --lon")
    hit = found[0]
    notice(
        Style().say(
            START["found"], name=hit.name, region=hit.region, country=hit.country,
            latitude=f"{hit.latitude:.2f}", longitude=f"{hit.longitude:.2f}",
        )
    )  # fmt: skip
    return part.model_copy(
        update={
            "place": hit.name, "latitude": hit.latitude, "longitude": hit.longitude,
            "elevation_m": part.elevation_m if part.elevation_m is not None else possible_height(hit.elevation_m),
            "zone": part.zone or hit.zone,
        }
    )  # fmt: skip


def with_height(part: GardenPart, asked: Services, today: date) -> GardenPart:
    """Return the part with the service's height of its place where none is given; as it is without an answer."""
    if part.latitude is None or part.longitude is None or part.elevation_m is not None:
        return part
    try:
        height_m = possible_height(asked.past.height_m(part.latitude, part.longitude, today))
    except ServiceError:
        return part
    return part if height_m is None else part.model_copy(update={"elevation_m": height_m})


def mean_year_of(part: GardenPart, asked: Services, today: date) -> NDArray[np.float64] | None:
    """Return the mean year (366,) [degC] of the last years at a place, None where the service gives no answer."""
    place = find_place(part.place) if part.place and part.latitude is None else None
    latitude, longitude = (
        (place.latitude, place.longitude) if place else (part.latitude or 0.0, part.longitude or 0.0)
    )
    elevation = part.elevation_m if part.elevation_m is not None else (place.elevation_m if place else None)
    series = []
    try:
        for year in progress(
            list(range(today.year - FIRST_YEARS, today.year)), Style().say(START["past_years"])
        ):
            days = asked.past.days(
                latitude, longitude, elevation, ZoneInfo(str(part.zone)), date(year, 1, 1), date(year, 12, 31)
            )
            series.append(days.series)
        return climatology(_one_after_another(series), until=today - timedelta(days=1)).t_mean_c
    except (ServiceError, TooLittleWeather) as error:
        notice(Style().say(START["no_weather_later"], why=error))
        return None


def _one_after_another(series: list[DailySeries]) -> DailySeries:
    """Return years as one series; where two have a day, the part of a year that is whole counts."""
    first = min(year.start for year in series)
    last = max(year.end for year in series)
    out = DailySeries(first, *np.full((2, (last - first).days + 1), np.nan))
    for year in series:
        at = (year.start - first).days
        known = year.measured
        out.t_min_c[at : at + len(year)][known] = year.t_min_c[known]
        out.t_max_c[at : at + len(year)][known] = year.t_max_c[known]
    return out
