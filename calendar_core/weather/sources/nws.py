"""The US National Weather Service: its forecast grid, whose intervals are expanded to hours.

Source of shapes and meanings: https://www.weather.gov/documentation/services-web-api and
https://weather-gov.github.io/api/gridpoints. Equal hours in a row come as one interval; amounts do not, theirs
is the total of the whole interval (https://github.com/weather-gov/api/issues/21).
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from calendar_core.weather.sources.data.nws import grid_of_point, run_of
from calendar_core.weather.sources.http import ServiceError
from calendar_core.weather.sources.protocol import Forecast

if TYPE_CHECKING:
    from calendar_core.weather.sources.http import Keep
    from calendar_core.weather.sources.protocol import Access

URL = "https://api.weather.gov"

CREDIT = "Forecast data by the National Weather Service (https://www.weather.gov/)"

OUTSIDE = "the US National Weather Service covers the United States only; right would be another source"

_ACCEPT = {"Accept": "application/geo+json"}


class _Moved(Exception):  # noqa: N818 - reads as what it is where it is caught
    """The place seems to lie in another cell by now."""


class Nws:
    """The service as source of forecasts, for the United States and their territories.

    Coordinates are asked to four decimals, the most it takes, because its cells of 2.5 km are small.
    """

    name = "nws"

    def __init__(self, access: Access) -> None:
        self._client, self._base_url = access.client, access.url(URL)

    def forecast(
        self,
        latitude: float,
        longitude: float,
        elevation_m: float | None,  # noqa: ARG002 - a cell has an elevation of its own
    ) -> Forecast:
        """Return the newest grid as its one member.

        A window's lowest or highest temperature is set at that hour of it in which the hourly temperature is
        lowest or highest. Amounts are spread evenly over their hours.

        Raises
        ------
        http.ServiceError
            Outside the United States too: "refused".
        """
        point = f"{_degrees(latitude)},{_degrees(longitude)}"
        try:
            return self._run(self._grid(point, keep="conditional"), point)
        except _Moved:
            fresh = self._grid(point, keep=None)
        try:
            return self._run(fresh, point)
        except _Moved as moved:
            text = f"the US National Weather Service {moved}; right would be another source"
            raise ServiceError("refused", text) from moved

    def hours_ahead(self, latitude: float, longitude: float, elevation_m: float | None) -> Forecast:
        """Return the same grid: it has all columns."""
        return self.forecast(latitude, longitude, elevation_m)

    def _grid(self, point: str, *, keep: Keep | None) -> str:
        """Return the cell of a place, such as TAE/58,65; offices move their grids now and then."""
        url = f"{self._base_url}/points/{point}"
        try:
            grid = self._client.ask(url, None, grid_of_point, keep=keep, headers=_ACCEPT)
        except ServiceError as error:
            if _status(error) == 404:
                raise ServiceError("refused", OUTSIDE, reason=error.reason) from error
            raise
        if grid is None:
            raise ServiceError("refused", OUTSIDE)
        return grid

    def _run(self, grid: str, point: str) -> Forecast:
        try:
            run = self._client.ask(
                f"{self._base_url}/gridpoints/{grid}",
                None,
                lambda body: run_of(body, point),
                keep="conditional",
                headers=_ACCEPT,
                worth_keeping=lambda got: got.grid == grid,
            )
        except ServiceError as error:
            if _status(error) == 404:
                raise _Moved(f"has no cell {grid}: {error.reason or 'no reason given'}") from error
            raise
        if run.grid != grid:
            raise _Moved(f"answers for cell {run.grid} where {grid} was asked")
        return Forecast(self.name, run.issued, run.cell, (run.hours,), CREDIT, self._client.expires)


def _degrees(angle: float) -> str:
    """Return an angle as the service writes it; others it redirects to four decimals without ending zeros."""
    return f"{round(angle, 4) + 0.0:.4f}".rstrip("0").rstrip(".")


def _status(error: ServiceError) -> int | None:
    found = re.search(r" answers (\d{3}) ", str(error))
    return int(found[1]) if found else None
