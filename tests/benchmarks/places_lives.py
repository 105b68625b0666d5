"""Made-up gardens that live through the measured days of a record, for `places_years`.

Forecasts are the days that came with errors on top: standard deviations of config/hazards.toml by lead, fading within a
day and shared by forecasts of the same day as `tests.alerts.erring.World` has it (assumptions). Growers read on
Saturdays, do what is due, and forget one thing in five. All of it is drawn with a seed.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, time, timedelta
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

import numpy as np

from alerts.air.hours import Place
from alerts.air.reading import hours_of
from alerts.air.spread import spread
from alerts.hazards.judge import judge as threats_of
from alerts.hazards.stand import Condition, Stand, stand_of
from alerts.policy.judging import judge as told_of
from calendar_core.garden.model import Entry, Spot, Tree
from calendar_core.garden.state import states
from calendar_core.garden.thermal import felt
from calendar_core.planning.places.operations import INTO, OUT
from calendar_core.planning.places.rooms import room_of
from calendar_core.planning.places.species_places import SpeciesPlaces
from calendar_core.planning.planner import air_over, axis_of, chances_over
from calendar_core.planning.seasons.foliage import weeks_since_roots
from calendar_core.planning.seasons.species_stages import Grove, Sky, SpeciesStages
from calendar_core.science.hour.container import heat_at, radius_m, root_ball, wet_soil
from calendar_core.weather.daily import DailySeries, years_and_slots
from calendar_core.weather.forecasts import ForecastDays
from calendar_core.weather.hours_from_days import hours_from_days
from calendar_core.weather.traces import climatology, make_traces
from tests.alerts.erring import World
from tests.planning.made_up import ROOT, SEED, garden_of, knowledge

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from numpy.typing import NDArray

    from calendar_core.garden.model import EntryKind, Garden
    from calendar_core.garden.state import TreeState
    from calendar_core.knowledge.words import ThermalProfile
    from calendar_core.planning.items import Item
    from calendar_core.planning.places.chances import Chances
    from calendar_core.planning.seasons.air import Air
    from tests.benchmarks.records import Record

    Floats = NDArray[np.float64]

DAY, WEEK = timedelta(days=1), timedelta(days=7)
FORECAST_DAYS = 10
FORGETS = 0.2
LONGITUDE, ELEVATION_M = 4.35, 100.0  # Brussels, from memory
ZONE = ZoneInfo("UTC")  # whose midnight is never half a day off the sun's there
EVENING_H = 18  # at which warnings are judged, as the digest of config/warnings.toml
NEAR_C = 6.0  # nights forecast so far above every line are not judged: three standard deviations of two days
REPOT = (3, 15)  # from memory: maples swell in mid March in Belgium
LOG_DAYS = 900  # what is older than any question of the places


@dataclass(frozen=True)
class Plot:
    """A made-up garden: its spots, the first of which is its bench, and trees by label and species."""

    title: str
    spots: tuple[Spot, ...]
    trees: tuple[Tree, ...]
    repotted: frozenset[UUID] = frozenset()  # every spring


def plot(
    title: str, spots: dict[str, ThermalProfile], trees: Sequence[str], repotted: Iterable[int] = ()
) -> Plot:
    """Return a garden of spots by name and trees by species."""
    made = tuple(Tree(uuid5(ROOT, f"{title} {n}"), ROOT, f"{who} {n}", who) for n, who in enumerate(trees))
    places = tuple(Spot(uuid5(ROOT, f"{title} {name}"), ROOT, name, profile=of) for name, of in spots.items())
    return Plot(title, places, made, frozenset(made[n].id for n in repotted))


@dataclass(frozen=True)
class Weather:
    """The record, what of it is known on a day, and the forecasts of it."""

    record: Record
    seed: int

    @cached_property
    def _shared(self) -> Floats:
        return _fading(np.random.default_rng((self.seed, 0)), len(self.record.series) + FORECAST_DAYS)

    def known(self, today: date) -> DailySeries:
        """Return the days before ``today``."""
        return self.record.series.until(today - DAY)

    def came(self, begin: date, n_days: int) -> DailySeries:
        """Return days that came."""
        return self.record.series.window(begin, begin + timedelta(days=n_days - 1))

    def forecast(self, today: date) -> ForecastDays:
        """Return the forecast of a morning, as one member; it ends with the record."""
        first = (today - self.record.series.start).days
        rule, world = knowledge().hazards.forecast_error.temperature_c, World()
        own = _fading(np.random.default_rng((self.seed, 1, first)), FORECAST_DAYS)
        mixed = np.sqrt(world.shared) * self._shared[first:][:FORECAST_DAYS] + np.sqrt(1 - world.shared) * own
        off = np.minimum(rule.start + rule.per_day * np.arange(FORECAST_DAYS), rule.most) * mixed
        days = self.came(today, FORECAST_DAYS)
        at = datetime.combine(today, time(6), UTC)
        return ForecastDays("made", at, today, (days.t_min_c + off)[None], (days.t_max_c + off)[None])

    def sky(self, garden: Garden, today: date) -> Sky:
        """Return the weather that a plan of a day rests on."""
        axis, known = axis_of(garden, today), self.known(today)
        year, end = climatology(known, until=today), axis.day(axis.n_days - 1)
        traces = make_traces(
            known, start=axis.start, end=end, today=today, place=self.record.place, seed=SEED,
            forecast=self.forecast(today),
        )  # fmt: skip
        return Sky(
            traces,
            lambda axis: np.asarray(year.t_mean_c[years_and_slots(axis.start, axis.n_days)[1]]),
            lambda _: None,  # nothing was seen that a past cycle could teach
        )


def _fading(rng: np.random.Generator, n_days: int) -> Floats:
    """Return errors of unit variance that fade from day to day (n_days,)."""
    keep = np.exp(-24.0 / World().lasts_h)
    out = rng.standard_normal(n_days)
    for day in range(1, n_days):
        out[day] = keep * out[day - 1] + np.sqrt(1 - keep**2) * out[day]
    return out


@dataclass(frozen=True)
class Nights:
    """The coldest hour of every night of a record, noon to noon, by the place where a tree stands.

    ``ball_c`` is of the root ball of a medium pot, ``air_c`` of the air (n_days,); a night belongs to the day of its
    morning. Of the sun nothing is known: the pot's wall is as cold as the air.
    """

    record: Record

    @cached_property
    def air_c(self) -> dict[ThermalProfile, Floats]:
        """Of the air."""
        return {place: _of_nights(hours) for place, hours in self._hours.items()}

    @cached_property
    def ball_c(self) -> dict[ThermalProfile, Floats]:
        """Of the middle of the root ball."""
        walls = np.stack(list(self._hours.values()))
        pot = some_stand().pot
        soil, radius = wet_soil(np.array([pot.held_share])), radius_m(pot.litres, pot.depth_share)
        height = 2.0 * radius * pot.depth_share
        begin = heat_at(walls[None, None, :, :24].mean(axis=-1), soil)
        balls = root_ball(walls[None], np.array([radius]), np.array([height]), soil, begin).middle[0]
        return {place: _of_nights(ball) for place, ball in zip(self._hours, balls, strict=True)}

    @cached_property
    def _hours(self) -> dict[ThermalProfile, Floats]:
        series, out = self.record.series, {}
        places: tuple[ThermalProfile, ...] = ("open", "cold frame", "frost-free", "heated")
        for place in places:
            low, high = felt(series.t_min_c[None], series.t_max_c[None], ((0, place),))
            days = DailySeries(series.start, low[0], high[0])
            hours = hours_from_days(days, self.record.latitude, LONGITUDE, ZONE)
            out[place] = np.asarray(hours["t_c"])
        return out


def _of_nights(hours: Floats) -> Floats:
    half = np.full(12, np.inf)
    return np.asarray(np.concatenate([half, hours[:-12]]).reshape(-1, 24).min(axis=1))


def some_stand() -> Stand:
    """Return a tree in a medium pot."""
    return stand_of(ROOT, Spot(ROOT, ROOT, "bench"), "acer-palmatum", Condition("none"), knowledge())


class Lines(NamedTuple):
    """Where harm begins and where it kills [degC]; ``air`` tells of the air of a night, not of the root ball."""

    caution_c: float
    danger_c: float
    air: bool


def lines_of(stand: Stand) -> Lines:
    """Return the lines of a tree as it stands."""
    if stand.chills and stand.frost is not None:
        return Lines(stand.frost.caution, stand.frost.danger, air=True)
    return Lines(stand.cold_roots.caution, stand.cold_roots.danger, air=False)


@dataclass
class Ask:
    """One thing asked of the grower: first and last Saturday on which it stood in the list, and when it was done."""

    tree: Tree
    operation: str
    first: date
    last: date
    item: Item | None = None  # none of the plain rule
    stood: str = ""  # the name of the spot
    done: date | None = None
    why: str = ""  # the first reason's code


class Night(NamedTuple):
    """A night that came to a tree past a line, whether it killed, and whether anything had been said."""

    tree: Tree
    day: date
    place: str
    at_c: float
    lines: Lines
    killed: bool
    told: bool
    open_ask: bool


@dataclass
class Life:
    """One garden in the hands of one grower, from a first Saturday on."""

    plot: Plot
    weather: Weather
    nights: Nights
    garden: Garden
    begin: date
    entries: list[Entry] = field(default_factory=list)
    asks: dict[object, Ask] = field(default_factory=dict)
    past: list[Night] = field(default_factory=list)
    _open: set[UUID] = field(default_factory=set)  # trees whose way under cover is asked for and not made
    _told: defaultdict[date, set[UUID]] = field(default_factory=lambda: defaultdict(set))

    def __post_init__(self) -> None:
        name = sum(self.plot.title.encode())
        self.draws = np.random.default_rng((self.weather.seed, 2, name))
        for tree in self.plot.trees:
            self.write(self.begin, "state", tree, spot=str(self.plot.spots[0].id))

    # -- the log --------------------------------------------------------------------------------------

    def write(self, on: date, kind: EntryKind, tree: Tree, **data: object) -> None:
        """Add a line to the log."""
        number = len(self.entries)
        at = datetime.combine(on, time(12), UTC) + timedelta(milliseconds=number)
        entry = Entry(
            uuid5(ROOT, f"{self.plot.title} {number}"), ROOT, (tree.id,), on, at, "owner", kind, data
        )
        self.entries.append(entry)

    def grove(self, today: date) -> Grove:
        """Return the garden as it stands."""
        ids = [tree.id for tree in self.plot.trees]
        # Where trees stood long ago bears on nothing; each keeps the first of its places that is left.
        since = today - timedelta(days=LOG_DAYS)
        recent = [one for one in self.entries if one.happened > since]
        old = {one.tree_ids: one for one in self.entries if one.happened <= since and one.kind == "state"}
        known = states(ids, [*old.values(), *recent], today)
        return Grove(self.garden, {spot.id: spot for spot in self.plot.spots}, self.plot.trees, known)

    def spot_of(self, state: TreeState) -> Spot:
        """Return where a tree stands."""
        return next(spot for spot in self.plot.spots if spot.id == state.spot)

    # -- Saturdays --------------------------------------------------------------------------------------

    def saturday(self, today: date, items: Iterable[Item]) -> None:
        """Let the grower read what is due and do it, but for what is forgotten."""
        known = self.grove(today).states
        trees = {tree.id: tree for tree in self.plot.trees}
        self._open = set()
        for item in sorted(items, key=lambda one: (one.opens.likely, str(one.id))):
            if item.opens.likely > today:
                continue
            tree = trees[item.tree_id]
            ask = self._ask(item.id, tree, item.operation, today, self.spot_of(known[tree.id]))
            ask.item, ask.why = item, ask.why or item.reasons[0].code
            if self.draws.random() >= FORGETS and self._do(item, tree, today):
                ask.done = today
            elif item.operation == INTO:
                self._open.add(tree.id)

    def repot(self, today: date) -> None:
        """Repot what is repotted every spring, in the morning, before the grower reads."""
        for tree in self.plot.trees:
            if tree.id in self.plot.repotted and today - WEEK < date(today.year, *REPOT) <= today:
                self.write(today, "work", tree, operation="repot")

    def _ask(self, key: object, tree: Tree, operation: str, today: date, spot: Spot) -> Ask:
        ask = self.asks.setdefault(key, Ask(tree, operation, today, today, stood=spot.name))
        ask.last = today
        return ask

    def _do(self, item: Item, tree: Tree, today: date) -> bool:
        if item.operation not in (INTO, OUT):
            self.write(today, "work", tree, operation=item.operation)
            return True
        if item.to is None:
            return False
        self.write(today, "state", tree, spot=str(item.to))
        return True

    # -- days -----------------------------------------------------------------------------------------

    def day(self, today: date, forecast: ForecastDays, known: Mapping[UUID, TreeState]) -> None:
        """Judge the night that comes after a day, and write down what it was."""
        morning = today + DAY
        at = (morning - self.nights.record.series.start).days
        stands = [self.stand(tree, known[tree.id], today) for tree in self.plot.trees]
        near = [stand for stand in stands if self._near(stand, forecast, today)]
        if near:
            self._judge(near, forecast, today)
        for tree, stand in zip(self.plot.trees, stands, strict=True):
            lines, place = lines_of(stand), stand.spot.profile
            at_c = float((self.nights.air_c if lines.air else self.nights.ball_c)[place][at])
            if at_c > lines.caution_c:
                continue
            told = tree.id in self._open or tree.id in self._told[morning]
            night = Night(
                tree, morning, place, at_c, lines, at_c <= lines.danger_c, told, tree.id in self._open
            )
            self.past.append(night)

    def stand(self, tree: Tree, state: TreeState, today: date) -> Stand:
        """Return a tree as hazards see it; its leaves bear no part in what is counted."""
        weeks = weeks_since_roots(today, state, knowledge().operations)
        leafless = knowledge().profiles[tree.species].habit == "deciduous"
        condition = Condition("none" if leafless else "hard", weeks_since_root_work=weeks)
        return stand_of(tree.id, self.spot_of(state), tree.species, condition, knowledge())

    def _near(self, stand: Stand, forecast: ForecastDays, today: date) -> bool:
        lead = (today - forecast.start).days + 1
        low, high = forecast.t_min_c[:, lead : lead + 2], forecast.t_max_c[:, lead : lead + 2]
        coldest = felt(low, high, ((0, stand.spot.profile),))[0].min(initial=np.inf)
        return bool(coldest <= lines_of(stand).caution_c + NEAR_C)

    def _judge(self, stands: Sequence[Stand], forecast: ForecastDays, today: date) -> None:
        """Remember which trees are told in the evening of coming nights: today's hours came, those after are forecast."""
        came, lead = self.weather.came(today, 1), (today - forecast.start).days + 1
        low = np.concatenate([came.t_min_c, forecast.t_min_c[0, lead : lead + 2]])
        high = np.concatenate([came.t_max_c, forecast.t_max_c[0, lead : lead + 2]])
        place = Place(self.nights.record.latitude, LONGITUDE, ELEVATION_M, ZONE)
        now = datetime.combine(today, time(EVENING_H), UTC)
        series = hours_from_days(DailySeries(today, low, high), place.latitude, place.longitude, ZONE)
        hours = spread(hours_of(series, now, place), place, knowledge().hazards.forecast_error)
        found = [
            one
            for one in threats_of(stands, hours, place, knowledge().exposure)
            if one.hazard in ("frost", "cold roots")
        ]
        for change in told_of(ROOT, found, (), now, now, knowledge().warnings):
            # Two days before a night is as long as what was said counts.
            if change.action is not None:
                self._told[change.standing.day] |= set(change.standing.levels)


