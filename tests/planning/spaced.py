"""What a tree bears: of a bench under its own weather, and of one made-up tree in still air of 15 degC."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any
from uuid import uuid5

from calendar_core.garden.cycle import Calendar, calendar_of
from calendar_core.garden.model import MonthDay
from calendar_core.garden.state import Done, TreeState, Wish, states
from calendar_core.knowledge.forms.spacing import SpacingRules
from calendar_core.planning.load.spacing import Spacing
from calendar_core.planning.planner import air_over, axis_of
from calendar_core.planning.seasons.axis import axis_for
from tests.planning.made_up import ROOT, air_of, knowledge, profile_of

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from tests.planning.made_up import Bench

BASED = {"basis": "estimate", "note": "made up"}
CALENDAR = Calendar(MonthDay(11, 1), south=False)
HEAT_A_DAY = 10.0  # of still air at 15 degC above a base of 5


def spacing_of(bench: Bench, label: str, today: date) -> Spacing:
    """Return what a tree of a bench bears by its log and the bundled rules."""
    tree = next(tree for tree in bench.trees if tree.label == label)
    garden, profile = bench.garden, knowledge().profiles[tree.species]
    sky = bench.sky_on(today, axis_of(garden, today))
    calendar = calendar_of(garden, profile)
    state = states([tree.id], bench.entries, today)[tree.id]
    air = air_over(garden, sky, knowledge(), today)
    middles = bench.plan(today).middles[tree.id]
    return Spacing(knowledge().spacing, knowledge().operations, profile, calendar, air, state, middles)


def rules_of(
    recovery: dict[str, float], apart: Sequence[dict[str, Any]] = (), budget: Sequence[int] = (0, 1, 3, 4, 5)
) -> SpacingRules:
    """Return made-up rules: heat by operation, pairs kept apart, budget by vigour."""
    return SpacingRules.model_validate(
        {
            "budget": {"by_vigour": budget, **BASED},
            "sitting_days": {"value": 14, **BASED},
            "heat": {"base_c": 5, **BASED},
            "foliage": [{"share_from": 0.5, "weight": 1, **BASED}],
            "recovery": {name: {"heat": heat, **BASED} for name, heat in recovery.items()},
            "apart": [{"why": "Made up.", **BASED, **pair} for pair in apart],
        }
    )


def still(
    rules: SpacingRules,
    *done: tuple[str, date],
    vigour: int = 3,
    wishes: Sequence[Wish] = (),
    work: Sequence[dict[str, Any]] = (),
) -> Spacing:
    """Return what a made-up tree bears in still air: 10 degC d a day."""
    times = [Done(operation, on, uuid5(ROOT, f"{operation} {on}")) for operation, on in done]
    state = TreeState(vigour=vigour, done=times, wishes=list(wishes))
    profile = profile_of({}, work)
    air = air_of(axis_for(45.0, (2015, 2016)), 15.0)
    return Spacing(rules, knowledge().operations, profile, CALENDAR, air, state)
