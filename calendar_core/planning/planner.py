"""The planner: from garden, log, weather and knowledge to a plan. Pure; ``today`` is an argument."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.garden.cycle import calendar_of, cycles_at, is_south
from calendar_core.planning.aftercare.decisions import SpeciesDecisions
from calendar_core.planning.aftercare.follow_ups import SpeciesFollowUps
from calendar_core.planning.feeding.cakes import by_cakes
from calendar_core.planning.feeding.given import with_strengths
from calendar_core.planning.feeding.season import in_sequence
from calendar_core.planning.items import Plan, place_in_plan
from calendar_core.planning.load.recovery import borne
from calendar_core.planning.load.spacing import Spacing
from calendar_core.planning.places.chances import chances_of
from calendar_core.planning.places.rooms import room_of
from calendar_core.planning.places.species_places import SpeciesPlaces
from calendar_core.planning.seasons.air import Air
from calendar_core.planning.seasons.axis import axis_for
from calendar_core.planning.seasons.species_stages import SpeciesStages
from calendar_core.planning.works.heat_ahead import after_heat
from calendar_core.planning.works.heavy_jobs import in_turn, settle
from calendar_core.planning.works.species_works import SpeciesWorks

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date
    from uuid import UUID

    from calendar_core.garden.model import Garden, Tree
    from calendar_core.garden.thermal import History
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.planning.items import Item, Middles, NotPlanned, StageDate
    from calendar_core.planning.places.chances import Chances
    from calendar_core.planning.seasons.axis import Axis
    from calendar_core.planning.seasons.species_stages import Grove, Sky


def cycles_of(garden: Garden, today: date) -> tuple[int, int]:
    """Return the first and last cycle that any tree of the garden is planned in."""
    south = is_south(garden.latitude)
    cycles = [c for start in (garden.leaf_fall, garden.coldest) for c in cycles_at(today, start, south=south)]
    return min(cycles), max(cycles)


def axis_of(garden: Garden, today: date) -> Axis:
    """Return the axis a plan of this day runs on: the traces must cover it."""
    first, last = cycles_of(garden, today)
    return axis_for(garden.latitude, tuple(range(first, last + 1)))


def air_over(garden: Garden, sky: Sky, knowledge: Knowledge, today: date) -> Air:
    """Return the air over the axis of a plan of this day."""
    axis = axis_of(garden, today)
    frost_c = knowledge.hazards.frost["first_frost"].screen_min_c
    return Air(axis, sky.traces.t_min_c, sky.traces.t_max_c, sky.climate_c(axis), frost_c)


def chances_over(air: Air, sky: Sky, knowledge: Knowledge, today: date) -> Chances:
    """Return the chances that places pass lines of cold and heat, over the air of a plan."""
    rules, known = knowledge.places, sky.traces.known
    return chances_of(
        air,
        air.axis.index(today),
        known.forecast,
        knowledge.hazards,
        look_days=int(rules.look_days.value),
        smooth_days=int(rules.smooth_days.value),
        years=known.years if known.kind == "resampled" else None,
    )


def make_plan(grove: Grove, sky: Sky, knowledge: Knowledge, today: date) -> Plan:
    """Return the plan of a garden on a day.

    Items whose window is over, or opens more than fourteen months ahead, are left out. The traces in
    ``sky`` must start and end with `axis_of` and hold nothing measured after ``today``.
    """
    air = air_over(grove.garden, sky, knowledge, today)
    chances = chances_over(air, sky, knowledge, today)
    alike: dict[tuple[str, History], list[Tree]] = {}
    for tree in grove.trees:
        alike.setdefault((tree.species, room_of(tree, grove, knowledge, chances)), []).append(tree)
    items: list[Item] = []
    absent: list[NotPlanned] = []
    stages: dict[UUID, tuple[StageDate, ...]] = {}
    years: dict[UUID, int] = {}
    middles: dict[UUID, Middles] = {}
    for (species, room), trees in sorted(alike.items()):
        of_species = SpeciesStages(grove, sky, knowledge.profiles[species], today, air.in_room(room), trees)
        works = SpeciesWorks(species, of_species, knowledge)
        looks = SpeciesFollowUps(species, of_species, knowledge)
        decisions = SpeciesDecisions(
            species, of_species, knowledge, works.of_parts, works.middles, looks.items
        )
        places = SpeciesPlaces(species, of_species, knowledge, chances, works.items)
        one_by_one, over = in_turn(works.items, today)
        still_looks = (look for look in looks.items if look.id not in decisions.instead)
        items += (*one_by_one, *still_looks, *decisions.items, *places.items)
        absent += (*works.absent, *over, *looks.absent, *decisions.absent, *decisions.instead.values())
        absent += places.absent
        stages |= of_species.dates
        years |= works.years
        middles |= works.middles
    items, too_much = borne(items, _bears(grove, knowledge, air, middles), today)
    chosen, needless = settle(items, years, knowledge, grove.states)
    cooler, too_hot = after_heat(chosen, sky.traces, knowledge, today)
    fed, ended = in_sequence(by_cakes(cooler, knowledge, today), knowledge.operations, today)
    order = sorted(fed, key=place_in_plan)
    plan = Plan(
        today,
        tuple(order),
        (*absent, *too_much, *needless, *too_hot, *ended),
        stages,
        sky.traces.known,
        middles,
    )
    return with_strengths(plan, grove, sky, knowledge, air)


def _bears(
    grove: Grove, knowledge: Knowledge, air: Air, middles: Mapping[UUID, Middles]
) -> dict[UUID, Spacing]:
    """Return what each tree that was worked on bears."""
    return {
        tree.id: Spacing(
            knowledge.spacing, knowledge.operations, knowledge.profiles[tree.species],
            calendar_of(grove.garden, knowledge.profiles[tree.species]), air, grove.states[tree.id], middles[tree.id],
        )
        for tree in grove.trees
        if grove.states[tree.id].done
    }  # fmt: skip
