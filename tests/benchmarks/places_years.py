"""What the moves of trees are worth over the years of a record: killed trees, moves asked, and their dates.

Run by hand: ``python -m tests.benchmarks.places_years [YEARS]`` (default all 28 winters; about eleven minutes). Weather: Brussels
1976-2005 as in `weather_skill`; of each Saturday only the days before it are known, so that the first fifteen
years are planned from few. Gardens, growers and forecasts are made up, see `places_lives`. Plans are those of the
rooms of places alone, which rest on no other work.

A tree is past a line by the coldest hour of a night: of its root ball in a medium pot, made from the days that came; of
trees that cold above freezing harms, of the air. "Silent" is a night past the killing line in whose two days before
neither an open task nor a warning named the tree. "Undone" is a move asked within two weeks after the one that it
takes back was made; "dropped" one asked, not done, and not asked any more. Counted as moves are those under cover and out.

Chances: on each Saturday, that the week passes a line of the open air at night, as it is forecast and as it usually is, against
what came. Brier's score is the mean square of what a chance lies off; a chance told is right where it came so often.

Goals: no silent night, no move undone, at most four moves a tree and year in the median; misses bear "!".

The plain rule: in at the first forecast frost (figs and the like at the first forecast night below 10 degC), out after the
last usual one; under the warmest cover there is.

Growers' dates: figs out in late May and in by mid or late September (nights of 10 degC, Buffalo to Madrid; Chicago about
15 September: Prairie State Bonsai Society); trees that rest under cover 30 to 45 days after the first frost (Nursery
Management, magazine), which is that of each year here, and out before buds open in March (common practice).
"""

from __future__ import annotations

import sys
from collections import defaultdict
from datetime import date
from itertools import pairwise
from time import perf_counter
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from calendar_core.garden.state import TreeState
from calendar_core.planning.places.chances import ChanceLine
from calendar_core.planning.places.operations import DOWN, INTO, LIGHT, OUT, UP
from tests.benchmarks.places_lives import (
    DAY,
    WEEK,
    Life,
    Nights,
    Plain,
    PlainLife,
    Weather,
    garden_at,
    lines_of,
    live,
    plot,
    reading,
)
from tests.benchmarks.weather_skill import brussels

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from uuid import UUID

    from calendar_core.weather.daily import DailySeries
    from tests.benchmarks.places_lives import Ask, Night, Reading

PLOTS = (
    plot(
        "a terrace with a heated room",
        {"terrace": "open", "room": "heated"},
        ["ficus-microcarpa", "ficus-microcarpa", "crassula-ovata", "bougainvillea-glabra"],
    ),
    plot(
        "a bench, a cold frame and a frost-free shed",
        {"bench": "open", "frame": "cold frame", "shed": "frost-free"},
        [
            "acer-palmatum", "acer-buergerianum", "rhododendron-indicum", "camellia-japonica",
            "pinus-thunbergii", "larix-kaempferi", "ulmus-parvifolia",
        ],
    ),
    plot(
        "a bench alone with a frame",
        {"bench": "open", "frame": "cold frame"},
        [
            "acer-palmatum", "acer-palmatum", "acer-buergerianum", "carpinus-betulus", "fagus-sylvatica",
            "rhododendron-indicum", "juniperus-chinensis", "pinus-parviflora", "zelkova-serrata",
        ],
        repotted=[0],
    ),
)  # fmt: skip
SEED = 0
FIRST_WINTER, LAST_WINTER = 1977, 2004  # named by their autumn; of 1976 too little is known
GOAL_MOVES = 4
UNDONE = 2 * WEEK
MOVES = (INTO, OUT)
FIG_OUT, FIG_IN = ((5, 20), (5, 31)), ((9, 10), (9, 30))
COVER_AFTER_FROST_D = (30, 45)
TENDER = ("ficus-microcarpa", "crassula-ovata", "bougainvillea-glabra")
CHANCE_LINES_C = (0.0, -4.0, -8.0)
CHANCE_STEPS = (0.0, 0.05, 0.1, 0.2, 0.4, 0.7, 1.01)


class Called(NamedTuple):
    """The chance of a week's passing a line, as it is forecast and usually, and whether it did."""

    ahead: float
    usual: float
    came: bool


