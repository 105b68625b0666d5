"""Getting used to light: a tree that comes out of a dim room in leaf stands in more of it by steps."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from itertools import islice
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.garden.thermal import DIM
from calendar_core.planning.items import Range, Reason
from calendar_core.planning.places.case import Draft
from calendar_core.planning.places.operations import LIGHT
from calendar_core.planning.seasons.foliage import foliage_on
from calendar_core.planning.waits import WEEK, overdue

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from calendar_core.garden.model import Spot
    from calendar_core.knowledge.forms.places import PlaceRules, StepRule
    from calendar_core.planning.places.case import Case, PlaceItems
    from calendar_core.planning.seasons.air import Air
    from calendar_core.planning.seasons.axis import Axis

IN_LEAF = ("new", "hard")  # foliage that the sun can burn
LASTS = 2  # times as long as all steps take: by then it is used to where it stands (estimate)


@dataclass(frozen=True, slots=True)
class Steps:
    """From which day maximum on days are too hot for a step, and the rules of all."""

    hot_c: float
    rules: PlaceRules


@dataclass(frozen=True, slots=True)
class LightStep:
    """A step on a day; ``held`` by heat.

    No step is sooner in cool weather: cool days may be bright, and of light nothing is known.
    """

    number: int
    step: StepRule
    day: date
    held: bool


def steps_into_light(
    came: date, made: Sequence[date], steps: Steps, axis: Axis, air: Air, today: date
) -> Iterator[LightStep]:
    """Yield the steps still to be made by a tree, given when it ``came`` out and the days on which steps were ``made``."""
    if today - came > LASTS * timedelta(days=sum(step.days for step in steps.rules.step)):
        return
    done = sorted(day for day in made if day >= came)
    base = done[-1] if done else came
    middle = np.median(air.t_max_c, axis=0)
    for number, step in list(enumerate(steps.rules.step))[len(done) :]:
        day, held = _day_of(step, base, middle, axis, steps)
        yield LightStep(number, step, day, held)
        base = max(day, today)  # what is late does not hurry what follows


def came_out(stays: Sequence[tuple[date, Spot]], dim_days: int) -> date | None:
    """Return the day on which a tree last came out of a dim room that it had stood in for long."""
    if len(stays) < 2 or stays[-1][1].profile != "open":
        return None
    (before, room), (came, _) = stays[-2:]
    return came if room.profile in DIM and (came - before).days >= dim_days else None


def _day_of(
    step: StepRule, base: date, middle: NDArray[np.float64], axis: Axis, steps: Steps
) -> tuple[date, bool]:
    """Return the day of a step after the one before, not before a hot spell is over."""
    ahead = middle[axis.index(base) + step.days :] > steps.hot_c
    cool = int((~ahead).argmax()) if (~ahead).any() else 0
    return base + timedelta(days=step.days + cool), cool > 0


def light_items(case: Case) -> Iterator[PlaceItems]:
    """Yield the steps into the sun of a tree that came out of a dim room in leaf, made and to be made."""
    ground, hot_c = case.ground, case.ground.profile.tolerance.shade_from_c.value
    came = came_out(case.stays, round(ground.rules.light.dim_days.value))
    leaves = foliage_on(ground.today, case.stages, case.state, ground.profile, ground.knowledge.exposure)
    if came is None or leaves not in IN_LEAF:
        return
    index = ground.axis.index
    cycle, subject = ground.season(index(came)), f"{case.tree.id}|{came.isoformat()}"
    made = [done.on for done in case.state.done if done.operation == LIGHT and done.on >= came]
    for number, day in enumerate(made):
        yield case.close(LIGHT, cycle, number, Reason("done", subject=LIGHT, found=day))
    steps = steps_into_light(
        came, made, Steps(hot_c, ground.rules), ground.axis, ground.chances.air, ground.today
    )
    for next_step in islice(steps, 1):  # the next hangs on when this one is made
        step, day = next_step.step, next_step.day
        reasons = [Reason("came_out", found=came, basis=step.basis, source=step.source or "")]
        reasons += [Reason("held_by_heat", needed=hot_c, unit="degC")] if next_step.held else []
        opens = index(day)
        late = opens if overdue(Range(day, day, day), ground.today, WEEK) else None
        yield from case.item(
            Draft(
                LIGHT, cycle, opens, opens + WEEK, tuple(reasons), step.how, (), next_step.number, late,
                subject=subject,
            )
        )  # fmt: skip
