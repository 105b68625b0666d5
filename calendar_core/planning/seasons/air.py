"""The air over a plan's axis: traces, the mean year, and the sums every stage and anchor reads."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.garden.thermal import felt, inside
from calendar_core.science.year.degree_days import degree_days, modified, sine
from calendar_core.science.year.stages import RATES, centred_mean, chill, first_day, forcing, softened_heat

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    from numpy.typing import NDArray

    from calendar_core.garden.thermal import History
    from calendar_core.knowledge.forms.species.anchors import DegreeDayMethod
    from calendar_core.planning.seasons.axis import Axis

    Floats = NDArray[np.float64]
    from calendar_core.weather.traces import Traces


LAG_DAYS = (
    75  # by so much at most do the warmest and coldest days of a mean year lag the solstices (Seattle: 45)
)
MONTH_DAYS = 31
SHORT_DAY_H = 10.0
"""Below it growers of winter greens under glass count on no growth (from memory); behind a window it is no lighter."""


@dataclass
class Air:
    """Daily air of ``n_traces`` possible years on an axis, with its sums kept once computed.

    ``t_min_c``, ``t_max_c`` are (n_traces, n_days); ``climate_c`` (n_days,) is the mean year's daily mean.
    ``frost_c`` is the screen minimum that counts as frost.
    """

    axis: Axis
    t_min_c: Floats
    t_max_c: Floats
    climate_c: Floats
    frost_c: float
    measured: bool = True  # of a past cycle: False where the mean year stands in for its weather
    dark: NDArray[np.bool_] | None = None  # days (n_days,) too short for growth behind a window
    _kept: dict[tuple[object, ...], Floats] = field(default_factory=dict)

    @property
    def n_traces(self) -> int:
        """Number of traces."""
        return int(self.t_min_c.shape[0])

    def in_room(self, history: History) -> Air:
        """Return the air that a tree lives in which stands now here, now there; the open air for none."""
        if not history:
            return self
        low, high = felt(self.t_min_c, self.t_max_c, history)
        dark = inside(history, self.axis.n_days) & (self.axis.day_length_h < SHORT_DAY_H)
        return Air(self.axis, low, high, self.climate_c, self.frost_c, self.measured, dark)

    def _once(self, key: tuple[object, ...], make: Callable[[], Floats]) -> Floats:
        if key not in self._kept:
            self._kept[key] = make()
        return self._kept[key]

    def mean_c(self, history: History = ()) -> Floats:
        """Daily mean (n_traces, n_days) where a tree with this history stands."""

        def make() -> Floats:
            low, high = felt(self.t_min_c, self.t_max_c, history)
            return np.asarray((low + high) / 2)

        return self._once(("mean", history), make)

    def chill_sum(self, cycle: int, history: History) -> Floats:
        """Chill [d] summed from the cycle's 1 November (1 May in the south)."""
        start = max(self.axis.chill_start(cycle), 0)

        def make() -> Floats:
            sums = np.zeros_like(self.t_min_c)
            np.cumsum(chill(self.mean_c(history)[:, start:]), axis=1, out=sums[:, start:])
            return sums

        return self._once(("chill", cycle, history), make)

    def usual_chill(self, cycle: int, history: History) -> Floats:
        """Chill [d] of the mean year (1, n_days), summed as `chill_sum`."""
        start = max(self.axis.chill_start(cycle), 0)

        def make() -> Floats:
            low, high = felt(self.climate_c[None, :], self.climate_c[None, :], history)
            sums = np.zeros((1, self.climate_c.size))
            np.cumsum(chill((low + high) / 2)[:, start:], axis=1, out=sums[:, start:])
            return sums

        return self._once(("usual chill", cycle, history), make)

    def heat(self, cycle: int, history: History) -> Floats:
        """Softened heat [degC d] from the winter solstice before the cycle's spring; zero before it."""
        start = max(self.axis.midwinter(cycle), 0)

        def make() -> Floats:
            daily = forcing(self.mean_c(history)[:, start:], self.axis.day_length_h[start:], RATES)
            heat, chilled = np.cumsum(daily, axis=1), self.chill_sum(cycle, history)[:, start:]
            sums = np.zeros_like(self.t_min_c)
            sums[:, start:] = softened_heat(heat, chilled, RATES)
            return sums

        return self._once(("heat", cycle, history), make)

    def degree_day_sum(
        self, base_c: float, method: DegreeDayMethod = "average", upper_c: float | None = None
    ) -> Floats:
        """Degree-days [degC d] of the open air from the start of the axis, by one of `HeatSince`'s methods."""
        upper = math.inf if upper_c is None else upper_c

        def make() -> Floats:
            if method == "average":
                return np.asarray(np.cumsum(degree_days(self.mean_c(), base_c), axis=1))
            daily = sine if method == "sine" else modified
            return np.asarray(np.cumsum(daily(self.t_min_c, self.t_max_c, base_c, upper), axis=1))

        return self._once(("sum", base_c, method, upper), make)

    def warmest(self, cycle: int) -> int:
        """Index of the warmest days of the mean year in a cycle's summer: nights fall from there on."""
        start = self.axis.midsummer(cycle)
        return start + int(np.argmax(self.mean_year[start : start + LAG_DAYS]))

    def coldest(self, cycle: int) -> int:
        """Index of the coldest days of the mean year in a cycle's winter: days warm from there on."""
        start = max(self.axis.midwinter(cycle), 0)
        return start + int(np.argmin(self.mean_year[start : start + LAG_DAYS]))

    @property
    def mean_year(self) -> Floats:
        """Daily mean of the mean year over the axis (n_days,), averaged over a month [degC]."""
        return self._once(("smooth",), lambda: centred_mean(self.climate_c, MONTH_DAYS))

    def first_frost(self, cycle: int) -> Floats:
        """Labels (n_traces,) of the first autumn frost of a cycle; inf for a trace without one."""
        stop = min(self.axis.frost_year_end(cycle), self.axis.n_days)
        start = self.axis.midsummer(cycle)
        return self._once(("frost", cycle), lambda: first_day(self.t_min_c <= self.frost_c, start, stop))


def expected_maxima(traces: Traces, today: date, days: int) -> tuple[float, ...]:
    """Return the day maxima expected from today on [degC]: the middle of the possible years."""
    first = (today - traces.start).days
    return tuple(np.median(traces.t_max_c[:, first : first + days], axis=0).tolist())