def called(made: Reading, weather: Weather) -> list[Called]:
    """Return what a Saturday says of its week."""
    chances, coldest = made.chances, weather.came(made.today, 7).t_min_c.min()
    lines = [ChanceLine("night", at_c) for at_c in CHANCE_LINES_C]
    return [
        Called(
            float(chances.ahead(line, "open")[chances.today]),
            float(chances.usual(line, "open")[chances.today]),
            bool(coldest < line.at_c),
        )
        for line in lines
    ]


def lived(n_years: int) -> tuple[list[Life], list[PlainLife], Weather, list[Called]]:
    """Return the gardens after so many winters, by the program and by the plain rule, and what chances were told."""
    record = brussels()
    assert record is not None
    weather, nights, garden = Weather(record, SEED), Nights(record), garden_at(record)
    begin = date(LAST_WINTER + 1 - n_years, 7, 1)
    begin += (5 - begin.weekday()) % 7 * DAY
    lives = [Life(of, weather, nights, garden, begin) for of in PLOTS]
    plain = [PlainLife(of, weather, nights, garden, begin) for of in PLOTS]
    calls: list[Called] = []
    today, since = begin, perf_counter()
    while today < date(LAST_WINTER + 1, 7, 1):
        forecasts = {day: weather.forecast(day) for day in (today + n * DAY for n in range(7))}
        made, rule = reading(weather, garden, today), Plain(weather.known(today), forecasts[today])
        for life in (*lives, *plain):
            life.repot(today)
        for life in lives:
            life.saturday(today, made.items(life.grove(today)))
        for other in plain:
            other.by_rule(today, rule)
        calls += called(made, weather)
        live([*lives, *plain], today, forecasts)
        if today.month == 7 and today.day <= 7:
            print(f"{today}: {perf_counter() - since:.0f} s", file=sys.stderr)
        today += WEEK
    return lives, plain, weather, calls


# -- counting ---------------------------------------------------------------------------------------------


def winter(day: date) -> int:
    """Return the year of the autumn of the winter that a day belongs to."""
    return day.year - (day.month < 7)


def moves_of(lives: Iterable[Life]) -> list[Ask]:
    """Return the moves asked."""
    return [ask for life in lives for ask in life.asks.values() if ask.operation in MOVES]


def per_tree_year(lives: Sequence[Life], operations: Sequence[str], years: Iterable[int]) -> list[int]:
    """Return how many times each tree was asked for in each year."""
    counts: dict[tuple[UUID, int], int] = defaultdict(int)
    for life in lives:
        for ask in life.asks.values():
            counts[ask.tree.id, winter(ask.first)] += ask.operation in operations
    trees = [tree.id for life in lives for tree in life.plot.trees]
    return sorted(counts[tree, year] for tree in trees for year in years)


def undone(lives: Iterable[Life]) -> list[tuple[Ask, Ask]]:
    """Return moves with those that take them back within two weeks."""
    by_tree: dict[UUID, list[Ask]] = defaultdict(list)
    for ask in moves_of(lives):
        by_tree[ask.tree.id].append(ask)
    return [
        (one, two)
        for asks in by_tree.values()
        for one in asks
        for two in asks
        if one.done is not None
        and two.operation != one.operation
        and one.done < two.first < one.done + UNDONE
    ]


def dropped(lives: Iterable[Life], end: date) -> list[Ask]:
    """Return moves asked for that were never done nor asked for any more."""
    return [ask for ask in moves_of(lives) if ask.done is None and ask.last + WEEK < end]


HEAD = f"{'':46s} silent  forgot  other  caution  moves: median 90 % most  undone  dropped"


def line(title: str, lives: Sequence[Life], years: Iterable[int], end: date) -> str:
    """Return a row of the table; of nights, by trees and nights."""
    past = [night for life in lives for night in life.past]
    killed = [night for night in past if night.killed]
    silent = sum(not night.told for night in killed)
    forgot = sum(night.open_ask for night in killed)
    counts = per_tree_year(lives, MOVES, years)
    median, nine = np.quantile(counts, [0.5, 0.9])
    back = len(undone(lives))
    marks = ["!" if bad else " " for bad in (silent > 0, median > GOAL_MOVES, back > 0)]
    return (
        f"{title:46s}{silent:7d}{marks[0]}{forgot:7d}{len(killed) - silent - forgot:7d}{len(past) - len(killed):9d}"
        f"{median:15.1f}{marks[1]}{nine:4.0f}{counts[-1]:5d}{back:8d}{marks[2]}{len(dropped(lives, end)):8d}"
    )


