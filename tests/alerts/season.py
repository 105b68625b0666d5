"""A season of warnings on forecasts that err, and what they were worth against the hours that came.

The gardens are invented: trees that stay as they are for a whole season, so that leaves are new in August and a pot that is
too small is never changed. That asks more of warnings than a grower does.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from alerts.air.hours import clock
from alerts.air.spread import spread
from alerts.hazards.block import Block
from alerts.hazards.judge import judge
from alerts.hazards.place import weather_at
from alerts.policy import judging
from tests.alerts.erring import Forecasts, World
from tests.alerts.hazards.gardens import GARDEN, GREENSBORO, KNOWLEDGE, RULES, spot, tree, year_hours

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import date
    from uuid import UUID

    from alerts.air.hours import Hours, Place
    from alerts.hazards.stand import Stand
    from alerts.policy.standing import Standing
    from alerts.threats import Level, Threat
    from calendar_core.knowledge.forms.warnings import WarningRules
    from calendar_core.knowledge.words import Hazard

HOUR = timedelta(hours=1)
TWICE_DAILY = (6, 18)  # local hours
IN_TIME = 3 * HOUR  # a warning must stand so long before
BEYOND_C = 1.0  # past its line of danger a tree must have been warned
NEAR_C = 2.0  # so near its line of caution a warning was not false

SUN, CLOTH, ROOF = spot("sun"), spot("cloth", cloth_percent=50), spot("roof", roof=True)
COURT = spot("court", surface="pale wall", wind="sheltered")
TERRACE = spot("terrace", surface="paving", wind="sheltered")

# From one that is in danger on many days to two that never are.
SUMMER_TREES = (
    tree("acer-palmatum", COURT, "dry pot", size="small", pot_litres=0.3),
    tree("acer-palmatum", COURT, "new leaves", foliage="new"),
    tree("fagus-sylvatica", COURT, "repotted", weeks_since_root_work=4),
    tree("ulmus-parvifolia", COURT, "weak", vigour=2),
    tree("carpinus-betulus", TERRACE, "small pot", size="small", pot_litres=0.5),
    tree("acer-palmatum", SUN, "in the sun"),
    tree("rhododendron-indicum", CLOTH, "under cloth"),
    tree("pinus-thunbergii", SUN, "pine", pot_litres=1.0),
)
SPRING_TREES = (
    tree("ficus-microcarpa", SUN, "put out early"),
    tree("acer-palmatum", SUN, "maple", foliage="new"),
    tree("rhododendron-indicum", SUN, "azalea", foliage="new"),
    tree("larix-kaempferi", SUN, "larch", foliage="new"),
    tree("fagus-sylvatica", ROOF, "under a roof", foliage="new"),
    tree("ulmus-parvifolia", SUN, "in bud", foliage="buds"),
    tree("acer-palmatum", spot("frame", profile="cold frame"), "in the frame", foliage="new"),
    tree("pinus-thunbergii", SUN, "pine"),
)


@dataclass(frozen=True)
class Season:
    """So many days of a year's real hours, the trees that stand there, and the local hours at which they are judged."""

    hazard: Hazard
    month: int
    day: int
    days: int
    stands: tuple[Stand, ...]
    place: Place = GREENSBORO
    judged_at: tuple[int, ...] = TWICE_DAILY

    @property
    def falling(self) -> bool:
        return self.hazard == "frost"

    @cached_property
    def hours(self) -> Hours:
        """The hours that came, and three days more for the last forecasts."""
        return year_hours(self.place, self.month, self.day, self.days + 3)


class TreeDay(NamedTuple):
    """What came to a tree on a day: how far its worst moment went past the line of caution [degC], when it was in danger."""

    past_caution_c: float
    danger_at: datetime | None


class Run(NamedTuple):
    """One judgement: the extremes of the air [degC] that its forecast has for the coming 36 hours, and the threats."""

    now: datetime
    extremes_c: Mapping[date, float]
    threats: Sequence[Threat]


class Told(NamedTuple):
    """A notice about a day and the levels of the trees it names, none once it is withdrawn."""

    at: datetime
    action: str
    day: date
    levels: Mapping[UUID, Level]


Truth = dict[tuple["date", "UUID"], TreeDay]


def came(season: Season) -> Truth:
    """Return what came to each tree on each day but the first, by the same physics on the hours that came."""
    hours, found = season.hours, {}
    weather = weather_at({stand.spot for stand in season.stands}, hours, season.place, RULES)
    for stand in season.stands:
        course = Block([stand], weather[stand.spot]).course(season.hazard)
        sign = -1.0 if course.falling else 1.0
        caution, danger = sign * course.lines[0, 0]
        for first, day in list(zip(course.days.first.tolist(), course.days.days, strict=True))[
            1 : season.days
        ]:
            values = sign * course.values[0, 0, first : first + 24]
            at = np.flatnonzero(values >= danger + BEYOND_C)
            danger_at = hours.at(first + int(at[0])) if len(at) else None
            found[day, stand.tree] = TreeDay(float(values.max() - caution), danger_at)
    return found


def runs(season: Season, world: World, seed: int) -> list[Run]:
    """Return the judgements of a season on the forecasts of a world, spread as config/hazards.toml believes."""
    forecasts = Forecasts(season.hours, season.place, world, seed)
    believed, found = KNOWLEDGE.hazards.forecast_error, []
    for day in range(season.days):
        for hour in season.judged_at:
            now = season.hours.at(24 * day + hour)
            hours = forecasts.issued(24 * day, now)
            threats = judge(season.stands, spread(hours, season.place, believed), season.place, RULES)
            extremes = _extremes(hours, now, season)
            found.append(Run(now, extremes, [one for one in threats if one.hazard == season.hazard]))
    return found


