"""The way back into the sun, held against the light dose that the hazard of sunburn itself counts."""

from __future__ import annotations

from uuid import UUID

from hypothesis import given
from hypothesis import strategies as st

from alerts.shelter.back import way_back
from tests.alerts.hazards.gardens import RULES

LIGHT = RULES.light
HOME, SHADE = UUID(int=1), UUID(int=2)


@st.composite
def gardens(draw: st.DrawFn) -> dict[UUID, float]:
    home = draw(st.floats(10.0, 65.0))
    others = draw(st.lists(st.floats(1.0, 65.0), max_size=4))
    light = {UUID(int=3 + n): mol for n, mol in enumerate(others)}
    return {HOME: home, SHADE: draw(st.floats(1.0, home)), **light}


@given(gardens(), st.integers(1, 60))
def test_it_ends_at_home_and_only_gets_brighter(light: dict[UUID, float], days: int) -> None:
    steps = way_back(HOME, SHADE, days, light, LIGHT)
    if steps:
        assert steps[-1][1] == HOME
        mols = [light[SHADE], *(light[spot] for _, spot in steps)]
        assert mols == sorted(mols)
        assert [day for day, _ in steps] == sorted({day for day, _ in steps})
        assert max(light[spot] for _, spot in steps) <= light[HOME]


@given(gardens(), st.integers(1, 60))
def test_each_step_is_borne_or_has_waited_as_long_as_leaves_take_to_get_used_to_it(
    light: dict[UUID, float], days: int
) -> None:
    span = round(LIGHT.used_to_days.value)
    stood = [light[HOME]] * span + [light[SHADE]] * days
    steps = dict(way_back(HOME, SHADE, days, light, LIGHT)) or {0: HOME}
    at, since = SHADE, 0
    for day in range(max(steps) + 1):
        if day in steps:
            used_to = sum(stood[-span:]) / span
            extra = light[steps[day]] / used_to - 1.0
            waited = day - since >= span
            assert extra <= LIGHT.extra.caution + 1e-9 or light[steps[day]] <= LIGHT.from_mol.value or waited
            at, since = steps[day], day
        stood.append(light[at])


def test_a_few_days_of_shade_need_no_steps_and_weeks_of_it_do() -> None:
    light = {HOME: 50.0, SHADE: 25.0}
    assert way_back(HOME, SHADE, 4, light, LIGHT) == ()
    assert way_back(HOME, SHADE, 14, light, LIGHT) == ((10, HOME),)
