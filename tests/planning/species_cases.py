"""Reads the years of tests/situations/species and tells where a species' year differs from what they expect."""

from __future__ import annotations

import tomllib
from datetime import date
from functools import cache
from itertools import pairwise
from typing import TYPE_CHECKING, Annotated

from pydantic import BaseModel, ConfigDict, Field

from calendar_core.planning.places.usual import PlaceYear, places_year, wakes_on
from calendar_core.planning.planner import air_over, axis_of, chances_over
from calendar_core.planning.works.species_year import SpeciesYear, species_year
from tests.planning.made_up import bench_on_normals, knowledge
from tests.planning.situations import FOLDER

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from calendar_core.garden.model import Garden
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.planning.seasons.species_stages import Sky

SPECIES = FOLDER / "species"
TODAY = {False: date(2015, 5, 20), True: date(2015, 11, 20)}  # late spring of the cycle 2015, north and south
Days = Annotated[tuple[date, date], Field()]


class Table(BaseModel):
    """A table in which an unknown key is a fault."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class PlaceTable(Table):
    """A bundled place, and between which days the likely dates of stages and windows lie there."""

    name: str
    stages: dict[str, Days] = {}
    opens: dict[str, Days] = {}
    closes: dict[str, Days] = {}
    not_here: tuple[str, ...] = ()  # works whose window hardly comes here


class Case(Table):
    """A whole file.

    ``order`` are moments that follow one another at every place: a stage, or a work with "opens" or "closes".
    ``never`` are operations that the profile rules out, ``not_offered`` such as it has no window for.
    """

    title: str
    species: str
    source: str = ""
    order: Annotated[tuple[str, ...], Field(min_length=3)]
    never: tuple[str, ...] = ()
    not_offered: tuple[str, ...] = ()
    place: Annotated[tuple[PlaceTable, ...], Field(min_length=3)]


def read_case(path: Path) -> Case:
    """Return the case of a file."""
    return Case.model_validate(tomllib.loads(path.read_text(encoding="utf-8")))


@cache
def weather_at(place: str) -> tuple[Garden, Sky, date]:
    """Return a bundled place with its weather on a day of late spring."""
    bench = bench_on_normals(place)
    today = TODAY[bench.garden.latitude < 0]
    return bench.garden, bench.sky_on(today, axis_of(bench.garden, today)), today


def year_at(place: str, species: str, known: Knowledge | None = None) -> SpeciesYear:
    """Return the cycle 2015 of a species, one of those ``known``, at a bundled place."""
    known = known or knowledge()
    garden, sky, today = weather_at(place)
    air = air_over(garden, sky, known, today)
    return species_year(garden, sky, air, known.profiles[species], today)


def places_at(place: str, species: str, known: Knowledge | None = None) -> tuple[PlaceYear, ...]:
    """Return when a tree of a species is usually moved and shaded in its cycle 2015 at a bundled place."""
    known = known or knowledge()
    garden, sky, today = weather_at(place)
    year, profile = year_at(place, species, known), known.profiles[species]
    chances = chances_over(air_over(garden, sky, known, today), sky, known, today)
    return places_year(profile, known, chances, wakes_on(profile, year.stages), year.cycle)


def moments(year: SpeciesYear, places: Sequence[PlaceYear] = ()) -> dict[str, date | None]:
    """Return the likely date of every stage and of both ends of every window, and of each move."""
    out = {name: None if found is None else found.likely for name, found in year.stages.items()}
    for one in year.works:
        likely = one.chance >= 0.5
        out[f"{one.work.key} opens"] = one.opens.likely if one.opens and likely else None
        out[f"{one.work.key} closes"] = one.closes.likely if one.closes and likely else None
    for move in places:
        out |= {f"{move.operation} opens": move.opens, f"{move.operation} closes": move.by}
    return out


def case_misses(case: Case, known: Knowledge | None = None) -> Iterator[str]:
    """Yield one line for each thing that is not as expected."""
    known = known or knowledge()
    profile = known.profiles[case.species]
    offered = {work.operation for work in profile.work}
    for operation in case.never:
        if operation not in profile.never:
            yield f"{operation} is not ruled out"
    for operation in (*case.never, *case.not_offered):
        if operation in offered:
            yield f"{operation} is offered"
    for place in case.place:
        found = moments(year_at(place.name, case.species, known), places_at(place.name, case.species, known))
        for miss in (*_out_of_order(case, found), *_outside(place, found)):
            yield f"{place.name}: {miss}"


def _out_of_order(case: Case, found: dict[str, date | None]) -> Iterator[str]:
    days = [(name, found[name]) for name in case.order]
    for name, day in days:
        if day is None:
            yield f"{name} does not come"
    known = [(name, day) for name, day in days if day is not None]
    for (first, a), (second, b) in pairwise(known):
        if a > b:
            yield f"{first} ({a}) comes after {second} ({b})"


def _outside(place: PlaceTable, found: dict[str, date | None]) -> Iterator[str]:
    wanted = dict(place.stages)
    wanted |= {f"{work} opens": days for work, days in place.opens.items()}
    wanted |= {f"{work} closes": days for work, days in place.closes.items()}
    for name, (first, last) in wanted.items():
        day = found[name]
        if day is None or not first <= day <= last:
            yield f"{name} {day}, not {first} to {last}"
    for work in place.not_here:
        if found[f"{work} opens"] is not None:
            yield f"{work} opens {found[f'{work} opens']}, though it should not come here"
