"""A year of three made-up gardens, week by week: do their screens ever say two things at once?

Growers answer an event so many weeks after it was first asked for, or never; some put it off or want it not this year,
some write down a stage that they saw, some do what the day's event of the work calendar says, some go away. Between a
day of each week and the next nobody answers: what was told of the days ahead stays. All of it is drawn with a seed.
Run by hand: python -m tests.benchmarks.one_truth_year [WEEKS]
"""

from __future__ import annotations

import re
import sys
import time
from collections import Counter
from contextlib import closing
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import cached_property
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

import numpy as np

from calendar_core.app.first_day.commands.demo import _keep_forecast, found_demo
from calendar_core.app.garden.founding import Founded, keep
from calendar_core.app.log.entries import entry, write
from calendar_core.app.plan.walks import review_plan
from calendar_core.app.shell.clock import clock
from calendar_core.app.shell.session import Session, open_session
from calendar_core.app.warnings.warning import judge_garden
from calendar_core.app.weather.measured import MeasuredDays, read_measured
from calendar_core.garden.model import Spot
from calendar_core.knowledge.profiles.bundled import folder
from calendar_core.planning.places.operations import INTO, OUT
from calendar_core.storage.engine import open_store
from calendar_core.weather.sources.files import WeatherFile
from calendar_core.wording.review.walk_text import WALK_GROUP
from tests.app.one_truth import findings_in, screens_of
from tests.app.stays_truth import unsettled
from tests.databases import migrated
from tests.planning.made_up import ROOT, bench_on_series, invented_series

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from calendar_core.knowledge.words import ThermalProfile
    from calendar_core.planning.groups import EventGroup
    from calendar_core.planning.items import Item
    from calendar_core.planning.review.walks import Walk
    from calendar_core.weather.daily import DailySeries
    from tests.app.screens import Screens
    from tests.planning.made_up import Bench

DAY, WEEK = timedelta(days=1), timedelta(days=7)
DELAYS = (0, 0, 1, 1, 2, 4, 8, None, None)  # weeks until an event is answered; None is never
OTHERWISE = 0.15  # of answers: put off, or not this year
SEES = 0.1  # a week, of stages that have likely come lately
WORKS, LEAVES = 0.4, 0.08  # a week, of doing the work that the calendar has for the day, and of going away
SEED = 11


@dataclass(frozen=True)
class Plot:
    """A garden: its first day, how it is opened on a day, and the days its forecasts are made from."""

    name: str
    first: date
    open_on: Callable[[date], Session]
    series: DailySeries


