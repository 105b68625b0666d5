"""Reads the rounds of tests/situations/reviews and tells where the walks planned differ from what growers expect."""

from __future__ import annotations

import tomllib
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal
from uuid import uuid5

from pydantic import Field

from calendar_core.app.plan.walks import review_plan
from calendar_core.garden.model import Spot
from calendar_core.knowledge.words import Aim, Departure, LookDepth, RoundName, SizeClass, ThermalProfile
from calendar_core.planning.review.walks import Turn
from tests.app.stored_bench import keep, opened
from tests.planning.made_up import ROOT, Bench
from tests.planning.situations import Days, Names, Situation, Table, Weather, empty_bench

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from calendar_core.app.plan.walks import ReviewPlan
    from calendar_core.app.shell.session import Session
    from calendar_core.planning.review.walks import Walk

FOLDER = Path(__file__).parents[2] / "situations" / "reviews"


class PlaceTable(Table):
    """A spot of the garden."""

    name: str
    profile: ThermalProfile = "open"
    quarantine: bool = False


class GroupTable(Table):
    """Trees alike; more than one are numbered."""

    name: str
    species: str
    count: Annotated[int, Field(ge=1, le=400)] = 1
    aim: Aim = "structure"
    vigour: Annotated[int, Field(ge=1, le=5)] = 3
    size: SizeClass = "medium"
    spot: str | None = None

    @property
    def labels(self) -> Names:
        """What they are called."""
        return (
            (self.name,) if self.count == 1 else tuple(f"{self.name} {n}" for n in range(1, self.count + 1))
        )


class LineTable(Table):
    """One line of the log: work, a part, a look of a round, a walk moved, or the grower's time."""

    on: date
    trees: Names = ()
    did: str | None = None
    part: dict[str, str | float] | None = None
    reviewed: RoundName | None = None
    cycle: int | None = None
    depth: LookDepth = "full"
    minutes: float | None = None
    hours: tuple[int, int, int, int, int, int, int] | None = None
    away: Days | None = None
    moved: Days | None = None  # a walk from one day to another
    gone: Departure | None = None


class RoundExpect(Table):
    """What the walks of a day must be: how many, of how many trees, when, in what order, what closely."""

    on: date
    walks: tuple[int, int]
    trees: int
    left: Names = ()
    first: Days | None = None
    last: Days | None = None
    none: tuple[Days, ...] = ()
    most_minutes: int = 90
    order: Names = ()
    full: Names = ()
    glance: Names = ()
    rounds: dict[str, RoundName] = Field(default_factory=dict)
    turns: dict[str, Turn] = Field(default_factory=dict)
    weekdays: Literal["any", "weekend"] = "any"


class RoundCase(Table):
    """A whole file."""

    title: str
    today: date
    source: str = ""
    weather: Weather
    spot: tuple[PlaceTable, ...] = ()
    trees: tuple[GroupTable, ...]
    log: tuple[LineTable, ...] = ()
    expect: Annotated[tuple[RoundExpect, ...], Field(min_length=1)]


def read(path: Path) -> RoundCase:
    """Return the case of a file."""
    return RoundCase.model_validate(tomllib.loads(path.read_text(encoding="utf-8")))


def bench_of(case: RoundCase) -> Bench:
    """Return the garden of a case with its trees and log."""
    bench = empty_bench(Situation.model_construct(weather=case.weather, today=case.today))
    for spot in case.spot:
        made = Spot(
            uuid5(ROOT, spot.name),
            bench.garden.id,
            spot.name,
            profile=spot.profile,
            quarantine=spot.quarantine,
        )
        bench.spots[made.id] = made
    for group in case.trees:
        stands: dict[str, Any] = {} if group.spot is None else {"spot": str(uuid5(ROOT, group.spot))}
        for label in group.labels:
            bench.tree(label, group.species, aim=group.aim, vigour=group.vigour, size=group.size, **stands)
    for line in case.log:
        _write(bench, line)
    return bench


def _write(bench: Bench, line: LineTable) -> None:
    if line.did is not None:
        bench.did(line.on, line.did, *line.trees)
    elif line.reviewed is not None:
        data = {"round": line.reviewed, "cycle": line.cycle, "depth": line.depth}
        timed = {} if line.minutes is None else {"minutes": line.minutes}
        bench.write(line.on, "review", *line.trees, **data, **timed)
    elif line.gone is not None:
        bench.write(line.on, "gone", *line.trees, why=line.gone)
    elif line.hours is not None:
        bench.write(line.on, "hours", weekly=list(line.hours))
    elif line.away is not None:
        bench.write(line.on, "away", **{"from": line.away[0].isoformat(), "until": line.away[1].isoformat()})
    elif line.moved is not None:
        off, on = line.moved
        bench.write(line.on, "walk", off=off.isoformat(), on=on.isoformat(), minutes=60)


def session_of(case: RoundCase, bench: Bench, folder: Path, today: date) -> Session:
    """Return the garden of a case as it is opened on a day."""
    database = folder / "garden.db"
    if not database.exists():
        keep(bench, database, case.title)
    return opened(bench, database, today)


def misses(case: RoundCase, folder: Path) -> Iterator[str]:
    """Yield a line for each expectation that is not met."""
    bench = bench_of(case)
    for expect in case.expect:
        found = review_plan(session_of(case, bench, folder, expect.on))
        yield from (f"{expect.on}: {line}" for line in _misses(expect, found))


def _misses(expect: RoundExpect, found: ReviewPlan) -> Iterator[str]:
    walks = found.round.walks
    stops = {stop.label: stop for walk in walks for stop in walk.stops}
    yield from _missed_days(expect, walks)
    if len(stops) != expect.trees:
        yield f"{len(stops)} trees are looked at"
    if {stop.label for stop in found.round.left} != set(expect.left):
        yield f"left are {[stop.label for stop in found.round.left][:8]}"
    order = [label for label in stops if label in expect.order]
    if order != list(expect.order):
        yield f"in the order {order}"
    wanted: dict[str, object] = {
        **dict.fromkeys(expect.full, "full"), **dict.fromkeys(expect.glance, "glance"),
    }  # fmt: skip
    yield from (f"{label}: {stops[label].depth}" for label in wanted if stops[label].depth != wanted[label])
    yield from (
        f"{n}: {stops[n].window.round}" for n, name in expect.rounds.items() if stops[n].window.round != name
    )
    yield from (f"{n}: {stops[n].turn}" for n, turn in expect.turns.items() if stops[n].turn != turn)


def _missed_days(expect: RoundExpect, walks: Sequence[Walk]) -> Iterator[str]:
    days = [walk.on for walk in walks]
    told = f"walks on {', '.join(map(str, days))}"
    if not expect.walks[0] <= len(walks) <= expect.walks[1]:
        yield f"{len(walks)} walks; {told}"
    for span, ends in ((expect.first, days[:1]), (expect.last, days[-1:])):
        if span is not None and not (ends and span[0] <= ends[0] <= span[1]):
            yield f"not between {span[0]} and {span[1]}: {told}"
    for first, last in expect.none:
        if any(first <= day <= last for day in days):
            yield f"a walk between {first} and {last}: {told}"
    yield from (f"{walk.on} takes {walk.minutes} min" for walk in walks if walk.minutes > expect.most_minutes)
    if expect.weekdays == "weekend" and any(day.weekday() < 5 for day in days):
        yield f"a walk on a working day: {told}"
    for walk in walks:
        for stop in walk.stops:
            if not stop.window.opens <= walk.on <= stop.window.closes:
                yield f"{stop.label} on {walk.on}, outside {stop.window.opens} to {stop.window.closes}"
