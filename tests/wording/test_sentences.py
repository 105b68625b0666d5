"""Sentences of whole plans: none shows the inside of the program, in metric and in US units."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from functools import cache
from itertools import product
from typing import TYPE_CHECKING, Any
from uuid import UUID

import pytest

from calendar_core.garden.model import Spot
from calendar_core.knowledge.words import AIMS, SIZES
from calendar_core.planning.items import Range, Reason
from calendar_core.weather.traces import WeatherKnown
from calendar_core.wording.messages import REASONS, UNTOLD, WEATHER, WEATHER_SHORT
from calendar_core.wording.sentences import tree_list
from calendar_core.wording.style import Style
from tests.planning.made_up import (
    ROOT,
    Bench,
    bench_on_normals,
    knowledge,
)
from tests.wording.plain import TODAY, UNITS, is_plain, speaker

if TYPE_CHECKING:
    from collections.abc import Iterator

    from calendar_core.garden.model import Units
    from calendar_core.planning.items import Plan


@cache
def crowded() -> Plan:
    """Every species in every aim, size and strength, with a log, so that most reasons turn up."""
    bench = bench_on_normals("Nagano")
    for species, aim in product(knowledge().profiles, AIMS):
        for number, size in enumerate(SIZES):
            bench.tree(f"{species} {aim} {size}", species, aim=aim, size=size, vigour=(2, 4, 5)[number])
    labels = [tree.label for tree in bench.trees]
    _busy(bench, labels)
    return bench.plan(TODAY)


def _busy(bench: Bench, labels: list[str]) -> None:
    bench.did(date(2015, 4, 2), "repot", *labels[::3])
    bench.did(date(2011, 4, 2), "repot", *labels[1::4])
    bench.did(date(2014, 4, 2), "repot", *labels[2::4])
    bench.did(date(2014, 6, 20), "full defoliation", *labels[::5])
    bench.did(date(2015, 5, 3), "feeding", *labels[::2])
    bench.did(date(2015, 4, 25), "wire", *labels[::7])
    for operation in ("full defoliation", "structural prune", "decandling"):
        bench.write(TODAY, "wish", *labels[::2], operation=operation, cycle=None)
    plan = bench.plan(TODAY)
    for number, item in enumerate(plan.items[:40]):
        label = next(tree.label for tree in bench.trees if tree.id == item.tree_id)
        answer = {"answer": "put off", "until": "2015-06-05"} if number % 2 else {"answer": "not this cycle"}
        bench.write(TODAY, "answer", label, item=str(item.id), **answer)


BENCH, CLOTH, FRAME, SHED, HOUSE = (UUID(int=number) for number in range(1, 6))
SPOTS = (
    Spot(BENCH, ROOT, "bench"),
    Spot(CLOTH, ROOT, "under the cloth", cloth_percent=40),
    Spot(FRAME, ROOT, "frame", profile="cold frame"),
    Spot(SHED, ROOT, "shed", profile="frost-free"),
    Spot(HOUSE, ROOT, "house", profile="heated"),
)


def housed(place: str, *spots: UUID) -> Bench:
    """A garden that has some of the spots."""
    bench = bench_on_normals(place)
    bench.spots |= {spot.id: spot for spot in SPOTS if spot.id in spots}
    return bench


@cache
def moving() -> tuple[Plan, ...]:
    """Plans of trees that are carried in and out, shaded, thinned, repotted and looked after through a year."""
    bench = housed("Nagano", BENCH, CLOTH, FRAME, SHED, HOUSE)
    for label in ("in the frame", "thinned", "repotted", "shaded"):
        bench.tree(label, "acer-palmatum", vigour=4, spot=str(BENCH))
    bench.tree("under the cloth", "acer-palmatum", spot=str(CLOTH))
    bench.tree("pine", "pinus-thunbergii", spot=str(BENCH))
    bench.tree("fig", "ficus-microcarpa", spot=str(BENCH))
    bench.write(date(2014, 11, 10), "state", "in the frame", "pine", spot=str(FRAME))
    bench.write(date(2014, 10, 10), "state", "fig", spot=str(HOUSE))
    bench.did(date(2014, 11, 20), "winter check", "in the frame")
    bench.did(date(2015, 3, 25), "repot", "repotted")
    bench.write(date(2015, 5, 15), "state", "fig", spot=str(BENCH))
    bench.did(date(2015, 5, 25), "shade on", "shaded")
    bench.did(date(2015, 6, 20), "partial defoliation", "thinned")
    warm = housed("Nagano", BENCH, HOUSE)
    warm.tree("maple", "acer-palmatum", spot=str(BENCH))
    shut = housed("Nagano", HOUSE)
    shut.tree("fig", "ficus-microcarpa", spot=str(HOUSE))
    cool = housed("Sapporo", BENCH, FRAME)
    cool.tree("maple", "acer-palmatum", spot=str(BENCH))
    cool.did(date(2015, 6, 25), "partial defoliation", "maple")
    days = [(2015, 1, 10), (2015, 3, 28), (2015, 4, 5), (2015, 5, 17), (2015, 6, 25), (2015, 8, 20)]
    return (
        *(bench.plan(date(*day)) for day in days),
        warm.plan(date(2015, 10, 1)),
        shut.plan(date(2015, 6, 1)),
        cool.plan(date(2015, 6, 28)),
    )


@cache
def told() -> frozenset[Reason]:
    plans = (crowded(), *moving())
    of_items = {reason for plan in plans for item in plan.items for reason in item.reasons}
    of_absent = {reason for plan in plans for one in plan.not_planned for reason in one.reasons}
    return frozenset(reason for reason in of_items | of_absent if reason.code not in UNTOLD)


DAY = date(2015, 5, 1)
OF_PARTS = (
    Reason("decided", subject="unwire", found=DAY),
    Reason("concern", found=DAY),
    Reason("counted", found=2.0, needed=DAY),
    Reason("closes_by", subject="2016-06-01", found=date(2016, 5, 1), needed=date(2016, 9, 1)),
    Reason("closed_by_now", found=DAY),
    Reason("closes_in_years", found=2.5, needed=4.0),
    Reason("usually_closes_by", subject="2016-06-01", found=date(2016, 5, 1), needed=date(2016, 9, 1)),
    Reason("usually_closed_by_now", found=DAY),
    Reason("closes_before_opening", found=DAY, needed=date(2015, 5, 20)),
    Reason("usually_closes_in_years", found=2.5, needed=4.0),
    Reason("graft_ratio", found=1.2, needed=1.15),
    Reason("graft_ready"),
    Reason("graft_waits", found=2016.0),
    Reason("graft_waits", found=DAY),
    Reason("grows_free", found="New leader"),
    Reason("held", subject="branch", found=DAY, needed=4.0),
    Reason("kept_backup", found="Low left"),
    Reason("leader_ratio", found=0.4, needed=0.5),
    Reason("look_later", found=DAY),
    Reason("look_unknown"),
    Reason("looked", subject="look at the wire", found=DAY),
    Reason("looked_well", found=DAY),
    Reason("measured", subject="width", found=12.0, needed=DAY, unit="mm"),
    Reason("rivals", subject="low left, low right"),
    Reason("rivals", subject="2nd left, low right"),
    Reason("watched", subject="dieback", found=DAY),
)
"""One of each that is said of parts alone; the busy garden has none."""
OF_PLACES = (
    Reason("cold_room", subject="heated", found="porch"),
    Reason("no_rest"),
    Reason("heat_ahead", found=DAY, needed=35.0, unit="degC"),
    Reason("heat_outlasts", found=DAY),
    Reason("cakes_changed", found=DAY),
    Reason("work_ahead", subject="repot", found=DAY, needed=4.0, unit="wk"),
    Reason("woken"),
    Reason("always_hot", needed=30.0, unit="degC"),
    Reason("fresh_roots_forecast", found=DAY, needed=-2.8, unit="degC"),
    Reason("few_years", found=2),
    Reason("cold_forecast", found=DAY, needed=-4.0, unit="degC"),
    Reason("held_by_heat", needed=38.0, unit="degC"),
    Reason("put_off", found=DAY),
    Reason("shaded"),
    Reason("hot_forecast", found=DAY, needed=30.0, unit="degC"),
    Reason("kills", found=DAY, needed=-10.0, unit="degC"),
    Reason("nights_over", found=DAY, needed=10.0, unit="degC"),
    Reason("season_short", found=20, needed=3.0, unit="degC"),
)
"""One of each that is said where a forecast is known, or of other climates than Nagano's."""
OF_REVIEWS = (
    Reason("round_opens", "growth_stop", DAY),
    Reason("round_around", "cool_rest", DAY),
    Reason("round_closes_frost", found=DAY, needed=6.0, unit="wk"),
    Reason("round_closes_colour", found=DAY),
    Reason("round_closes_buds", found=DAY, needed=6.0, unit="wk"),
    Reason("round_yearly", found=DAY),
    Reason("look_concern", "look at the wire", DAY),
    Reason("look_weak", found=2),
    Reason("look_parts", needed=3, unit="part"),
    Reason("look_heavy", "repot", DAY),
    Reason("look_heavy_open", "repot", DAY),
    Reason("look_first"),
    Reason("look_long_ago", found=DAY),
    Reason("spared_weak", found=2, needed=3.0),
    Reason("spared_recovers"),
)
"""One of each that is said of the walks of a review."""


