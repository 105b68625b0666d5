"""The year of a species at a place: whole, past windows too, and as a plan has what still lies ahead."""

from __future__ import annotations

from datetime import date, timedelta
from functools import cache
from typing import TYPE_CHECKING
from uuid import uuid5

import pytest

from calendar_core.garden.model import Tree
from calendar_core.knowledge.forms.operations import is_feeding
from calendar_core.planning.items import Range
from calendar_core.planning.places.operations import INTO, UP
from calendar_core.planning.planner import air_over, axis_of
from calendar_core.planning.works.species_year import species_year
from tests.planning.made_up import (
    ROOT,
    air_of,
    bench_on_normals,
    bench_on_series,
    invented_series,
    knowledge,
    profile_of,
)
from tests.planning.one_tree import MAPLE, PINE
from tests.planning.species_cases import places_at, weather_at, year_at
from tests.wording.plain import is_plain, speaker

if TYPE_CHECKING:
    from uuid import UUID

    from calendar_core.planning.items import Plan
    from calendar_core.planning.works.species_year import SpeciesYear, WorkYear

pytestmark = pytest.mark.slow

PLACES = ("Nagano", "Melbourne")  # half a year apart


# By hand, in air of ten degrees


def still_year(today: date) -> SpeciesYear:
    """A tree that flowers once 300 degree-days have come since New Year: on 30 January, in the thirtieth day."""
    garden, sky, _ = weather_at("Nagano")
    stages = {
        "flowering": {"warmth": {"start": "01-01", "base_c": 0, "sum": 295, "spread": 1e-6}},
        "fruit": {"warmth": {"start": "01-01", "base_c": 20, "sum": 1, "spread": 1e-6}},
    }
    works = [
        {"opens": {"stage": "flowering", "days": 10}, "closes": [{"stage": "flowering", "days": 20}]},
        {"operation": "unwire", "opens": {"stage": "fruit"}, "closes": [{"calendar": "10-01"}]},
        {"operation": "repot", "opens": {"calendar": "06-01"}, "closes": [{"calendar": "05-01"}]},
    ]
    profile = profile_of(stages, works, habit="broadleaf evergreen")
    return species_year(garden, sky, air_of(axis_of(garden, today), 10.0), profile, today)


def on(day: date) -> Range:
    return Range(day, day, day)


def on_day(day: date | None) -> Range | None:
    return None if day is None else on(day)


@pytest.mark.parametrize("today", [date(2015, 2, 15), date(2015, 5, 20), date(2015, 10, 20)])
def test_windows_are_shown_whole_whatever_the_day(today: date) -> None:
    year = still_year(today)
    assert year.cycle == 2015
    assert year.stages == {"flowering": on(date(2015, 1, 30)), "fruit": None}
    wire = year.works[0]
    assert (wire.opens, wire.closes, wire.chance) == (on(date(2015, 2, 9)), on(date(2015, 2, 19)), 1.0)


def test_reasons_tell_the_fact_and_its_date() -> None:
    wire, unwire, _ = still_year(date(2015, 5, 20)).works
    assert [(r.code, r.subject, r.found, r.days) for r in wire.reasons] == [
        ("opens_stage", "flowering", date(2015, 1, 30), 10.0),
        ("closes_stage", "flowering", date(2015, 1, 30), 20.0),
    ]
    assert [(r.code, r.found) for r in unwire.reasons] == [
        ("never_stage", None),
        ("closes_calendar", date(2015, 10, 1)),
    ]


def test_windows_that_do_not_come_have_no_dates() -> None:
    for one in still_year(date(2015, 5, 20)).works[1:]:
        assert (one.opens, one.closes, one.chance) == (None, None, 0.0)


# Bundled species


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("species", [MAPLE, PINE, "larix-kaempferi"])
def test_past_windows_are_shown_too(species: str, place: str) -> None:
    _, _, today = weather_at(place)
    year = year_at(place, species)
    past = [one for one in year.works if one.closes and one.closes.late < today and one.chance >= 0.5]
    assert "repot" in {one.work.key for one in past}
    assert len(past) >= 5
    # A plan has no more of them than the tenth of its members that has not closed yet.
    items = [item for item in plan_at(place).items if item.tree_id == tree_of(species)]
    planned = {(item.rule, item.cycle) for item in items if item.chance > 0.1}
    assert planned  # it has others
    assert not planned & {(one.work.key, year.cycle) for one in past}


def tree_of(species: str) -> UUID:
    return uuid5(ROOT, species)


@cache
def plan_at(place: str) -> Plan:
    """The plan of a garden with one tree of each species, of which nothing is written down."""
    bench = bench_on_normals(place)
    for species in knowledge().profiles:
        bench.trees.append(Tree(tree_of(species), bench.garden.id, species, species))
    return bench.plan(weather_at(place)[2])


