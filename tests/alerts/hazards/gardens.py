"""Stands and hours for the tests of hazards: bundled species in real weather, as if its forecast had been perfect."""

from __future__ import annotations

import csv
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

import numpy as np
import pvlib  # type: ignore[import-untyped]

from alerts.air.hours import Hours, Place
from alerts.air.reading import hours_of
from alerts.hazards.judge import judge
from alerts.hazards.stand import Condition, Stand, stand_of
from calendar_core.app.shell.session import knowledge
from calendar_core.garden.model import Spot
from calendar_core.knowledge.profiles.bundled import folder
from calendar_core.science.hour.humidity import saturation_kpa
from calendar_core.science.year.temperature import hourly
from calendar_core.weather.hourly import HourlySeries

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from alerts.threats import Threat

KNOWLEDGE = knowledge()
RULES = KNOWLEDGE.exposure
GARDEN = UUID(int=7)
ORACLES = Path(__file__).parents[2] / "oracles"
# The two files keep standard time all year.
GREENSBORO = Place(36.1, -79.95, 273.0, ZoneInfo("Etc/GMT+5"))
SAND_POINT = Place(55.317, -160.517, 7.0, ZoneInfo("Etc/GMT+9"))
NEW_YORK = Place(40.78, -73.88, 3.0, ZoneInfo("America/New_York"))
SEATTLE = Place(47.45, -122.31, 130.0, ZoneInfo("America/Los_Angeles"))
FILES = {GREENSBORO: "723170TYA.CSV", SAND_POINT: "703165TY.csv"}


def spot(name: str = "bench", **more: Any) -> Spot:
    return Spot(uuid5(GARDEN, name), GARDEN, name, **more)


def tree(species: str, where: Spot | None = None, name: str = "", **condition: Any) -> Stand:
    """Return a stand of a bundled species, in hard leaf unless told otherwise."""
    how = Condition(**{"foliage": "hard", **condition})
    return stand_of(uuid5(GARDEN, name or species), where or spot(), species, how, KNOWLEDGE)


def threats(stands: Stand | Iterable[Stand], hours: Hours, place: Place, *hazards: str) -> tuple[Threat, ...]:
    """Return what threatens trees, of some hazards only where they are named."""
    asked = [stands] if isinstance(stands, Stand) else stands
    return tuple(one for one in judge(asked, hours, place, RULES) if not hazards or one.hazard in hazards)


def warned(stand: Stand, hours: Hours, place: Place, hazard: str) -> list[str]:
    """Return the days on which the middle course passes a line, and which: ``["07-09 caution"]``."""
    lines = []
    for one in threats(stand, hours, place, hazard):
        level = "danger" if one.chances[1] >= 0.5 else "caution" if one.chances[0] >= 0.5 else ""
        lines += [f"{one.day:%m-%d} {level}"] if level else []
    return lines


def made(start: datetime, **columns: Any) -> Hours:
    """Return hours of a dry summer day's air, but for the columns that are given (n_members, n_hours)."""
    usual: dict[str, Any] = {
        "t_c": 25.0,
        "vapour_kpa": 1.5,
        "wind_10m_ms": 3.0,
        "gust_ms": 5.0,
        "sunlight_w_m2": 0.0,
        "cloud_percent": 0.0,
        "rain_mm": 0.0,
    } | columns
    n = max(np.shape(values)[-1] if np.ndim(values) else 1 for values in usual.values())
    arrays = {name: np.atleast_2d(np.broadcast_to(v, np.shape(v) or (1, n))) for name, v in usual.items()}
    hail = arrays.pop("hail", np.zeros((1, n))) > 0
    return Hours(start, start, **arrays, hail=hail, known=np.ones((1, n), dtype=np.bool_))


@cache
def _year(place: Place) -> dict[str, NDArray[np.float64]]:
    """Return a year of the National Solar Radiation Data Base, from a file the pvlib package brings along."""
    path = Path(pvlib.__file__).parent / "data" / FILES[place]
    table, _ = pvlib.iotools.read_tmy3(path, coerce_year=1990, map_variables=True)
    names = ["temp_air", "temp_dew", "wind_speed", "ghi", "TotCld (tenths)", "Lprecip depth (mm)"]
    return dict(zip(names, table[names].to_numpy(dtype=np.float64).T[:, None], strict=True))


def year_hours(place: Place, month: int, day: int, days: int = 1) -> Hours:
    """Return real hours from the local midnight of a day on; gusts are taken as 1.6 times the wind."""
    begin = datetime(1990, month, day, tzinfo=place.zone)
    first = (begin - datetime(1990, 1, 1, tzinfo=place.zone)).days * 24
    t, dew, wind, light, cloud, rain = (of[:, first : first + 24 * days] for of in _year(place).values())
    start = begin.astimezone(UTC)
    return made(
        start,
        t_c=t,
        vapour_kpa=saturation_kpa(dew),
        wind_10m_ms=wind,
        gust_ms=1.6 * wind,
        sunlight_w_m2=light,
        cloud_percent=10.0 * cloud,
        rain_mm=np.maximum(rain, 0.0),
    )


def new_york_hours() -> Hours:
    """Return La Guardia from 17 to 19 July 2013, sunlight from a clear sky."""
    with (ORACLES / "lga-july-2013.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    t, dew, wind = (np.array([float(row[c]) for row in rows]) for c in ("t_f", "dew_point_f", "wind_mph"))
    start = datetime.fromisoformat(rows[0]["time"])
    series = HourlySeries(
        start, {"t_c": (t - 32.0) / 1.8, "dew_point_c": (dew - 32.0) / 1.8, "wind_ms": wind * 0.44704}
    )
    return hours_of(series, start, NEW_YORK)


def seattle_hours(first: str, days: int) -> Hours:
    """Return hours made from the daily extremes of the bundled file, all else filled in."""
    with (folder("demo") / "seattle-weather.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    at = next(i for i, row in enumerate(rows) if row["date"] == first)
    low, high, wind = (
        np.array([float(row[c]) for row in rows[at : at + days]]) for c in ("temp_min", "temp_max", "wind")
    )
    midnight = datetime.strptime(first, "%Y/%m/%d").replace(tzinfo=UTC) + timedelta(hours=8)  # by the sun
    season = np.arange(days) + midnight.timetuple().tm_yday
    t = hourly(low, high, SEATTLE.latitude, season)
    return hours_of(HourlySeries(midnight, {"t_c": t, "wind_ms": np.repeat(wind, 24)}), midnight, SEATTLE)
