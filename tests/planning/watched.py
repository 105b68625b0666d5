"""A tree of which work and parts are followed: its log, its looks, and how they are answered; all invented."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid5

from calendar_core.garden.state import states
from calendar_core.planning.planner import air_over, axis_of
from calendar_core.planning.seasons.phases import Phases
from calendar_core.planning.seasons.species_stages import Grove, SpeciesStages
from tests.planning.made_up import ROOT, Bench, bench_on_normals, knowledge

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from calendar_core.garden.model import Entry, EntryKind
    from calendar_core.garden.state import TreeState
    from calendar_core.planning.items import Item, NotPlanned, Plan
    from calendar_core.planning.seasons.axis import Axis
    from calendar_core.planning.seasons.species_stages import Sky

IT = "it"


def maple(species: str = "acer-palmatum", place: str = "Nagano") -> Bench:
    """A garden of one tree with an empty log but for what it is."""
    bench = bench_on_normals(place)
    bench.tree(IT, species, aim="ramification", vigour=4)
    return bench


def warmer(bench: Bench, by_c: float) -> Bench:
    """Put a garden under days that are all warmer than its mean year."""
    usual = bench.sky_on

    def sky_on(day: date, axis: Axis) -> Sky:
        sky = usual(day, axis)
        low, high = sky.traces.t_min_c + by_c, sky.traces.t_max_c + by_c
        return replace(sky, traces=replace(sky.traces, t_min_c=low, t_max_c=high))

    return replace(bench, sky_on=sky_on)


def state_of(bench: Bench, today: date) -> TreeState:
    """What the log says of the tree."""
    (tree,) = bench.trees
    return states([tree.id], bench.entries, today)[tree.id]


def phases_of(bench: Bench, today: date) -> Phases:
    """The phases of the tree's years, as the plan of a day sees them."""
    (tree,) = bench.trees
    sky = bench.sky_on(today, axis_of(bench.garden, today))
    air = air_over(bench.garden, sky, knowledge(), today)
    grove = Grove(bench.garden, bench.spots, [tree], {tree.id: state_of(bench, today)})
    profile = knowledge().profiles[tree.species]
    stages = SpeciesStages(grove, sky, profile, today, air, [tree])
    return Phases(stages, 0, knowledge().growth.heat.base_c)


def told(bench: Bench, on: date, of: EntryKind, /, *parts: UUID, **data: Any) -> Entry:
    """Write an entry about the tree, or about parts of it."""
    made = replace(bench.write(on, of, IT), part_ids=parts, data=data)
    bench.entries[-1] = made
    return made


def part(bench: Bench, on: date, name: str, **data: Any) -> UUID:
    """Write a part down, or something more of it."""
    identity = uuid5(ROOT, name)
    told(bench, on, "part", identity, name=name, **data)
    return identity


def did(bench: Bench, on: date, operation: str, *parts: UUID, **data: Any) -> Entry:
    """Log work on the tree, or on parts of it."""
    return told(bench, on, "work", *parts, operation=operation, **data)


def look(bench: Bench, item: Item, on: date, *, well: bool = True, **values: float) -> Entry:
    """Answer a look."""
    of = item.follows
    assert of is not None
    more = {"values": values} if values else {}
    ids = () if of.part is None else (of.part,)
    went = "well" if well else "badly"
    return told(bench, on, "look", *ids, rule=of.rule, of=str(of.entry), went=went, **more)


def answer(bench: Bench, item: Item, on: date, **data: str) -> Entry:
    """Put an item off, or drop it."""
    return told(bench, on, "answer", item=str(item.id), **data)


def looks(plan: Plan, rule: str | None = None) -> list[Item]:
    """The looks of a plan, of one rule or of all."""
    return [item for item in plan.items if item.follows and rule in (None, item.follows.rule)]


def the_look(bench: Bench, today: date, rule: str) -> Item:
    """The one look of a rule on a day."""
    (found,) = looks(bench.plan(today), rule)
    return found


def closed(plan: Plan, rule: str) -> list[NotPlanned]:
    """What is told of looks of a rule that are not planned."""
    return [one for one in plan.not_planned if one.rule.startswith(f"{rule}#")]


def why(found: Sequence[NotPlanned]) -> list[str]:
    """The codes of their reasons."""
    return [reason.code for one in found for reason in one.reasons]