@dataclass
class Grower:
    """Answers late or not at all; remembers since when each event was asked for."""

    draws: np.random.Generator
    asked: dict[UUID, tuple[date, int | None]] = field(default_factory=dict)
    walks: tuple[Walk, ...] = ()  # as they were planned a week ago
    told: dict[UUID, list[date]] = field(default_factory=dict)  # the days a walk's event was moved to
    did: set[UUID] = field(default_factory=set)  # items of today's work

    def week(self, session: Session, screens: Screens) -> None:
        """Do the day's work or do not, read what is due, and answer what has waited long enough; go away for some days."""
        self.did = set()
        if self.draws.random() < WORKS:
            self._work(session, screens)
        for one in screens.due:
            group, today = one.group, session.today
            if not self.did.isdisjoint(item.id for item in group.items):
                continue
            delay = DELAYS[int(self.draws.integers(len(DELAYS)))]
            since, weeks = self.asked.setdefault(group.uid, (today, delay))
            if group.start <= today and weeks is not None and today - since >= weeks * WEEK:
                self._answer(session, group)
                del self.asked[group.uid]
        self._see(session)
        self._walk(session, screens)
        if self.draws.random() < LEAVES:
            first = session.today + timedelta(days=int(self.draws.integers(1, 15)))
            span = {"from": first.isoformat(), "until": (first + WEEK).isoformat()}
            write(session, entry(session, [], "away", span, session.today))

    def _work(self, session: Session, screens: Screens) -> None:
        """Do what the work calendar has for today."""
        for work in screens.calendar.work.days:
            for item in (item for line in work.lines for item in line.items if work.day == session.today):
                self._do(session, item)
                self.did.add(item.id)

    def _walk(self, session: Session, screens: Screens) -> None:
        """Look at the trees of the week's walks: of every third none, of another third half."""
        for event in screens.events:
            days = (
                self.told.setdefault(event.uid, []) if event.group.startswith(WALK_GROUP) else [event.start]
            )
            if not days or days[-1] != event.start:
                days.append(event.start)
        labels = {tree.id: tree for tree in session.trees}
        for walk in (walk for walk in self.walks if walk.on <= session.today):
            looked = walk.stops[: len(walk.stops) * int(self.draws.integers(3)) // 2]
            for stop in looked:
                data = {
                    "round": stop.window.round,
                    "cycle": stop.window.cycle,
                    "depth": stop.depth,
                    "minutes": 1.3 * stop.minutes,
                }
                write(session, entry(session, [labels[stop.tree_id]], "review", data, walk.on))
        self.walks = review_plan(session).round.walks

    def _answer(self, session: Session, group: EventGroup) -> None:
        if self.draws.random() < OTHERWISE:
            until = (session.today + WEEK).isoformat()
            data: Mapping[str, object] = (
                {"answer": "put off", "until": until}
                if self.draws.random() < 0.5
                else {"answer": "not this cycle"}
            )
            for item in group.items:
                self._write(session, item, "answer", {"item": str(item.id), **data})
            return
        for item in group.items:
            self._do(session, item)

    def _do(self, session: Session, item: Item) -> None:
        if item.operation in (INTO, OUT):
            if item.to is not None:
                self._write(session, item, "state", {"spot": str(item.to)})
        elif item.follows is not None:
            well = "well" if self.draws.random() < 0.8 else "badly"
            data = {"rule": item.follows.rule, "of": str(item.follows.entry), "went": well}
            self._write(session, item, "look", data, item.follows.part)
        else:
            self._write(session, item, "work", {"operation": item.operation}, item.part_id)

    def _see(self, session: Session) -> None:
        for tree in session.trees:
            for one in session.plan.stages[tree.id]:
                day = None if one.range is None else one.range.likely
                lately = day is not None and session.today - 2 * WEEK <= day <= session.today
                if lately and not one.seen and self.draws.random() < SEES:
                    write(session, entry(session, [tree], "seen", {"stage": one.stage}, session.today))

    def _write(
        self, session: Session, item: Item, kind: str, data: Mapping[str, object], part: UUID | None = None
    ) -> None:
        tree = next(tree for tree in session.trees if tree.id == item.tree_id)
        parts = () if part is None else (part,)
        made = entry(session, [tree], kind, dict(data), session.today, parts=parts)  # type: ignore[arg-type]
        write(session, made)
        session.__dict__["entries"] = (*session.entries, made)


def demo_plot(at: Path) -> Plot:
    """Return the demo's garden in Seattle, from March 2014 on."""
    first = date(2014, 3, 1)
    found_demo(at, first).store.close()
    file = read_measured(folder("demo") / "seattle-weather.csv", zone=ZoneInfo("UTC"), station="Seattle")
    return Plot(
        "Seattle", first, lambda day: open_session(str(at / "garden.db"), None, day), file.file.series
    )


@dataclass(frozen=True)
class Made:
    """An invented garden under invented weather."""

    name: str
    latitude: float
    mean_c: float
    swing_c: float
    trees: tuple[tuple[str, str, str, int], ...]  # species, aim, spot, vigour
    places: Mapping[str, ThermalProfile]

    @cached_property
    def series(self) -> DailySeries:
        """Twenty-one years of days."""
        return invented_series(
            date(1999, 1, 1), date(2017, 12, 31), mean_c=self.mean_c, swing_c=self.swing_c, noise_c=3.5,
            south=self.latitude < 0,
        )  # fmt: skip

    def bench(self, first: date) -> Bench:
        """Return the garden as it is found on its first day."""
        bench = bench_on_series(self.series, self.latitude, first)
        for number, (name, profile) in enumerate(self.places.items()):
            spot = Spot(_id(self.name, number), ROOT, name, profile=profile)
            bench.spots[spot.id] = spot
        stands = {spot.name: str(spot.id) for spot in bench.spots.values()}
        for number, (species, aim, spot_name, vigour) in enumerate(self.trees, 1):
            label = f"{species} {number}"
            bench.tree(label, species, date(2013, 1, 1), aim=aim, vigour=vigour, spot=stands[spot_name])
            bench.did(date(2013 - number % 3, 3 if self.latitude > 0 else 9, 10), "repot", label)
        return bench


def _id(name: str, number: int) -> UUID:
    return uuid5(ROOT, f"{name} {number}")


COLD = Made(
    "Cold winters", 45.0, 8.0, 14.0,
    (("acer-palmatum", "ramification", "bench", 4), ("acer-palmatum", "structure", "bench", 3),
     ("pinus-thunbergii", "ramification", "bench", 4), ("ulmus-parvifolia", "refinement", "frame", 4),
     ("ficus-microcarpa", "ramification", "window", 4), ("rhododendron-indicum", "refinement", "bench", 4),
     ("acer-palmatum", "recovery", "cellar", 2)),
    {"bench": "open", "frame": "cold frame", "cellar": "frost-free", "window": "heated"},
)  # fmt: skip
SOUTH = Made(
    "Southern coast", -37.8, 14.5, 6.0,
    (("acer-palmatum", "refinement", "bench", 5), ("ficus-microcarpa", "structure", "bench", 4),
     ("pinus-thunbergii", "structure", "bench", 5), ("camellia-japonica", "ramification", "bench", 3)),
    {"bench": "open", "porch": "frost-free"},
)  # fmt: skip


def made_plot(made: Made, at: Path) -> Plot:
    """Return an invented garden, from January 2015 on, its invented days stored as if it had measured them."""
    first, database = date(2015, 1, 3), at / "garden.db"
    bench, rain = made.bench(first), np.full(len(made.series), np.nan)
    days = MeasuredDays(WeatherFile(made.series, rain, (), ()), made.name, "invented")
    garden = replace(bench.garden, name=made.name)
    with closing(open_store(migrated(database))) as store:
        keep(
            store,
            Founded(garden, tuple(bench.spots.values()), tuple(bench.trees), tuple(bench.entries)),
            days,
        )
    return Plot(made.name, first, lambda day: open_session(str(database), None, day), made.series)


def year_of(plot: Plot, database: Path, weeks: int) -> Iterator[str]:
    """Yield what is found in a year of a garden, and how long it took."""
    grower = Grower(np.random.default_rng((SEED, sum(plot.name.encode()))))
    began, days, found = time.perf_counter(), 0, Counter[str]()
    for week in range(weeks):
        day = plot.first + week * WEEK
        screens = _screens(plot, database, day)
        here = findings_in(screens)
        after = _screens(plot, database, day + DAY)
        here += findings_in(after, lambda later, before=screens: unsettled(before, later))  # type: ignore[misc]
        for one in here:
            yield str(one)
            found[re.sub(r"\d{4}-\d\d-\d\d", "DAY", f"{one.screens}: {one.says}")[:90]] += 1
        days += 1
        grower.week(after.session, after)
    took = (time.perf_counter() - began) / max(days, 1)
    moved = [len(days) - 1 for days in grower.told.values()]
    yield f"{plot.name}: {len(moved)} walks told, moved {sum(moved)} times, {max(moved, default=0)} at most"
    yield f"{plot.name}: {sum(found.values())} findings of {len(found)} kinds on {days} days, {took:.1f} s a day"


def _screens(plot: Plot, database: Path, day: date) -> Screens:
    """Return the screens of a day on which the forecast has come and warnings were judged by it."""
    before = plot.open_on(day)
    with closing(open_store(database)) as store:
        _keep_forecast(store, before.garden, plot.series, clock(before.garden.zone, day))
    session = plot.open_on(day)
    judge_garden(session, session.clock.now)
    return screens_of(plot.open_on(day))


def main(weeks: int = 52, *gardens: int) -> None:
    """Print what is found in each garden, or in those of some numbers."""
    every = (None, COLD, SOUTH)
    for made in [every[number] for number in gardens] or every:
        with TemporaryDirectory() as folder_:
            at = Path(folder_)
            plot = demo_plot(at) if made is None else made_plot(made, at)
            for line in year_of(plot, at / "garden.db", weeks):
                print(line, flush=True)


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))