@dataclass(frozen=True)
class Reading:
    """What all gardens under one sky share on a Saturday."""

    sky: Sky
    air: Air
    chances: Chances
    today: date

    def items(self, grove: Grove) -> list[Item]:
        """Return what the places ask of a garden, as `calendar_core.planning.planner.make_plan` comes to it."""
        known, alike, out = knowledge(), defaultdict(list), []
        for tree in grove.trees:
            alike[tree.species, room_of(tree, grove, known, self.chances)].append(tree)
        for (species, room), trees in alike.items():
            profile = known.profiles[species]
            stages = SpeciesStages(grove, self.sky, profile, self.today, self.air.in_room(room), trees)
            out += SpeciesPlaces(species, stages, known, self.chances).items
        return out


def reading(weather: Weather, garden: Garden, today: date) -> Reading:
    """Return the sky of a Saturday."""
    sky = weather.sky(garden, today)
    air = air_over(garden, sky, knowledge(), today)
    return Reading(sky, air, chances_over(air, sky, knowledge(), today), today)


def garden_at(record: Record) -> Garden:
    """Return the place of all gardens; its cycles begin as the mean year of the record says."""
    mean = climatology(record.series, until=record.series.end).t_mean_c
    return replace(garden_of(record.latitude, mean, LONGITUDE, elevation_m=ELEVATION_M), place=record.place)