def _extremes(hours: Hours, now: datetime, season: Season) -> dict[date, float]:
    """Return the days' highest, or the nights' lowest temperatures that come within 36 hours."""
    days = clock(hours, season.place, from_noon=season.falling)
    found = {}
    for day, first in zip(days.days, days.first.tolist(), strict=True):
        air = hours.t_c[0, first : first + 24]
        at = int(air.argmin() if season.falling else air.argmax())
        if now <= hours.at(first + at) <= now + 36 * HOUR:
            found[day] = float(air[at])
    return found


def told_by_program(judgements: Iterable[Run], rules: WarningRules = KNOWLEDGE.warnings) -> list[Told]:
    """Return the notices of a season; how warnings stand is carried on from one judgement to the next."""
    standings: dict[date, Standing] = {}
    told = []
    for now, _, threats in judgements:
        for change in judging.judge(GARDEN, threats, standings.values(), now, now, rules):
            after = change.standing
            standings[after.day] = after
            if change.action:
                levels = after.levels if after.state == "active" else {}
                told.append(Told(now, change.action, after.day, levels))
    return told


def told_by_air(judgements: Iterable[Run], line_c: float, season: Season) -> list[Told]:
    """Return the notices of the plain rule: all trees while the forecast's extreme of the air reaches a line."""
    stands: dict[date, bool] = defaultdict(bool)
    everyone: dict[UUID, Level] = {stand.tree: "caution" for stand in season.stands}
    told = []
    for now, extremes, _ in judgements:
        for day, extreme in extremes.items():
            reached = extreme <= line_c if season.falling else extreme >= line_c
            if reached != stands[day]:
                told.append(Told(now, "new" if reached else "withdraw", day, everyone if reached else {}))
            stands[day] = reached
    return told


class Case(NamedTuple):
    """A tree on a day: whether it came to caution and danger, how it had been told, and the lead of danger [h]."""

    caution: bool
    danger: bool
    named: bool
    in_time: bool
    as_danger: bool
    false: bool
    lead_h: float


class Event(NamedTuple):
    """A warning: how often it was changed, withdrawn and raised again; whether all of it was false."""

    updates: int
    withdrawn: int
    again: int
    false: bool


@dataclass(frozen=True)
class Score:
    """What the warnings of one or more seasons were worth."""

    cases: tuple[Case, ...]
    events: tuple[Event, ...]

    def count(self, what: str) -> int:
        """Return the tree-days of which a field of `Case` is so."""
        return sum(getattr(case, what) for case in self.cases)

    def total(self, what: str) -> int:
        """Return the sum of a field of `Event`."""
        return sum(getattr(event, what) for event in self.events)

    @property
    def missed(self) -> int:
        """Tree-days in danger that were not told in time."""
        return sum(case.danger and not case.in_time for case in self.cases)

    @property
    def caution_told(self) -> float:
        """Share of the tree-days past the line of caution that were named in a warning."""
        return _share([case.named for case in self.cases if case.caution])

    @property
    def danger_told(self) -> float:
        """Share of the tree-days in danger that were told as danger in time."""
        return _share([case.as_danger for case in self.cases if case.danger])

    @property
    def false(self) -> float:
        """Share of false ones among the warned tree-days."""
        return _share([case.false for case in self.cases if case.named])

    @property
    def leads_h(self) -> list[float]:
        """Of the tree-days in danger that were told in time, from the shortest on."""
        return sorted(case.lead_h for case in self.cases if case.in_time)

    @property
    def most_updates(self) -> int:
        """Changes of the warning that changed most."""
        return max((event.updates for event in self.events), default=0)


def _share(of: Sequence[bool]) -> float:
    return sum(of) / len(of) if of else 0.0


def score(truth: Truth, *seasons: Iterable[Told]) -> Score:
    """Return what the notices of seasons of the same days were worth."""
    cases: list[Case] = []
    events: list[Event] = []
    days = {day for day, _ in truth}
    for told in seasons:
        by_day: dict[date, list[Told]] = defaultdict(list)
        for one in told:
            by_day[one.day].append(one)
        cases += [_case(of, tree, by_day[day]) for (day, tree), of in truth.items()]
        events += [_event(truth, of) for day, of in by_day.items() if of and day in days]
    return Score(tuple(cases), tuple(events))


def _case(of: TreeDay, tree: UUID, told: Sequence[Told]) -> Case:
    naming = [one for one in told if tree in one.levels]
    before = [one for one in told if of.danger_at is not None and one.at <= of.danger_at - IN_TIME]
    level = before[-1].levels.get(tree) if before else None
    in_time = level is not None
    return Case(
        caution=of.past_caution_c >= 0.0,
        danger=of.danger_at is not None,
        named=bool(naming),
        in_time=in_time,
        as_danger=level == "danger",
        false=bool(naming) and of.past_caution_c < -NEAR_C,
        lead_h=(of.danger_at - naming[0].at) / HOUR if of.danger_at is not None and in_time else 0.0,
    )


def _event(truth: Truth, told: Sequence[Told]) -> Event:
    actions = [one.action for one in told]
    named = {tree for one in told for tree in one.levels}
    return Event(
        actions.count("update"),
        actions.count("withdraw"),
        actions.count("new") - 1,
        all(truth[told[0].day, tree].past_caution_c < -NEAR_C for tree in named),
    )