@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize("reason", [*OF_PARTS, *OF_PLACES, *OF_REVIEWS], ids=lambda reason: reason.code)
def test_what_is_said_of_a_part_or_elsewhere_is_a_sentence(reason: Reason, units: Units) -> None:
    is_plain(speaker(units).reason(reason))


@pytest.mark.slow
def test_most_reasons_turn_up_in_the_plan_of_a_busy_garden() -> None:
    seen = {reason.code for reason in (*told(), *OF_PARTS, *OF_PLACES, *OF_REVIEWS)}
    of_spacing = {"apart_cycle", "apart_weeks", "makes_room", "not_recovered", "over_budget"}
    of_feeding = {code for code in REASONS if code.startswith("feeding_")}
    never_here = {
        *of_spacing,
        *of_feeding,
        "opens",
        "closes",
        "opens_calendar",
        "closes_calendar",
        "no_winter",
        "closes_safe_frost",
        "closes_safe_heat",
    }
    assert len(set(REASONS) - never_here - seen) <= 4, set(REASONS) - never_here - seen


@pytest.mark.slow
@pytest.mark.parametrize("units", UNITS)
def test_every_reason_of_a_busy_garden_is_a_sentence(units: Units) -> None:
    say = speaker(units)
    for reason in told():
        is_plain(say.reason(reason))


