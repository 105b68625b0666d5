"""Where the season stands: sun, day length, and the year's heat against a usual year."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from calendar_core.garden.cycle import is_south
from calendar_core.science.year.chill import chill_hours, chill_portions, utah_units
from calendar_core.science.year.daylight import SunTimes, sun_times
from calendar_core.science.year.degree_days import degree_days
from calendar_core.science.year.temperature import hourly

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from calendar_core.garden.model import Garden
    from calendar_core.planning.items import StageDate
    from calendar_core.weather.traces import Traces

    Floats = NDArray[np.float64]

# The base of growing degree-days in most temperate tables; shown, never planned from.
HEAT_BASE_C = 5.0
CHILL_DAYS = 182  # half a year: later chill tells nothing of the spring it leads to
FORESEEN_DAYS = 16  # as far as any of the weather services looks
TELLING_HEAT = 3.0  # degC d a day; with less a day's heat is noise beside the year's (estimate)


@dataclass(frozen=True)
class Chill:
    """Chill of the winter so far, by three measures that do not convert into one another."""

    since: date
    portions: float
    hours: float
    utah_units: float


@dataclass(frozen=True)
class SeasonLine:
    """``sun`` has the garden's local times; ``change_min`` is the change of day length since yesterday [min]; ``heat`` [degC d] since ``bud_break``.

    ``ahead_days`` is how far the year's heat stands ahead of a usual year and ``more_heat`` [degC d] by how
    much; None where this year's weather is not known, and ``ahead_days`` also while days bring so little
    heat that days say nothing. ``chill`` is told from November (May in the south) until buds break.
    """

    sun: SunTimes
    change_min: float
    bud_break: date | None
    heat: float | None
    ahead_days: int | None
    more_heat: float | None
    chill: Chill | None = None


def season_line(garden: Garden, traces: Traces, stages: Iterable[StageDate], today: date) -> SeasonLine:
    """Return where the season of a garden stands; ``stages`` are those of its trees."""
    zone = ZoneInfo(garden.zone)
    sun = sun_times(garden.latitude, garden.longitude, today, zone)
    before = sun_times(garden.latitude, garden.longitude, today - timedelta(days=1), zone)
    local = replace(
        sun, rise=sun.rise and sun.rise.astimezone(zone), set=sun.set and sun.set.astimezone(zone)
    )
    curve = HeatCurves(traces, garden.latitude, today)
    broke = _bud_break(stages, curve.start, today)
    change_min = (sun.length_h - before.length_h) * 60
    if traces.known.kind == "normals":
        return SeasonLine(local, change_min, broke, None, None, None)
    heat = curve.since(broke) if broke else None
    chill = None if broke else chill_so_far(traces, garden.latitude, today)
    return SeasonLine(local, change_min, broke, heat, curve.ahead_days(), curve.more_heat(), chill)


def chill_so_far(traces: Traces, latitude: float, today: date) -> Chill | None:
    """Return the chill since 1 November (1 May in the south), None outside the half year from it on.

    Days up to today that were not measured are the middle of the traces.
    """
    month = 5 if is_south(latitude) else 11
    start = date(today.year - (today.month < month), month, 1)
    first, last = (start - traces.start).days, (today - traces.start).days
    if not 0 <= first <= last or last - first > CHILL_DAYS:
        return None
    days = slice(first, last + 1)
    of_year = np.array([(start + timedelta(days=n)).timetuple().tm_yday for n in range(last - first + 1)])
    hours = hourly(traces.t_min_c[:, days], traces.t_max_c[:, days], latitude, of_year)
    sums = (f(hours).sum(axis=1) for f in (chill_portions, chill_hours, utah_units))
    return Chill(start, *(float(np.median(each)) for each in sums))


def _bud_break(stages: Iterable[StageDate], start: date, today: date) -> date | None:
    """Return the garden's middle date of this growing year's bud break, once it lies behind."""
    likely = [s.range.likely for s in stages if s.stage == "bud_break" and s.range]
    year = sorted(day for day in likely if start <= day <= today)
    return year[len(year) // 2] if year else None


class HeatCurves:
    """Running heat sums over one growing year, from midwinter to midwinter: this year's and a usual one."""

    def __init__(self, traces: Traces, latitude: float, today: date) -> None:
        south = is_south(latitude)
        self.start = date(today.year - (south and today.month < 7), 7 if south else 1, 1)
        self.today = today
        daily = degree_days((traces.t_min_c + traces.t_max_c) / 2, HEAT_BASE_C)
        self._first, self._before = traces.start, np.pad(np.cumsum(daily, axis=1), ((0, 0), (1, 0)))
        self.now = (today - traces.start).days
        first = (self.start - traces.start).days
        self.possible = np.cumsum(
            daily[:, first : first + 366], axis=1
        )  # every trace's year, measured up to today
        self.index = self.now - first
        self.past = np.cumsum(self._usual_years(daily), axis=1)

    def _usual_years(self, daily: Floats) -> Floats:
        """Return the past years behind the traces, by calendar day: what they say of the days after any forecast."""
        first = self.now + 1 + FORESEEN_DAYS
        return np.roll(daily[:, first : first + 365], self.index + 1 + FORESEEN_DAYS, axis=1)

    @property
    def usual(self) -> Floats:
        """The mean of the past years' sums (365,)."""
        return np.asarray(self.past.mean(axis=0))

    def over(self, first: date, days: int) -> tuple[Floats, Floats]:
        """Return the sums on so many days from one on, of possible years and of past ones: (years, days) each.

        Sums begin anew with each growing year; they are NaN on the last day of one, and where it is not known whole.
        """
        dates = [first + timedelta(days=n) for n in range(days + 1)]
        begins = np.array([(self._year_of(day) - self._first).days for day in dates])
        columns = np.array([(day - self._first).days for day in dates])[:-1]
        known = (begins[:-1] >= 0) & (columns < self._before.shape[1] - 1) & (np.diff(begins) == 0)
        ends = np.clip(columns + 1, 0, self._before.shape[1] - 1)
        starts = np.clip(begins[:-1], 0, self._before.shape[1] - 1)
        sums = self._before[:, ends] - self._before[:, starts]
        of_year = np.minimum(columns - begins[:-1], self.past.shape[1] - 1)
        past = np.where(np.diff(begins) == 0, self.past[:, of_year], np.nan)
        return np.where(known, sums, np.nan), past

    def _year_of(self, day: date) -> date:
        """Return the first day of the growing year that a day lies in."""
        return date(day.year - (day.month < self.start.month), self.start.month, 1)

    def since(self, day: date) -> float:
        """Heat from a day up to today, the middle of the traces."""
        begin = max((day - self.start).days, 0)
        return float(
            np.median(self.possible[:, self.index] - (self.possible[:, begin - 1] if begin else 0.0))
        )

    def ahead_days(self) -> int | None:
        """Days by which today's sum stands ahead of the usual one (behind if negative), while heat comes daily."""
        around = self.usual[[max(self.index - 7, 0), min(self.index + 7, self.usual.size - 1)]]
        if around[1] - around[0] < TELLING_HEAT * 14:
            return None
        return round(float(np.interp(self._reached(), self.usual, np.arange(self.usual.size))) - self.index)

    def more_heat(self) -> float:
        """Heat by which today's sum exceeds the usual one [degC d]."""
        return self._reached() - float(self.usual[min(self.index, self.usual.size - 1)])

    def _reached(self) -> float:
        return float(np.median(self.possible[:, self.index]))