def on_the_bench(lives: Sequence[Life], years: Sequence[int]) -> str:
    """Return a row of what would come to trees that are never moved nor repotted."""
    killed = caution = 0
    for life in lives:
        start = life.nights.record.series.start
        span = slice((life.begin - start).days, (date(years[-1] + 1, 7, 1) - start).days)
        for tree in life.plot.trees:
            lines = lines_of(life.stand(tree, TreeState(spot=life.plot.spots[0].id), life.begin))
            night = (life.nights.air_c if lines.air else life.nights.ball_c)["open"][span]
            killed += int((night <= lines.danger_c).sum())
            caution += int(((night > lines.danger_c) & (night <= lines.caution_c)).sum())
    return f"{'  left on the bench: nights that kill':46s}{killed:7d} {'':14s}{caution:9d}"


def by_species(lives: Sequence[Life], n_years: int) -> None:
    """Print nights past the line of caution."""
    print("\nNights past the line of caution for each tree and year, and the coldest, by species and place")
    trees = [tree.species for life in lives for tree in life.plot.trees]
    found: dict[tuple[str, str], list[Night]] = defaultdict(list)
    for life in lives:
        for night in life.past:
            found[night.tree.species, night.place].append(night)
    for (who, place), nights in sorted(found.items()):
        share = len(nights) / trees.count(who) / n_years
        coldest = min(night.at_c for night in nights)
        told = sum(night.told for night in nights) / len(nights)
        print(f"{who:24s}{place:12s}{share:6.2f}{coldest:7.1f}  told {told:.0%}")


def chances(calls: Sequence[Called]) -> None:
    """Print how often came what was told with a chance."""
    ahead, usual, came = np.array(calls, dtype=float).T
    print("\nChances of a week's night below 0, -4 and -8 degC: Brier's score, then told, came and how often")
    for name, told in (("as forecast", ahead), ("usually", usual)):
        rows = []
        for low, high in pairwise(CHANCE_STEPS):
            here = (told >= low) & (told < high)
            if here.any():
                rows.append(f"{told[here].mean():.2f} {came[here].mean():.2f} ({here.sum()})")
        print(f"{name:12s}{((told - came) ** 2).mean():.4f}  {'  '.join(rows)}")


def of_year(day: date, year: int) -> int:
    """Return days since 1 January of a year."""
    return (day - date(year, 1, 1)).days


def dates(lives: Sequence[Life], operation: str) -> dict[str, list[Ask]]:
    """Return the first time of an operation in each year of each tree, by species and cover."""
    out: dict[str, dict[tuple[UUID, int], Ask]] = defaultdict(dict)
    for life in lives:
        for ask in life.asks.values():
            if ask.operation == operation:
                own = out[ask.tree.species]
                key = (ask.tree.id, winter(ask.first))
                own[key] = min(own.get(key, ask), ask, key=lambda one: one.first)
    return {species: list(asks.values()) for species, asks in out.items()}


def when(asks: Sequence[Ask]) -> str:
    """Return earliest, 10, 50, 90 % and latest first day of the year, July being the first month, and how many."""
    days = sorted(of_year(ask.first, winter(ask.first)) for ask in asks)
    marks = np.quantile(days, [0, 0.1, 0.5, 0.9, 1], method="nearest").astype(int)
    told = "  ".join(f"{date(2001, 1, 1) + int(day) * DAY:%d %b}" for day in marks)
    return f"{told}  {len(days):4d}"


def first_frost(series: DailySeries, year: int) -> date | None:
    """Return the first frost of an autumn and winter."""
    days = series.window(date(year, 7, 1), date(year + 1, 6, 30))
    cold = np.flatnonzero(days.t_min_c <= 0)
    return date(year, 7, 1) + int(cold[0]) * DAY if cold.size else None


def off(day: date, first: date, last: date) -> int:
    """Return by how many days a day lies before (negative) or after a span."""
    return min((day - first).days, 0) + max((day - last).days, 0)


