"""One date in one plan, for `weather_skill`: what the possible years say of it, and what came."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from calendar_core.planning.seasons.air import Air
from calendar_core.planning.seasons.axis import axis_for
from calendar_core.planning.seasons.frost_dates import frost_dates
from calendar_core.planning.seasons.learned import taught
from calendar_core.planning.seasons.members import quantiles
from calendar_core.planning.seasons.stage_groups import Group
from calendar_core.planning.seasons.stage_run import StageRun
from calendar_core.science.year.members import DRAWS
from calendar_core.weather.daily import years_and_slots
from calendar_core.weather.traces import climatology, make_traces
from tests.benchmarks.records import PAST_YEARS, Record, frost_days, ordinals
from tests.planning.made_up import SEED, knowledge

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from numpy.typing import NDArray

    from calendar_core.knowledge.forms.species.profile import Profile
    from calendar_core.planning.seasons.axis import Axis

    Floats = NDArray[np.float64]

# Dates on which the weather acts in ways of its own; all other stages follow one of these by days, or the light.
SPRING = "stages of spring"
WATCHED = {
    "acer-palmatum": {"bud_break": SPRING, "leaves_full_size": SPRING, "colour": "colour"},
    "pinus-thunbergii": {"candles_extending": SPRING, "needles_emerging": SPRING},
}
REPEATS = 8  # of the weather that came, each with 25 trees drawn


class Case(NamedTuple):
    """One date in a plan: in the ranges or not, how wide the weather's is, and errors of plan and references [d]."""

    month: int
    lead_d: int
    held: float
    published: float
    width: float
    plan: float
    mean_date: float
    mean_heat: float


Cases = dict[tuple[str, str], list[Case]]  # by place and kind


class Unerring(StageRun):
    """A tree that does what its profile says: what is left is what the weather does."""

    def _own(self, name: str) -> Floats:  # noqa: ARG002 - the same for all
        return np.zeros((self.shape[0], 1, DRAWS))


def stage_days(air: Air, who: str, cycle: int, run: type[StageRun]) -> dict[str, Floats]:
    """Return the ordinal days (n_traces, 25) of the stages watched in a cycle, NaN for never."""
    profile = knowledge().profiles[who]
    known = taught(profile, (), lambda _: None, lambda _: ())
    # A year's own warm winter has its spring too: whether a place has winter is not to be told from one year.
    always = profile.model_copy(update={"habit": "tropical"})
    stages = run(air, always, cycle, [Group((), known.needs, known.autumn)])
    if run is Unerring:
        stages.common = np.zeros(DRAWS)
    names = wanted(profile, WATCHED[who])
    labels = stages.run(names).labels
    shape = (air.n_traces, DRAWS)
    return {name: ordinals(air.axis, np.broadcast_to(labels[name][:, 0], shape)) for name in WATCHED[who]}


def wanted(profile: Profile, names: Iterable[str]) -> list[str]:
    """Return stages with all that they hang on."""
    out: list[str] = []
    for first in names:
        name = first
        while name not in out:
            out.append(name)
            rule = profile.stages[name].after or profile.stages[name].before
            name = rule.stage if rule else name
    return out


def air_of(axis: Axis, rows: tuple[Floats, Floats], mean_c: Floats) -> Air:
    """Return air whose frost is that of the plans."""
    return Air(axis, *rows, mean_c, knowledge().hazards.frost["first_frost"].screen_min_c)


@dataclass(frozen=True)
class Station:
    """A record and what came in each of its years."""

    record: Record
    _drawn: dict[tuple[str, int], dict[str, Floats]] = field(default_factory=dict)

    @cached_property
    def years(self) -> range:
        """The cycles whose every day from the winter solstice before to the end is in the record."""
        series = self.record.series
        last = series.measured_to
        assert last is not None
        return range(series.start.year + 1, last.year + (last.month == 12))

    @cached_property
    def came(self) -> Mapping[tuple[str, str], dict[int, float]]:
        """Ordinal days without error, by species or frost and year."""
        out: dict[tuple[str, str], dict[int, float]] = defaultdict(dict)
        for year in self.years:
            air = self._air(year, 1)
            for who in WATCHED:
                for name, days in stage_days(air, who, year, Unerring).items():
                    out[who, name][year] = float(days[0, 0])
            for name, day in frost_days(air, year).items():
                out["frost", name][year] = day
        return out

    def drawn(self, who: str, year: int) -> dict[str, Floats]:
        """Return the ordinal days (n,) of trees drawn, kept once made."""
        if (who, year) not in self._drawn:
            days = stage_days(self._air(year, REPEATS), who, year, StageRun)
            self._drawn[who, year] = {name: members.ravel() for name, members in days.items()}
        return self._drawn[who, year]

    def mean_date(self, who: str, name: str, year: int, n_years: int) -> float:
        """Return the mean date of the ``n_years`` before a year, put into it; NaN where it never came."""
        past = [y for y in self.years if year - n_years <= y < year]
        days = np.array([self.came[who, name][y] - date(y, 1, 1).toordinal() for y in past])
        days = days[np.isfinite(days)]
        return date(year, 1, 1).toordinal() + float(days.mean()) if days.size else np.nan

    def _air(self, year: int, repeats: int) -> Air:
        end = date(year, 12, 31)
        return self.record.air(year, self.record.series.end, end, repeats)


