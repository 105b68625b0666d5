"""Made-up air, profiles and gardens for the tests of planning; every number in them is invented."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from functools import cache
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid5

import numpy as np

from calendar_core.app.shell import session
from calendar_core.garden.cycle import cycle_days
from calendar_core.garden.model import Entry, Garden, Spot, Tree
from calendar_core.garden.state import states
from calendar_core.knowledge.forms.species.profile import Profile
from calendar_core.knowledge.forms.species.work import Work
from calendar_core.knowledge.profiles.answers import answered
from calendar_core.knowledge.profiles.bundled import folder
from calendar_core.planning.planner import axis_of, make_plan
from calendar_core.planning.seasons.air import Air
from calendar_core.planning.seasons.axis import axis_for
from calendar_core.planning.seasons.species_stages import Grove, Sky
from calendar_core.planning.seasons.stage_groups import Group, need_stages
from calendar_core.weather.daily import DailySeries, fill_short_gaps, years_and_slots
from calendar_core.weather.normals import Normals, daily_year, read_normals
from calendar_core.weather.traces import climatology, make_traces, traces_from_normals

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from numpy.typing import NDArray

    from calendar_core.garden.model import EntryKind
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.planning.items import Item, NotPlanned, Plan, StageDate
    from calendar_core.planning.seasons.axis import Axis
    from calendar_core.weather.past_years import Climatology

    Floats = NDArray[np.float64]

ROOT = UUID(int=7)
SEED = 1
YEAR_DAYS = 365.25
SOUTH_LAG_DAYS = 183


@cache
def knowledge() -> Knowledge:
    """Return what config/ holds, with the usual answers."""
    return answered(session.knowledge(), {})


@cache
def bundled_places() -> Mapping[str, Normals]:
    """Return the bundled normals by place."""
    text = (folder("config") / "normals.csv").read_text(encoding="utf-8")
    return {place.place: place for place in read_normals(text)}


# Air


def wave(
    start: date, n_days: int, *, mean_c: float = 10.0, swing_c: float = 10.0, south: bool = False
) -> Floats:
    """Return a yearly wave of the daily mean (n_days,), coldest on 20 January (half a year later in the south)."""
    coldest = date(2000, 1, 20).toordinal() + (SOUTH_LAG_DAYS if south else 0)
    days = start.toordinal() + np.arange(n_days) - coldest
    return np.asarray(mean_c - swing_c * np.cos(2 * np.pi * days / YEAR_DAYS))


def air_of(
    axis: Axis, mean_c: Floats | float, *, half_range_c: float = 5.0, climate_c: Floats | None = None
) -> Air:
    """Return air whose daily mean is ``mean_c``: one value, one trace (n_days,) or several (n_traces, n_days)."""
    mean = np.atleast_2d(
        np.broadcast_to(np.asarray(mean_c, float), np.broadcast_shapes(np.shape(mean_c), (axis.n_days,)))
    )
    usual = mean.mean(axis=0) if climate_c is None else climate_c
    return Air(axis, mean - half_range_c, mean + half_range_c, usual, 0.0)


def wave_air(latitude: float = 45.0, cycles: tuple[int, ...] = (2015,), **wave_: float) -> Air:
    """Return air of one trace that is a yearly wave."""
    axis = axis_for(latitude, cycles)
    return air_of(axis, wave(axis.start, axis.n_days, south=axis.south, **wave_))


# Profiles


def profile_of(
    stages: Mapping[str, Mapping[str, Any]], work: Sequence[Mapping[str, Any]] = (), habit: str = "deciduous"
) -> Profile:
    """Return a profile of made-up stages and works."""
    made_up: dict[str, Any] = {"basis": "estimate", "note": "made up"}
    point, span = {"value": 40, **made_up}, {"low": 1, "high": 2, **made_up}
    points = ("leaf_caution_c", "leaf_danger_c", "roots_protect_below_c", "shade_from_c")
    looks = dict.fromkeys(("extending", "hardened", "autumn", "winter"), 4)
    return Profile.model_validate(
        {
            "latin": "Arbor ficta",
            "common": "made-up tree",
            "kind": "made-up",
            "habit": habit,
            "toxicity": {"text": "made up", **made_up},
            "stages": {name: _stage_table(rule) for name, rule in stages.items()},
            "tolerance": {
                **dict.fromkeys(points, point),
                **dict.fromkeys(("shade_cloth_percent", "sun_hours"), span),
            },
            "water": {"thirst": "medium", "may_dry": False, **made_up},
            "aftercare": {"wire_looks_weeks": {**looks, **made_up}, "hardening_weeks": span},
            "work": [work_table(**one) for one in work],
        }
    )


def _stage_table(rule: Mapping[str, Any]) -> dict[str, Any]:
    """Return the table of a stage; a need is taken for one of the species."""
    table = {"sign": "made up", "basis": "common practice", **rule}
    if "need" in table:
        table["need"] = {"of": "species", **table["need"]}
    return table


def work_table(**keys: Any) -> dict[str, Any]:
    """Return the table of a work that a wish makes due, with ``keys`` in place of what is usual."""
    usual: dict[str, Any] = {
        "operation": "wire",
        "opens": {"stage": "dormant"},
        "closes": [{"stage": "dormant", "days": 30}],
        "due": "wish",
        "how": "made up",
        "basis": "common practice",
    }
    return {**usual, **keys}


def work_of(**keys: Any) -> Work:
    """Return a made-up work."""
    return Work.model_validate(work_table(**keys))


def bundled_work(species: str, key: str) -> Work:
    """Return a work of a bundled profile."""
    return next(work for work in knowledge().profiles[species].work if work.key == key)


def group_of(profile: Profile, **keys: Any) -> Group:
    """Return the group of a tree of which nothing is known but its profile."""
    needs = [profile.stages[name].need for name in need_stages(profile)]
    prior = tuple((need.ln_heat, need.spread**2) for need in needs if need is not None)
    return Group(**{"history": (), "needs": prior, **keys})


# Gardens


@dataclass
class Bench:
    """A garden with one open spot, its trees and its log, and the weather it lies under."""

    garden: Garden
    sky_on: Callable[[date, Axis], Sky]
    spots: dict[UUID, Spot] = field(default_factory=dict)
    trees: list[Tree] = field(default_factory=list)
    entries: list[Entry] = field(default_factory=list)

    def tree(self, label: str, species: str, since: date = date(2010, 1, 1), **state: Any) -> Tree:
        """Add a tree; ``state`` is what its first entry says."""
        made = Tree(uuid5(ROOT, label), self.garden.id, label, species)
        self.trees.append(made)
        self.write(since, "state", label, **state)
        return made

    def write(self, on: date, kind: EntryKind, /, *labels: str, **data: Any) -> Entry:
        """Add an entry for trees by label."""
        ids = tuple(tree.id for tree in self.trees if tree.label in labels)
        assert len(ids) == len(labels), labels
        at = datetime.combine(on, time(12), UTC)
        number = len(self.entries)
        made = Entry(
            uuid5(ROOT, f"entry {number}"),
            self.garden.id,
            ids,
            on,
            at + timedelta(seconds=number),
            "owner",
            kind,
            data,
        )
        self.entries.append(made)
        return made

    def did(self, on: date, operation: str, *labels: str) -> Entry:
        """Log an operation."""
        return self.write(on, "work", *labels, operation=operation)

    def plan(self, today: date) -> Plan:
        """Return the plan of a day."""
        sky = self.sky_on(today, axis_of(self.garden, today))
        state = states([tree.id for tree in self.trees], self.entries, today)
        return make_plan(Grove(self.garden, self.spots, self.trees, state), sky, knowledge(), today)


def garden_of(latitude: float, mean_year_c: Floats, longitude: float = 0.0, **keys: Any) -> Garden:
    """Return a garden whose cycles begin as its mean year (366,) says."""
    leaf_fall, coldest = cycle_days(mean_year_c, latitude)
    usual: dict[str, Any] = {
        "leaf_fall": leaf_fall,
        "coldest": coldest,
        "zone": "UTC",
        "units": "metric",
        "elevation_m": 0.0,
    }
    return Garden(
        id=ROOT,
        name="made-up garden",
        place="made-up place",
        latitude=latitude,
        longitude=longitude,
        **{**usual, **keys},
    )


def bench_on_series(series: DailySeries, latitude: float, today: date, **keys: Any) -> Bench:
    """Return an empty garden under measured days; ``today`` only bounds what its cycles are founded on."""
    garden = garden_of(latitude, climatology(series, until=today).t_mean_c, **keys)

    def sky_on(day: date, axis: Axis) -> Sky:
        year, end = climatology(series, until=day), axis.day(axis.n_days - 1)
        traces = make_traces(series, start=axis.start, end=end, today=day, place="made-up place", seed=SEED)
        return Sky(traces, _curve(year), lambda cycle: _past(series, year, latitude, day, cycle))

    return Bench(garden, sky_on)


def bench_on_normals(place: str, **keys: Any) -> Bench:
    """Return an empty garden at a bundled place that has no weather of its own."""
    normals = bundled_places()[place]
    year = daily_year(normals)
    garden = garden_of(normals.latitude, year.t_mean_c, normals.longitude, zone=normals.zone, **keys)

    def sky_on(day: date, axis: Axis) -> Sky:
        end = axis.day(axis.n_days - 1)
        traces = traces_from_normals(
            normals, start=axis.start, end=end, today=day, seed=SEED, distance_km=0.0
        )
        return Sky(traces, _curve(year), lambda _cycle: None)

    return Bench(garden, sky_on)


def _curve(year: Climatology) -> Callable[[Axis], Floats]:
    return lambda axis: np.asarray(year.t_mean_c[years_and_slots(axis.start, axis.n_days)[1]])


def _past(series: DailySeries, year: Climatology, latitude: float, today: date, cycle: int) -> Air | None:
    """Return the measured air of a past cycle where every day from its first chill to midsummer was measured."""
    axis = axis_for(latitude, (cycle,))
    days = fill_short_gaps(series.until(today)).window(axis.start, axis.day(axis.n_days - 1))
    if not days.measured[axis.chill_start(cycle) : axis.midsummer(cycle)].all():
        return None
    usual = years_and_slots(axis.start, axis.n_days)[1]
    low = np.where(days.measured, days.t_min_c, year.t_min_c[usual])
    high = np.where(days.measured, days.t_max_c, year.t_max_c[usual])
    return Air(axis, low[None, :], high[None, :], year.t_mean_c[usual], 0.0)


def invented_series(
    start: date,
    end: date,
    *,
    mean_c: float,
    swing_c: float,
    half_range_c: float = 5.0,
    noise_c: float = 2.5,
    south: bool = False,
    seed: int = SEED,
) -> DailySeries:
    """Return an invented station: a yearly wave with days that remember the day before (AR(1), 0.7)."""
    n = (end - start).days + 1
    draws = np.random.default_rng(seed).normal(0.0, noise_c * np.sqrt(1 - 0.7**2), n + 60)
    noise = np.convolve(draws, 0.7 ** np.arange(60))[60 : 60 + n]
    mean = wave(start, n, mean_c=mean_c, swing_c=swing_c, south=south) + noise
    return DailySeries(start, mean - half_range_c, mean + half_range_c)


# Looking into a plan


def items_of(plan: Plan, tree: Tree, operation: str) -> list[Item]:
    """Return the items of an operation for a tree, the earliest first."""
    return [item for item in plan.items if item.tree_id == tree.id and item.operation == operation]


def absent_of(plan: Plan, tree: Tree, operation: str) -> list[NotPlanned]:
    """Return what is said of an operation that is not planned for a tree."""
    return [one for one in plan.not_planned if one.tree_id == tree.id and one.operation == operation]


def codes(one: Item | NotPlanned) -> list[str]:
    """Return the codes of its reasons."""
    return [reason.code for reason in one.reasons]


def stage_of(plan: Plan, tree: Tree, stage: str, cycle: int) -> StageDate:
    """Return a stage of a tree in a cycle."""
    return next(one for one in plan.stages[tree.id] if (one.stage, one.cycle) == (stage, cycle))