def growers(lives: Sequence[Life], series: DailySeries) -> None:
    """Print how far dates lie from growers'."""
    print("\nDays off growers' dates (negative: before them): 10, 50, 90 %")
    into, out = dates(lives, INTO), dates(lives, OUT)
    for who in TENDER:
        for name, asks, span in (("out", out.get(who, []), FIG_OUT), ("in", into.get(who, []), FIG_IN)):
            found = [off(a.first, date(a.first.year, *span[0]), date(a.first.year, *span[1])) for a in asks]
            print(
                f"{who:24s}{name:4s} {span[0][1]}.{span[0][0]}. to {span[1][1]}.{span[1][0]}.  {quantiles(found)}"
            )
    for who, asks in into.items():
        if who in TENDER:
            continue
        found = []
        for ask in asks:
            frost = first_frost(series, winter(ask.first))
            if frost is not None:
                found.append(off(ask.first, *(frost + n * DAY for n in COVER_AFTER_FROST_D)))
        print(f"{who:24s}in   30 to 45 d after first frost  {quantiles(found)}")


def quantiles(found: Sequence[int]) -> str:
    """Return three quantiles."""
    if not found:
        return "   -"
    return "".join(f"{q:6.0f}" for q in np.quantile(found, [0.1, 0.5, 0.9])) + f"   n {len(found)}"


def told_night(night: Night) -> str:
    """Return a line about a night that killed."""
    said = "forgot" if night.open_ask else "warned" if night.told else "SILENT"
    return f"  {night.tree.label:24s}{night.day}  {night.place:12s}{night.at_c:6.1f}  line {night.lines.danger_c:.1f}  {said}"


def told_ask(ask: Ask) -> str:
    """Return a line about what was asked."""
    item = ask.item
    span = f"{item.opens.likely} by {item.closes.likely}" if item is not None else ""
    return f"{ask.operation} {ask.first} to {ask.last}, done {ask.done}, from {ask.stood}; {ask.why} {span}"


def findings(lives: Sequence[Life], end: date) -> None:
    """Print what was not as it should be."""
    print("\nNights that killed")
    for life in lives:
        for night in life.past:
            if night.killed:
                print(told_night(night))
    print("\nMoves undone")
    for one, two in undone(lives):
        print(f"  {one.tree.label}: {told_ask(one)}\n      back: {told_ask(two)}")
    print("\nMoves dropped")
    for ask in dropped(lives, end):
        print(f"  {ask.tree.label}: {told_ask(ask)}")


def main(n_years: int) -> None:
    """Print the tables."""
    begun = perf_counter()
    if brussels() is None:
        print("the package registry gives no aquacrop 3.1.0 here: skipped")
        return
    lives, plain, weather, calls = lived(n_years)
    years = range(LAST_WINTER + 1 - n_years, LAST_WINTER + 1)
    end = date(LAST_WINTER + 1, 7, 1)
    print(f"Brussels, {n_years} winters from {years[0]}, seed {SEED}; nights are counted by tree\n{HEAD}")
    for life, other in zip(lives, plain, strict=True):
        print(line(life.plot.title, [life], years, end))
        print(line("  plain rule", [other], years, end))
        print(on_the_bench([life], years))
    print(line("all", lives, years, end))
    print(line("  plain rule", plain, years, end))
    print(on_the_bench(lives, years))
    for title, operations in (
        ("with shade and light", (*MOVES, UP, DOWN, LIGHT)),
        ("shade alone", (UP, DOWN)),
    ):
        counts = per_tree_year(lives, operations, years)
        print(f"{title}: {np.quantile(counts, 0.5):.1f} {np.quantile(counts, 0.9):.0f} {counts[-1]}")
    print("\nFirst asked in a year (from July): earliest, 10, 50, 90 %, latest, how many")
    for operation in (INTO, OUT, UP, DOWN, LIGHT):
        for who, asks in sorted(dates(lives, operation).items()):
            print(f"{operation:12s} {who:24s}{when(asks)}")
    chances(calls)
    by_species(lives, n_years)
    growers(lives, weather.record.series)
    findings(lives, end)
    print(f"\n{perf_counter() - begun:.0f} s")


if __name__ == "__main__":
    main(int(sys.argv[1]) if sys.argv[1:] else LAST_WINTER + 1 - FIRST_WINTER)