@dataclass(frozen=True)
class Plan:
    """What a plan of one day says; the last row of ``air`` goes on as the mean year."""

    station: Station
    today: date
    years_known: int

    @cached_property
    def air(self) -> Air:
        """The possible years."""
        series, today = self.station.record.series, self.today
        axis = axis_for(self.station.record.latitude, (today.year, today.year + 1))
        first = max(series.start, date(today.year - self.years_known, today.month, 1))
        known = series.window(first, today - timedelta(days=1))
        end = axis.day(axis.n_days - 1)
        traces = make_traces(known, start=axis.start, end=end, today=today, place="", seed=SEED)
        slot = years_and_slots(axis.start, axis.n_days)[1]
        usual = climatology(known).t_mean_c[slot]
        recent = climatology(known.window(date(today.year - PAST_YEARS, today.month, 1), known.end))
        ahead = np.arange(axis.n_days) >= axis.index(today)
        low = np.where(ahead, recent.t_min_c[slot], traces.t_min_c[0])
        high = np.where(ahead, recent.t_max_c[slot], traces.t_max_c[0])
        return air_of(axis, (np.vstack((traces.t_min_c, low)), np.vstack((traces.t_max_c, high))), usual)

    def stages(self, who: str) -> list[tuple[str, Case]]:
        """Return the case of each stage's next coming."""
        now, out, come = self.today.toordinal(), [], self.station.came
        for year in (self.today.year, self.today.year + 1):
            names = [n for n in WATCHED[who] if come[who, n][year - 1] < now <= come[who, n].get(year, 0)]
            if not names:
                continue
            sure = stage_days(self.air, who, year, Unerring)
            members = stage_days(self._possible, who, year, StageRun)
            trees = self.station.drawn(who, year)
            for name in names:
                found, told = in_range(sure[name][:-1, :1]), in_range(members[name])
                heat = float(sure[name][-1, 0])
                published = float(((told[0] <= trees[name]) & (trees[name] <= told[2])).mean())
                out.append((name, self.case(who, name, year, found, published, heat)))
        return out

    def frosts(self) -> list[tuple[str, Case]]:
        """Return the case of each frost that the plan sees ahead."""
        out, came = [], self.station.came
        for name, frost in frost_dates(self._possible, self.today).items():
            found = None if frost is None else frost.dates
            if (
                found is None
                or found.likely < self.today
                or not np.isfinite(came["frost", name].get(found.likely.year, np.nan))
            ):
                continue
            days = [float(day.toordinal()) for day in (found.early, found.likely, found.late)]
            case = self.case("frost", name, found.likely.year, days, np.nan, np.nan)
            if np.isfinite(case.mean_date):  # else the years known never had it
                out.append((name, case))
        return out

    def case(
        self, who: str, name: str, year: int, found: Sequence[float], published: float, heat: float
    ) -> Case:
        """Return what became of a range."""
        came, early, late = self.station.came[who, name][year], found[0], found[2]
        mean = self.station.mean_date(who, name, year, min(self.years_known, PAST_YEARS))
        guesses = (found[1], max(mean, self.today.toordinal()), heat)
        lead = int(came) - self.today.toordinal()
        errors = [abs(came - guess) for guess in guesses]
        return Case(self.today.month, lead, float(early <= came <= late), published, late - early, *errors)

    @cached_property
    def _possible(self) -> Air:
        air = self.air
        return air_of(air.axis, (air.t_min_c[:-1], air.t_max_c[:-1]), air.climate_c)


def in_range(days: Floats) -> list[float]:
    """Return the quantiles of (n_traces, n) ordinal days as windows take them."""
    rows = days[None]
    origin = np.nanmin(rows)  # windows sort in single precision, in which a whole ordinal is coarse
    return [float(q[0] + origin) for q in quantiles(rows - origin, np.isfinite(rows))]
