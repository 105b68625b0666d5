"""Reads the grower cases of tests/situations and tells where a plan differs from what they expect."""

from __future__ import annotations

import tomllib
from datetime import date
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal
from uuid import uuid5

from pydantic import BaseModel, ConfigDict, Field

from calendar_core.garden.model import Aim, SizeClass, Spot, ThermalProfile
from calendar_core.planning.items import Range, item_id
from calendar_core.species.bundled import folder
from calendar_core.weather.sources.csv_daily import parse_daily_csv
from tests.planning.made_up import (
    ROOT,
    Bench,
    bench_on_normals,
    bench_on_series,
    codes,
    invented_series,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from calendar_core.planning.items import Item, Plan
    from calendar_core.weather.daily import DailySeries

FOLDER = Path(__file__).parents[1] / "situations"
SEATTLE = (47.5, -122.3)
Days = tuple[date, date]


class Table(BaseModel):
    """A table in which an unknown key is a fault."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Invented(Table):
    """Twenty-one years of a made-up station, a yearly wave with noise."""

    latitude: float
    mean_c: float
    swing_c: float
    half_range_c: float
    noise_c: float


class Weather(Table):
    """One of the three kinds."""

    place: str | None = None
    measured: Literal["seattle"] | None = None
    invented: Invented | None = None


class SpotTable(Table):
    """A place where trees stand."""

    name: str
    profile: ThermalProfile


class TreeTable(Table):
    """A tree as it came."""

    label: str
    species: str
    aim: Aim = "structure"
    vigour: Annotated[int, Field(ge=1, le=5)] = 3
    size: SizeClass = "medium"
    spot: str | None = None


class LogTable(Table):
    """One thing that was done, seen, looked for, wished or answered."""

    on: date
    trees: tuple[str, ...]
    did: str | None = None
    saw: str | None = None
    not_yet: str | None = None
    wish: str | None = None
    answer: str | None = None
    work: str | None = None  # the item that is answered
    cycle: int | None = None


class Expect(Table):
    """One line of the plan: a work (by its rule) or a stage of a tree."""

    tree: str
    work: str | None = None
    stage: str | None = None
    cycle: int | None = None
    status: Literal["due", "wished", "possible"] | None = None
    opens: Days | None = None
    closes: Days | None = None
    chance_at_least: float = 0.0
    chance_at_most: float = 1.0
    reasons: tuple[str, ...] = ()
    not_planned: tuple[str, ...] = ()
    likely: Days | None = None
    never: bool = False


class Situation(Table):
    """A whole file; ``fails`` says what in the program is known to be wrong."""

    title: str
    today: date
    source: str = ""
    fails: str = ""
    weather: Weather
    spot: tuple[SpotTable, ...] = ()
    tree: tuple[TreeTable, ...]
    log: tuple[LogTable, ...] = ()
    expect: Annotated[tuple[Expect, ...], Field(min_length=1)]


def read(path: Path) -> Situation:
    """Return the case of a file."""
    return Situation.model_validate(tomllib.loads(path.read_text(encoding="utf-8")))


@cache
def _seattle() -> DailySeries:
    text = (folder("demo") / "seattle-weather.csv").read_text(encoding="utf-8")
    return parse_daily_csv(text, file="seattle-weather.csv").series


def bench_of(case: Situation) -> Bench:
    """Return the garden of a case with its trees and log."""
    bench = _empty(case)
    for spot in case.spot:
        made = Spot(uuid5(ROOT, spot.name), bench.garden.id, spot.name, profile=spot.profile)
        bench.spots[made.id] = made
    spots = {spot.name: str(spot.id) for spot in bench.spots.values()}
    for tree in case.tree:
        stands: dict[str, Any] = {} if tree.spot is None else {"spot": spots[tree.spot]}
        bench.tree(tree.label, tree.species, aim=tree.aim, vigour=tree.vigour, size=tree.size, **stands)
    for entry in case.log:
        _write(bench, entry)
    return bench


def _empty(case: Situation) -> Bench:
    weather, today = case.weather, case.today
    if weather.place is not None:
        return bench_on_normals(weather.place)
    if weather.measured is not None:
        return bench_on_series(_seattle(), SEATTLE[0], today, longitude=SEATTLE[1])
    made = weather.invented
    assert made is not None
    years = invented_series(
        date(today.year - 20, 1, 1),
        date(today.year, 12, 31),
        mean_c=made.mean_c,
        swing_c=made.swing_c,
        half_range_c=made.half_range_c,
        noise_c=made.noise_c,
        south=made.latitude < 0,
    )
    return bench_on_series(years, made.latitude, today)


def _write(bench: Bench, entry: LogTable) -> None:
    if entry.did is not None:
        bench.did(entry.on, entry.did, *entry.trees)
    elif entry.saw is not None or entry.not_yet is not None:
        bench.write(entry.on, "seen", *entry.trees, stage=entry.saw or f"not yet {entry.not_yet}")
    elif entry.wish is not None:
        bench.write(entry.on, "wish", *entry.trees, operation=entry.wish, cycle=entry.cycle)
    else:
        assert entry.answer is not None
        assert entry.work is not None
        assert entry.cycle is not None
        for tree in bench.trees:
            if tree.label in entry.trees:
                item = item_id(bench.garden.id, tree.id, entry.work, entry.cycle)
                bench.write(entry.on, "answer", tree.label, item=str(item), answer=entry.answer)


def misses(case: Situation, bench: Bench, plan: Plan) -> Iterator[str]:
    """Yield one line for each thing that is not as expected."""
    trees = {tree.label: tree for tree in bench.trees}
    for expect in case.expect:
        name = f"{expect.tree}, {expect.work or expect.stage} {expect.cycle or ''}"
        check = _stage_misses if expect.stage is not None else _work_misses
        for miss in check(expect, trees[expect.tree].id, plan):
            yield f"{name}: {miss}"


def _stage_misses(expect: Expect, tree: object, plan: Plan) -> Iterator[str]:
    found = next(
        s
        for t, dated in plan.stages.items()
        if t == tree
        for s in dated
        if (s.stage, s.cycle) == (expect.stage, expect.cycle)
    )
    if expect.never and found.range is not None:
        yield f"comes {found.range}, share {found.share}"
    if expect.likely is not None:
        yield from _outside("likely", expect.likely, found.range)


def _work_misses(expect: Expect, tree: object, plan: Plan) -> Iterator[str]:
    def here(one: object) -> bool:
        named = (getattr(one, "tree_id", None), getattr(one, "rule", None)) == (tree, expect.work)
        return named and expect.cycle in (None, getattr(one, "cycle", None))

    item = next((i for i in plan.items if here(i)), None)
    against = [code for one in plan.not_planned if here(one) for code in codes(one)]
    if expect.not_planned:
        if item is not None:
            yield f"is planned: {item.opens}"
        for code in expect.not_planned:
            if code not in against:
                yield f"not planned because of {against}, not {code}"
    elif item is not None:
        yield from _item_misses(expect, item)
    elif expect.chance_at_least > 0 or expect.status or expect.opens:
        yield f"is not planned: {against}"
    elif not against:
        yield "nothing is said of it"


def _item_misses(expect: Expect, item: Item) -> Iterator[str]:
    if expect.status not in (None, item.status):
        yield f"is {item.status}"
    if not expect.chance_at_least <= item.chance <= expect.chance_at_most:
        yield f"chance {item.chance}"
    for edge, days, found in (("opens", expect.opens, item.opens), ("closes", expect.closes, item.closes)):
        if days is not None:
            yield from _outside(edge, days, found)
    for code in expect.reasons:
        if code not in codes(item):
            yield f"does not say {code}: {codes(item)}"


def _outside(edge: str, days: Days, found: Range | None) -> Iterator[str]:
    if found is None or not days[0] <= found.likely <= days[1]:
        yield f"{edge} {found and found.likely}, not {days[0]} to {days[1]}"
