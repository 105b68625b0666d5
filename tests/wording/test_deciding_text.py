"""The one fact of a line: which of several it is, of whom it is true, and that no work of any species goes without."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from typing import TYPE_CHECKING, Any
from uuid import UUID

import pytest

from calendar_core.knowledge.profiles.bundled import folder
from calendar_core.knowledge.words import AIMS, SIZES
from calendar_core.planning.items import Item, Range, Reason, item_id
from calendar_core.weather.sources.csv_daily import parse_daily_csv
from calendar_core.wording.plan.deciding_text import deciding
from calendar_core.wording.plan.fact_text import DECIDING
from tests.planning.made_up import bench_on_normals, bench_on_series, invented_series, knowledge
from tests.planning.situations import SEATTLE
from tests.wording.plain import UNITS, speaker

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calendar_core.garden.model import Units
    from calendar_core.planning.items import Plan
    from tests.planning.made_up import Bench

TODAY = date(2015, 6, 20)
LABELS = {UUID(int=1): "Large", UUID(int=2): "Small", UUID(int=3): "Third"}
LIKELY, LAST, BEFORE = date(2015, 6, 18), date(2015, 7, 12), date(2015, 6, 14)
OPENS = Reason("opens_stage", "growth_stop", date(2015, 10, 6), days=-110)
CLOSES = Reason("closes_stage", "candles_firm", LAST)
INTERVAL = Reason("interval", "repot", date(2013, 6, 22), 2, "a")
SEASON, PROGRAMME = Reason("season"), Reason("programme", "refinement")


def item(*reasons: Reason, tree: int = 1, opens: date = LIKELY, **keys: Any) -> Item:
    """A made-up item that closes on 12 July."""
    made = Item(
        item_id(UUID(int=9), UUID(int=tree), "repot", 2015), UUID(int=tree), "pinus-thunbergii", "repot", "repot", 2015,
        "refinement", Range(opens, opens, opens), Range(LAST, LAST, LAST), 1.0, "due", "Do it.", reasons,
    )  # fmt: skip
    return replace(made, **keys)


def told(*items: Item, units: Units = "metric", late: bool = True) -> str:
    return deciding(speaker(units, TODAY), items, LABELS, late=late)


AHEAD = date(2015, 6, 28)


@pytest.mark.parametrize(
    ("one", "text"),
    [
        (item(SEASON, OPENS, CLOSES), "until candles firm, about 12 July"),
        (item(SEASON, OPENS, CLOSES, opens=AHEAD), "110 days before growth stop on 6 October"),
        (item(PROGRAMME, Reason("opens_mean_year_above", found=AHEAD, needed=18.0, unit="degC"), CLOSES, opens=AHEAD), "days averaging 18 °C begin about 28 June"),
        (item(OPENS, Reason("after_stage", "needles_emerging", AHEAD), CLOSES, opens=AHEAD), "not before needles emerging, about 28 June"),
        (item(PROGRAMME, OPENS, CLOSES, Reason("large_first")), "large trees first, candles firm about 12 July"),
        (item(PROGRAMME, OPENS, CLOSES, Reason("small_last"), opens=AHEAD), "small trees last, candles firm about 12 July"),
        (item(PROGRAMME, OPENS, Reason("closes_safe_growth_stop", "", date(2015, 9, 18), 4.0, "wk")), "four weeks to leaf out before growth stop on 18 September"),
        (item(PROGRAMME, OPENS, Reason("closes_before_frost", "", date(2015, 11, 3), days=-42)), "until six weeks before the first frost on 3 November"),
        (item(INTERVAL, OPENS, CLOSES), "last repotted on 22 June 2013, every two years"),
        (item(PROGRAMME, Reason("hold", "repot", date(2015, 5, 31), 4.0, "wk"), OPENS, CLOSES, opens=AHEAD), "four weeks after it was repotted on 31 May"),
        (item(PROGRAMME, Reason("hold", "repot", date(2015, 4, 3), 4.0, "wk"), OPENS, CLOSES), "until candles firm, about 12 July"),
        (item(PROGRAMME, OPENS, CLOSES, Reason("work_ahead", "decandling", date(2015, 5, 31), 4.0, "wk"), opens=AHEAD), "four weeks after it is decandled about 31 May"),
        (item(Reason("wished", "repot"), OPENS, CLOSES), "you asked for it; until candles firm, about 12 July"),
        (item(Reason("decided", "repot", BEFORE), OPENS, CLOSES), "decided on 14 June; until candles firm, about 12 July"),
        (item(Reason("decided", "repot", BEFORE)), "decided on 14 June"),
        (item(Reason("follows", "wire", BEFORE)), "wired on 14 June"),
        (item(Reason("follows", "scion graft", BEFORE)), "scion graft on 14 June"),
        (item(Reason("watched", "wound", BEFORE)), "wound watched since 14 June"),
        (item(Reason("follows", "wire", BEFORE), Reason("looked_well", found=LIKELY)), "well on 18 June"),
        (item(Reason("watched", "wound", BEFORE), Reason("measured", "width", 12.0, LIKELY, "mm")), "width 12 mm on 18 June"),
        (item(Reason("follows", "wire", BEFORE), Reason("concern", found=LIKELY)), "not well on 18 June; wired on 14 June"),
        (item(Reason("follows", "wire", BEFORE), Reason("overdue", found=LIKELY)), "wired on 14 June; late since 18 June"),
        (item(Reason("cold", found=LIKELY, needed=5.0, unit="degC"), Reason("goes_to", found="porch"), Reason("overdue", found=LIKELY)), "nights below 5 °C from about 18 June"),
    ],
)  # fmt: skip
def test_the_fact_that_decides_is_told(one: Item, text: str) -> None:
    assert told(one) == text


def test_a_line_that_tells_since_when_it_is_late_does_not_tell_it_twice() -> None:
    assert told(item(Reason("follows", "wire", BEFORE), Reason("overdue", found=LIKELY)), late=False) == (
        "wired on 14 June"
    )
    cold = Reason("cold", found=LIKELY, needed=5.0, unit="degC")
    assert told(item(cold, Reason("overdue", found=LIKELY)), late=False) == "nights below 5 °C"
    assert told(item(cold), late=False) == "nights below 5 °C from about 18 June"


def test_temperatures_and_days_are_in_the_readers_units() -> None:
    cold = item(Reason("cold", found=LIKELY, needed=5.0, unit="degC"))
    assert told(cold, units="us") == "nights below 41 °F from about June 18"


def repotted(tree: int, on: date) -> Item:
    return item(replace(INTERVAL, found=on), OPENS, CLOSES, tree=tree)


def test_of_several_trees_it_is_what_is_true_of_all() -> None:
    assert told(repotted(1, date(2012, 6, 1)), repotted(2, date(2013, 6, 22))) == (
        "until candles firm, about 12 July"
    )
    assert told(repotted(1, date(2013, 6, 22)), repotted(2, date(2013, 6, 22))) == (
        "last repotted on 22 June 2013, every two years"
    )


def hardened(tree: int, days: int) -> Item:
    day = AHEAD + timedelta(days=days)
    return item(Reason("opens_stage", "leaves_hardened", day), CLOSES, tree=tree, opens=day)


def test_trees_of_one_stage_on_several_days_are_told_the_days() -> None:
    assert told(hardened(2, 5), hardened(1, 0)) == "leaves hardened about 28 June to 3 July"
    assert told(hardened(2, 2), hardened(1, 0)) == "leaves hardened about 28 June"


def test_who_was_not_well_is_named_before_what_is_true_of_all() -> None:
    look, bad = Reason("follows", "wire", BEFORE), Reason("concern", found=LIKELY)
    assert told(item(look), item(look, bad, tree=2)) == "Small: not well on 18 June; wired on 14 June"


def test_where_nothing_is_true_of_all_the_first_is_named() -> None:
    first, other = item(Reason("follows", "wire", BEFORE)), item(Reason("watched", "wound", BEFORE), tree=2)
    first, other = (
        replace(one, closes=one.closes) for one in (first, replace(other, opens=Range(*[TODAY] * 3)))
    )
    apart = replace(other, closes=Range(*[LAST + timedelta(days=90)] * 3))
    assert told(apart, first) == "Large: wired on 14 June"


# Every work of every species

DAYS = [date(2015, *day) for day in ((1, 20), (3, 20), (5, 10), (6, 24), (8, 20), (10, 10))]
SKIES = [
    *(("Seattle", day) for day in DAYS),
    *((place, day) for place in ("Melbourne", "equator") for day in (DAYS[1], DAYS[5])),
]
FACT = re.compile(r"\d|the last time is not written down")


def _under(sky: str, today: date) -> Bench:
    if sky == "Seattle":
        text = (folder("demo") / "seattle-weather.csv").read_text(encoding="utf-8")
        series = parse_daily_csv(text, file="seattle-weather.csv").series
        return bench_on_series(series, SEATTLE[0], today, longitude=SEATTLE[1])
    if sky == "equator":  # a made-up warm town
        last = date(2015, 12, 31)
        years = invented_series(
            date(1995, 1, 1), last, mean_c=27.0, swing_c=0.7, half_range_c=4.0, noise_c=1.0
        )
        return bench_on_series(years, 1.3, today)
    return bench_on_normals(sky)


@cache
def full_bench(sky: str, today: date) -> tuple[Plan, dict[UUID, str]]:
    """The plan of a tree of every species and aim, some of which were worked on (all made up)."""
    bench = _under(sky, today)
    for species in knowledge().profiles:
        for number, aim in enumerate(AIMS):
            bench.tree(f"{species} {aim}", species, aim=aim, size=SIZES[number % 3], vigour=5 - number % 2)
    labels = [tree.label for tree in bench.trees]
    bench.did(today - timedelta(days=20), "repot", *labels[::3])
    bench.did(today - timedelta(days=200), "wire", *labels[::2])
    bench.did(date(2012, 4, 2), "repot", *labels[1::3])
    bench.write(today - timedelta(days=3), "wish", *labels[::4], operation="structural prune", cycle=None)
    return bench.plan(today), {tree.id: tree.label for tree in bench.trees}


def _facts(items: Sequence[Item], units: Units, today: date, labels: dict[UUID, str]) -> list[str]:
    return [deciding(speaker(units, today), [one], labels) for one in items]


@pytest.mark.slow
@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize(("sky", "today"), SKIES)
def test_every_line_has_a_fact_of_its_tree(sky: str, today: date, units: Units) -> None:
    plan, labels = full_bench(sky, today)
    for one, text in zip(plan.items, _facts(plan.items, units, today, labels), strict=True):
        assert len(text) <= 90, (one.rule, text)
        assert FACT.search(text), (one.rule, text)
        assert not re.search(r"[{}_\n]|None|degC|unknown|  |\.$", text), (one.rule, text)
        assert ("°C" if units == "us" else "°F") not in text


@pytest.mark.slow
def test_every_work_of_every_species_is_among_them() -> None:
    """All but what wants something written down before it, or its pine to be fed, or a place of another kind."""
    known = {
        (species, work.key)
        for species, profile in knowledge().profiles.items()
        for work in profile.work
        if not (work.requires.since or work.requires.fed_since or work.requires.stands)
    }
    seen = {(one.species, one.rule) for sky, today in SKIES for one in full_bench(sky, today)[0].items}
    assert known - seen == set()


def test_what_decides_first_stands_first() -> None:
    order = list(DECIDING)
    for first, then in (
        ("concern", "cold"),
        ("cold", "follows"),
        ("looked_well", "follows"),
        ("hold", "interval"),
    ):
        assert order.index(first) < order.index(then)