def live(lives: Sequence[Life], today: date, forecasts: Mapping[date, ForecastDays]) -> None:
    """Live the nights from a Saturday to the next."""
    for life in lives:
        known = life.grove(today).states
        for day in (today + n * DAY for n in range(7)):
            if day < life.nights.record.series.end:
                life.day(day, forecasts[day], known)


# -- the plain rule ---------------------------------------------------------------------------------------

TENDER_C, FROST_C = 10.0, 0.0
TURN_DAY = 212  # the end of July: nights of spring are over, those of autumn to come


@dataclass(frozen=True)
class Plain:
    """In at the first forecast frost, figs and the like at the first forecast night below 10 degC; out after the last usual one.

    The last usual one is the middle of the years known. What is asked stands until it is done.
    """

    known: DailySeries
    forecast: ForecastDays

    @cached_property
    def _years(self) -> Floats:
        """Minima by year and day of it, leap days left out."""
        days = np.arange(np.datetime64(self.known.start), np.datetime64(self.known.end) + 1)
        year, of_year = days.astype("datetime64[Y]"), (days - days.astype("datetime64[Y]")).astype(int)
        out = np.full((len(np.unique(year)), 366), np.nan)
        out[(year - year[0]).astype(int), of_year] = self.known.t_min_c
        return out

    def last_usual(self, line_c: float) -> int:
        """Return the middle of the days of the year on which spring has its last night below a line."""
        spring = self._years[:, :TURN_DAY]
        whole = spring[~np.isnan(spring).any(axis=1)] < line_c
        last = np.where(whole.any(axis=1), spring.shape[1] - 1 - whole[:, ::-1].argmax(axis=1), 0)
        return int(np.median(last))

    def asks(self, tree: Tree, place: ThermalProfile, today: date) -> str | None:
        """Return the move that is asked for a tree."""
        tender = knowledge().profiles[tree.species].tolerance.chill is not None
        line_c = TENDER_C if tender else FROST_C
        over = self.last_usual(line_c) < today.timetuple().tm_yday - 1 < TURN_DAY
        if place != "open":
            return OUT if over else None
        return INTO if not over and bool((self.forecast.t_min_c < line_c).any()) else None


@dataclass
class PlainLife(Life):
    """The same garden by the plain rule: under the warmest cover it has, and back to the bench."""

    def by_rule(self, today: date, rule: Plain) -> None:
        """Let the grower do what the rule asks, but for what is forgotten."""
        known = self.grove(today).states
        self._open = set()
        for tree in self.plot.trees:
            spot = self.spot_of(known[tree.id])
            operation = rule.asks(tree, spot.profile, today)
            if operation is None:
                continue
            times = sum(one.tree == tree and one.done is not None for one in self.asks.values())
            ask = self._ask((tree.id, times), tree, operation, today, spot)
            if self.draws.random() >= FORGETS:
                ask.done = today
                self.write(today, "state", tree, spot=str(self.plot.spots[-(operation == INTO)].id))
            elif operation == INTO:
                self._open.add(tree.id)
