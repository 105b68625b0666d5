"""The chance that a place passes a line before the grower's next look, day by day: usually, and as it is forecast."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from math import erf, sqrt
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.garden.thermal import THERMAL, felt

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from calendar_core.knowledge.forms.hazards import Hazards
    from calendar_core.knowledge.forms.places import RiskName
    from calendar_core.knowledge.words import ThermalProfile
    from calendar_core.planning.seasons.air import Air
    from calendar_core.weather.traces import ForecastKnown

    Floats = NDArray[np.float64]

YEAR_DAYS = 365
_erf = np.vectorize(erf, otypes=[float])


@dataclass(frozen=True, slots=True)
class ChanceLine:
    """A temperature of the air and how it is passed.

    ``night`` is one night below, ``nights`` a week of them on the mean, ``killing`` a day whose mean is below;
    ``heat`` and ``tender`` are a day above.
    """

    risk: RiskName
    at_c: float

    @property
    def hot(self) -> bool:
        """Whether harm lies above it."""
        return self.risk in ("heat", "tender")


@dataclass(frozen=True)
class Chances:
    """Chances over the days of an axis.

    ``air`` is the open air; ``reach`` is the last day of the forecast (before ``today`` without one) and
    ``error_c`` (n_days,) its standard deviation [degC], 0 where the traces themselves are spread.
    """

    air: Air
    today: int
    reach: int
    error_c: Floats
    look_days: int
    smooth_days: int
    years: int | None = None  # how many past years they rest on, where that is few
    _kept: dict[tuple[object, ...], Floats] = field(default_factory=dict, init=False, repr=False)

    def usual(self, line: ChanceLine, place: ThermalProfile) -> Floats:
        """Return the chance (n_days,) of a usual year that the days from each on, up to the next look, pass a line."""
        return self._once(("usual", line, place), lambda: self._usual(line, place))

    def ahead(self, line: ChanceLine, place: ThermalProfile) -> Floats:
        """Return the same (n_days,) with what is forecast, as far as that goes."""
        return self._once(("ahead", line, place), lambda: self._ahead(line, place))

    def known(self, line: ChanceLine, place: ThermalProfile) -> Floats:
        """Return the same (n_days,) with what came of forecasts that are over: what was measured; nothing without one."""
        if self.reach < self.today:
            return self.usual(line, place)
        return self._once(("known", line, place), lambda: self._ahead(line, place, begin=0))

    def _once(self, key: tuple[object, ...], make: Callable[[], Floats]) -> Floats:
        if key not in self._kept:
            self._kept[key] = make()
        return self._kept[key]

    def _usual(self, line: ChanceLine, place: ThermalProfile) -> Floats:
        values = _values(line, place, self.air.t_min_c, self.air.t_max_c)
        return self._of_year(self._passes(values, line).mean(axis=0))

    def _of_year(self, days: Floats) -> Floats:
        """Average (n,) over the days of which nothing is known yet; they hold more than a year of every past one.

        A day of the year counts once, however often it lies ahead: else the days just before today would be taken for
        those after it, and a season's begin would walk on with today.
        """
        start = self.air.axis.start.toordinal()
        slot = (start + np.arange(self.air.axis.n_days)) % YEAR_DAYS  # leap days shift it by days, not weeks
        unknown = np.arange(len(days)) > max(self.today, self.reach)
        sums = np.bincount(slot[: len(days)][unknown], days[unknown], YEAR_DAYS)
        counts = np.bincount(slot[: len(days)][unknown], minlength=YEAR_DAYS)
        return self._smooth(sums / counts)[slot]

    def _smooth(self, values: Floats) -> Floats:
        half = self.smooth_days // 2
        wide = np.concatenate([values[-half:], values, values[:half]])
        mean = np.asarray(np.convolve(wide, np.full(2 * half + 1, 1 / (2 * half + 1)), "valid"))
        return mean.round(
            9
        )  # shares of years often are just what a risk is held against: no rounding error decides

    def _passes(self, values: Floats, line: ChanceLine) -> Floats:
        """Return whether each span of days up to the next look passes the line (n_traces, n_spans)."""
        at = line.at_c if line.hot else -line.at_c
        reached = self._mean(values) if line.risk == "nights" else self._worst(values)
        return np.asarray(reached > at, dtype=np.float64)

    def _ahead(self, line: ChanceLine, place: ThermalProfile, begin: int | None = None) -> Floats:
        out = self.usual(line, place).copy()
        near = slice(max(self.today if begin is None else begin, 0), self.reach + 1)
        if near.start >= near.stop:
            return out
        if not line.hot and THERMAL[place].floor_c >= line.at_c:
            return out  # no error of a forecast goes below what the place is kept above
        if not self.error_c.any():
            values = _values(line, place, self.air.t_min_c, self.air.t_max_c)
            out[near] = self._passes(values, line).mean(axis=0)[near]
            return out
        (low, cold), (high, hot) = self._lowest, self._highest
        values, sd = _values(line, place, low, high), hot if line.hot else cold
        at = line.at_c if line.hot else -line.at_c
        last = min(near.stop + self.look_days, values.shape[1])
        here, sd = values[:, near.start : last] - at, sd[near.start : last]
        if (
            line.risk == "nights"
        ):  # errors of days in a row go together: that of their mean is the mean of theirs
            here, sd = self._mean(here), self._mean(sd)
        sure = (here > 0).astype(float)
        chance = np.where(sd > 0, (1 + _erf(here / np.where(sd > 0, sd, 1.0) / sqrt(2))) / 2, sure)
        # The worst day decides: as their errors go together, the chances of days do not add up.
        spans = chance if line.risk == "nights" else self._worst(chance)
        out[near] = spans.mean(axis=0)[: near.stop - near.start]
        return out

    def _worst(self, values: Floats) -> Floats:
        """Return the highest of the days from each on up to the next look (..., n_spans)."""
        return np.asarray(np.maximum.reduce(self._next_days(values)))

    def _mean(self, values: Floats) -> Floats:
        """Return their mean (..., n_spans)."""
        return np.asarray(np.add.reduce(self._next_days(values)) / self.look_days)

    def _next_days(self, values: Floats) -> list[Floats]:
        n = values.shape[-1] - self.look_days + 1
        return [values[..., day : day + n] for day in range(self.look_days)]

    @cached_property
    def _lowest(self) -> tuple[Floats, Floats]:
        return self._believed(self.air.t_min_c)

    @cached_property
    def _highest(self) -> tuple[Floats, Floats]:
        return self._believed(self.air.t_max_c)

    def _believed(self, days: Floats) -> tuple[Floats, Floats]:
        """Return days (n_traces, n_days), the forecast's drawn to the usual year, and what error is left (n_days,).

        Normal distributions of the usual year and of the error: the more a forecast errs beside how much such days
        differ, the less it says.
        """
        mean = self._of_year(days.mean(axis=0))
        spread = np.maximum(self._of_year((days**2).mean(axis=0)) - mean**2, 0.0)
        known = self.error_c > 0
        trust = np.ones_like(mean)
        trust[known] = spread[known] / (spread[known] + self.error_c[known] ** 2)
        return mean + trust * (days - mean), self.error_c * np.sqrt(trust)


def _values(line: ChanceLine, place: ThermalProfile, low: Floats, high: Floats) -> Floats:
    """Return what a line is held against (n_traces, n_days), turned so that harm lies above the line."""
    low, high = felt(low, high, ((0, place),))
    if line.hot:
        return high
    return -(low + high) / 2 if line.risk == "killing" else -low


def chances_of(
    air: Air,
    today: int,
    forecast: ForecastKnown | None,
    hazards: Hazards,
    *,
    look_days: int,
    smooth_days: int,
    years: int | None = None,
) -> Chances:
    """Return the chances over a plan's air, of ``years`` if few; a forecast of one member is given the error of forecasts."""
    n_days, error = air.axis.n_days, np.zeros(air.axis.n_days)
    reach = today - 1 if forecast is None else min(air.axis.index(forecast.to), n_days - 1)
    if forecast is not None and forecast.members < 2:
        rule = hazards.forecast_error.temperature_c
        lead = np.arange(n_days) - today
        known = (lead >= 0) & (np.arange(n_days) <= reach)
        error[known] = np.minimum(rule.start + rule.per_day * lead[known], rule.most)
    return Chances(air, today, reach, error, look_days, smooth_days, years)