@pytest.mark.slow
@pytest.mark.parametrize("units", UNITS)
def test_what_numbers_rest_on_is_plain(units: Units) -> None:
    say = speaker(units)
    for reason in told():
        if text := say.basis(reason):
            assert not re.search(r"[{}]|None|degC", text), text


@pytest.mark.slow
@pytest.mark.parametrize("units", UNITS)
def test_windows_are_told_in_one_line(units: Units) -> None:
    for item in crowded().items:
        for text in (speaker(units).window(item), Style(units).text(item.how)):
            is_plain(text)


@pytest.mark.slow
def test_in_us_units_no_celsius_is_left_and_in_metric_no_fahrenheit() -> None:
    both = {units: [speaker(units).reason(reason) for reason in told()] for units in UNITS}
    assert not [text for text in both["us"] if "°C" in text]
    assert not [text for text in both["metric"] if "°F" in text]
    assert [text for text in both["us"] if "°F" in text]
    for caution in knowledge().cautions.values():
        assert "°C" not in Style("us").text(caution.text)
        assert "degC" not in Style("us").text(caution.text)


def shown_texts() -> Iterator[str]:
    """Texts of config/ that a grower reads: what to do, signs, cautions, and what numbers rest on."""
    for profile in knowledge().profiles.values():
        for work in profile.work:
            yield from (work.how, work.note or "", *(hold.note or "" for hold in work.holds))
        for stage in profile.stages.values():
            yield from (stage.sign, stage.note or "")
    yield from (caution.text for caution in knowledge().cautions.values())


def test_both_ends_of_a_range_of_temperatures_are_turned() -> None:
    number = r"[-+]?\d+(?:\.\d+)?"
    ranges = re.compile(rf"{number} (?:to|and|or) (?={number} degC)")
    left = [
        first[0]
        for text in shown_texts()
        for first in ranges.finditer(text)
        if first[0] in Style("us").text(text)
    ]
    assert left == []


