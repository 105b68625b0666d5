"""Steps into the sun after a dim room."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from calendar_core.planning.places.light import LightStep, Steps, came_out, steps_into_light
from tests.planning.made_up import air_of
from tests.planning.places.made_places import AXIS, FRAME, OPEN, ROOM, RULES, SHED

HOT_C = 30.0
OUT = date(2015, 5, 20)
STEPS = Steps(HOT_C, RULES)
USUAL_C, COOL_C, SCORCHING_C = HOT_C - 5, HOT_C - 15, HOT_C + 5  # maxima of days


def steps(
    max_c: float | list[float] = USUAL_C,
    *,
    room: object = ROOM,
    indoors: int = 200,
    made: tuple[date, ...] = (),
    after: int = 0,
    back: object = OPEN,
) -> list[LightStep]:
    """Return the steps of a tree that came out on a day, with the maxima of the days from then on."""
    mean = np.full(AXIS.n_days, USUAL_C - 5.0)
    days = np.broadcast_to(max_c, (30,)) if isinstance(max_c, float) else np.array(max_c)
    mean[AXIS.index(OUT) : AXIS.index(OUT) + len(days)] = days - 5.0
    stays = [(OUT - timedelta(days=indoors), room), (OUT, back)]
    today = OUT + timedelta(days=after)
    came = came_out(stays, round(RULES.light.dim_days.value))  # type: ignore[arg-type]
    if came is None:
        return []
    return list(steps_into_light(came, made, STEPS, AXIS, air_of(AXIS, mean), today))


def after(found: list[LightStep]) -> list[int]:
    return [(one.day - OUT).days for one in found]


def test_shade_then_morning_sun_then_its_place() -> None:
    """Nebraska Extension: three to seven days in shade, then a week of morning sun, about fourteen days in all."""
    first, second = after(steps())
    assert 3 <= first <= 7
    assert second - first == 7
    assert second == 14


def test_cool_days_may_be_bright_and_shorten_no_step_and_hot_ones_hold_it() -> None:
    assert after(steps(COOL_C)) == after(steps())
    spell = [USUAL_C] * 4 + [SCORCHING_C] * 6 + [USUAL_C] * 20
    held = steps(spell)[0]
    assert held.held
    assert (held.day - OUT).days == 10


def test_a_step_is_counted_from_the_one_that_was_made() -> None:
    made = OUT + timedelta(days=9)
    (left,) = steps(made=(made,), after=10)
    assert (left.number, left.day) == (1, made + timedelta(days=7))
    assert steps(made=(made, made + timedelta(days=8)), after=18) == []
    # What was done in an earlier year counts for nothing.
    assert after(steps(made=(OUT - timedelta(days=365),))) == after(steps())


@pytest.mark.parametrize(
    "case",
    [
        {"room": FRAME},  # a frame is light
        {"indoors": 7},  # too short to forget the sun
        {"back": SHED},  # still inside
        {"after": 61},  # long past
    ],
)
def test_no_step_where_none_is_needed(case: dict[str, object]) -> None:
    assert steps(**case) == []  # type: ignore[arg-type]


def test_a_frost_free_room_is_dim_as_well() -> None:
    assert after(steps(room=SHED)) == after(steps())