def ahead(place: str, species: str) -> list[tuple[WorkYear, tuple[Range, Range, float]]]:
    """Works of the year that open after today, with what the plan says of them; what is held today opened before."""
    _, _, today = weather_at(place)
    year = year_at(place, species)
    works = {one.work.key: one for one in year.works}
    return [
        (works[item.rule], (item.opens, item.closes, item.chance))
        for item in plan_at(place).items
        if item.tree_id == tree_of(species)
        and item.rule in works
        and item.cycle == year.cycle
        and item.opens.early > today
        and "feeding_bloom" not in {reason.code for reason in item.reasons}
    ]


def _same(year: WorkYear, item: tuple[Range, Range, float]) -> bool:
    """Tell whether a plan has a work as its year; fertilizing of one kind ends the day before that of another opens."""
    opens, closes, chance = item
    ends = closes == year.closes
    if is_feeding(year.work.operation, knowledge().operations) and year.closes is not None:
        ends |= year.closes.likely - closes.likely == timedelta(days=1)
    return ends and (opens, chance) == (year.opens, year.chance)


def test_a_plan_of_a_tree_without_a_log_says_the_same_of_what_lies_ahead() -> None:
    pairs = [pair for place in PLACES for species in knowledge().profiles for pair in ahead(place, species)]
    assert len(pairs) > 250
    others = [(one, item) for one, item in pairs if not _same(one, item)]
    # Members whose window has closed already count in the year and no longer in the plan: rare, for the others open
    # later, and then only ever less.
    assert len(others) <= 0.02 * len(pairs)
    for one, (_, _, chance) in others:
        print(one.work.key, one.chance, chance)
        assert isinstance(chance, float)
        assert 0.0 < one.chance - chance < 0.05


@pytest.mark.parametrize("place", PLACES)
def test_moves_ahead_are_those_of_a_plan(place: str) -> None:
    """Of a tree that stands in the open, whether or not the garden has a place for it."""
    _, _, today = weather_at(place)
    moves = {
        (row.operation, species): row for species in knowledge().profiles for row in places_at(place, species)
    }
    found = [
        (item, moves[item.operation, item.species])
        for item in plan_at(place).items
        if (item.operation, item.species) in moves and item.opens.likely > today
    ]
    assert len(found) >= {"Nagano": 40, "Melbourne": 8}[place]
    for item, row in found:
        assert (item.opens, item.closes) == (on_day(row.opens), on_day(row.by)), item
    # And nothing else comes within the year.
    planned = {(item.operation, item.species) for item in plan_at(place).items}
    told = {key for key, row in moves.items() if row.by is not None and key[0] in (INTO, UP)}
    assert told == {key for key in planned if key[0] in (INTO, UP)}


@pytest.mark.parametrize("place", PLACES)
def test_stages_are_those_of_a_plan(place: str) -> None:
    for species in knowledge().profiles:
        year = year_at(place, species)
        dates = plan_at(place).stages[tree_of(species)]
        assert {one.stage: one.range for one in dates if one.cycle == year.cycle} == dict(year.stages)


@pytest.mark.parametrize("place", ["Sapporo", "Nagano", "Miyazaki", "Melbourne"])
def test_every_window_has_a_sentence_for_its_opening_and_its_closing(place: str) -> None:
    _, _, today = weather_at(place)
    say = speaker(today=today)
    for species in knowledge().profiles:
        for one in year_at(place, species).works:
            opening, *closing = (
                one.reasons
            )  # none for a closing that never comes: it goes on to the winter's end
            assert opening.code.startswith(("opens_", "never_")), opening
            assert all(reason.code.startswith("closes_") for reason in closing)
            assert {reason.basis for reason in one.reasons} == {one.work.basis}
            for reason in one.reasons:
                is_plain(say.reason(reason))
            if one.chance == 0.0:
                assert one.opens is one.closes is None
            else:
                assert one.opens is not None
                assert one.closes is not None
                assert one.opens.early <= one.opens.likely <= one.opens.late
                assert one.closes.early <= one.closes.likely <= one.closes.late


def test_what_never_opens_says_so() -> None:
    """At 69 degrees north, where July has 12 degC: no heat for the growth of figs, no night warm enough."""
    today = date(2016, 5, 20)
    series = invented_series(date(1996, 1, 1), date(2016, 12, 31), mean_c=3.0, swing_c=9.0, half_range_c=3.0)
    bench = bench_on_series(series, 69.6, today)
    sky = bench.sky_on(today, axis_of(bench.garden, today))
    air = air_over(bench.garden, sky, knowledge(), today)
    never = [
        (one, one.reasons[0])
        for profile in knowledge().profiles.values()
        for one in species_year(bench.garden, sky, air, profile, today).works
        if one.reasons[0].code.startswith("never_")
    ]
    assert len(never) >= 40
    for one, reason in never:
        assert one.chance < 0.5
        assert reason.found is None
        assert speaker().reason(reason).startswith("What opens it, ")