def test_stage_and_operation_names_stand_in_plain_words() -> None:
    say = speaker()
    assert (
        say.reason(Reason("after_stage", "needles_emerging", DAY))
        == "Not before needles emerging (likely 1 May)."
    )
    done = Reason("same_cycle", subject="repot", found=date(2015, 3, 10))
    assert say.reason(done) == "Not in the same cycle as repot on 10 March."


@pytest.mark.parametrize(
    ("reason", "text"),
    [
        (
            Reason("planned_before", subject="repot", found=date(2015, 3, 20)),
            "Planned about 20 March already; then not again so soon.",
        ),
        (Reason("stands_open"), "It stands in the open already."),
        (Reason("stands_sheltered"), "It stands sheltered already."),
        (
            Reason("again", subject="feeding", found=date(2015, 5, 3), needed=2.0, unit="wk"),
            "Last done on 3 May; again after two weeks.",
        ),
        (Reason("never_stage", subject="active_growth"), "What opens it, active growth, does not come here."),
        (
            Reason("never_air_night_last_below", needed=10.0, unit="degC"),
            "What opens it, the last night below 10 °C, does not come here.",
        ),
    ],
    ids=lambda one: getattr(one, "code", ""),
)
def test_why_not_now_or_not_again(reason: Reason, text: str) -> None:
    assert speaker().reason(reason) == text
    is_plain(speaker("us").reason(reason))


# Ranges and what the weather rests on


@pytest.mark.slow
@pytest.mark.parametrize(
    ("today", "start"),
    [
        (date(2015, 1, 1), "Opens about 12 April"),
        (date(2015, 4, 14), "Likely open"),
        (date(2015, 6, 1), "Open since about 12 April"),
    ],
)
def test_an_opening_is_ahead_likely_behind_or_behind(today: date, start: str) -> None:
    spring = Range(date(2015, 4, 2), date(2015, 4, 12), date(2015, 4, 24))
    item = replace(crowded().items[0], opens=spring, closes=Range(*[date(2015, 7, 1)] * 3), reasons=())
    assert speaker(today=today).window(item).startswith(start)


def test_a_likely_date_has_its_range_unless_it_is_sure() -> None:
    say = speaker()
    spring = Range(date(2015, 4, 2), date(2015, 4, 12), date(2015, 4, 24))
    assert say.likely(spring) == "12 April (8 times in 10: 2 to 24 April)"
    assert say.likely(Range(*[date(2015, 4, 12)] * 3)) == "12 April"
    winter = Range(date(2015, 12, 20), date(2015, 12, 29), date(2016, 1, 9))
    assert say.likely(winter) == "29 December (8 times in 10: 20 December to 9 January 2016)"


@pytest.mark.parametrize("kind", WEATHER)
def test_what_ranges_rest_on(kind: Any) -> None:
    assert set(WEATHER) == set(WEATHER_SHORT)
    known = WeatherKnown(kind, 4, date(2015, 5, 9), "Nagano", 12.0)
    for text in (speaker().weather(known, 30), speaker().weather_short(known)):
        assert not re.search(r"[{}]|None", text), text


@pytest.mark.parametrize(
    ("labels", "most", "text"),
    [
        (["A"], 6, "A"),
        (["A", "B"], 6, "A and B"),
        (list("ABC"), 2, "A, B and 1 more"),
        (list("ABC"), 3, "A, B and C"),
    ],
)
def test_lists_of_trees(labels: list[str], most: int, text: str) -> None:
    assert tree_list(labels, most) == text


def test_one_of_a_kind_is_told_in_the_singular() -> None:
    def told(code: str, needed: float, unit: str) -> str:
        return speaker().reason(Reason(code, subject="wire", found=DAY, needed=needed, unit=unit))

    assert "; every year at this size" in told("interval", 1, "a")
    assert "; every three years at this size" in told("interval", 3, "a")
    assert told("hold", 1, "wk").startswith("Waits one week after")
    assert told("again", 2, "wk").endswith("again after two weeks.")
    assert "one year of rest" in told("rests", 1, "a")
