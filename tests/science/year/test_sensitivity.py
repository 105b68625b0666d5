"""Every argument of every equation matters somewhere: a changed one changes the answer."""

from __future__ import annotations

import inspect
from dataclasses import fields, replace
from datetime import date
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from calendar_core.science.year import daylight, degree_days, learning, members, stages

if TYPE_CHECKING:
    from collections.abc import Callable
    from types import ModuleType

T = np.linspace(-5.0, 25.0, 120)
L = np.linspace(9.0, 15.0, 120)
DAYS, OTHER_DAYS = {"t_min": T - 6.0, "t_max": T + 6.0}, {"t_min": T - 5.0, "t_max": T + 7.0}
HEAT = np.cumsum(np.maximum(0.0, T))[None, :]
HIT = (T > 10)[None, :]
WARMER_RATES = replace(stages.RATES, base_c=5.0, gate_h=12.0, chill_mid_c=6.0, chill_gain=2.0)

# A working call of each function, and for each argument a value that must make a difference.
CALLS: dict[Callable[..., Any], tuple[dict[str, Any], dict[str, Any]]] = {
    daylight.day_length_h: (
        {"latitude": 40.0, "day_of_year": np.array([80])},
        {"latitude": 50.0, "day_of_year": np.array([90])},
    ),
    daylight.sun_times: (
        {"latitude": 40.0, "longitude": 175.0, "day": date(2024, 5, 1), "zone": ZoneInfo("Pacific/Auckland")},
        {
            "latitude": 41.0,
            "longitude": 176.0,
            "day": date(2024, 5, 2),
            "zone": ZoneInfo("America/Los_Angeles"),
        },
    ),
    daylight.solar_noon: (
        {"longitude": 175.0, "day": date(2024, 5, 1), "zone": ZoneInfo("Pacific/Auckland")},
        {"longitude": 176.0, "day": date(2024, 5, 2), "zone": ZoneInfo("America/Los_Angeles")},
    ),
    degree_days.degree_days: ({"t_mean_c": T, "base_c": 5.0}, {"t_mean_c": T + 1.0, "base_c": 6.0}),
    degree_days.average: ({**DAYS, "lower": 5.0}, {**OTHER_DAYS, "lower": 6.0}),
    degree_days.modified: (
        {**DAYS, "lower": 5.0, "upper": 20.0},
        {**OTHER_DAYS, "lower": 6.0, "upper": 19.0},
    ),
    **{
        method: (
            {**DAYS, "lower": 5.0, "upper": 20.0},
            {**OTHER_DAYS, "lower": 6.0, "upper": 19.0, "cutoff": "vertical"},
        )
        for method in (degree_days.triangle, degree_days.sine)
    },
    **{
        method: (
            {**DAYS, "t_min_next": T - 5.0, "lower": 5.0, "upper": 20.0},
            {**OTHER_DAYS, "t_min_next": T - 4.0, "lower": 6.0, "upper": 19.0, "cutoff": "vertical"},
        )
        for method in (degree_days.double_triangle, degree_days.double_sine)
    },
    degree_days.next_day: ({"t_min": T}, {"t_min": T + 1.0}),
    stages.gate: ({"day_length_h": L}, {"day_length_h": L + 0.1, "rates": WARMER_RATES}),
    stages.forcing: (
        {"t_mean_c": T, "day_length_h": L},
        {"t_mean_c": T + 1.0, "day_length_h": L + 0.1, "rates": WARMER_RATES},
    ),
    stages.chill: ({"t_mean_c": T}, {"t_mean_c": T + 1.0, "rates": WARMER_RATES}),
    stages.softened_heat: (
        {"heat_sum": HEAT, "chill_sum": np.array(20.0)},
        {"heat_sum": HEAT + 1.0, "chill_sum": np.array(30.0), "rates": WARMER_RATES},
    ),
    stages.crossing: (
        {"heat": HEAT, "need": np.array([[100.0]])},
        {"heat": 2.0 * HEAT, "need": np.array([[120.0]])},
    ),
    stages.sum_at: (
        {"heat": HEAT, "labels": np.array([[60.5]])},
        {"heat": 2.0 * HEAT, "labels": np.array([[61.5]])},
    ),
    stages.has_winter: (
        {"chill_sum": np.array([20.0]), "day_length_h": L},
        {"chill_sum": np.array([10.0]), "day_length_h": L * 0.0 + 12.0},
    ),
    stages.first_day: ({"hit": HIT, "start": 0, "stop": 120}, {"hit": ~HIT, "start": 80, "stop": 30}),
    stages.last_day: ({"hit": HIT, "start": 0, "stop": 120}, {"hit": ~HIT, "start": 120, "stop": 80}),
    stages.falls_below: (
        {"curve": -T, "level": -10.0, "start": 0, "stop": 120},
        {"curve": -T - 1.0, "level": -12.0, "start": 100, "stop": 20},
    ),
    stages.rises_above: (
        {"curve": T, "level": 10.0, "start": 0, "stop": 120},
        {"curve": T + 1.0, "level": 12.0, "start": 100, "stop": 20},
    ),
    stages.centred_mean: ({"values": T, "days": 5}, {"values": T + 1.0, "days": 6}),
    stages.trailing_mean: ({"values": T, "days": 5}, {"values": T + 1.0, "days": 6}),
    learning.learn: (
        {"prior_mean": 4.77, "prior_sd": 0.45, "seen": [4.9], "sigma": 0.19},
        {"prior_mean": 4.6, "prior_sd": 0.6, "seen": [5.0], "sigma": 0.3},
    ),
    members.normal_strata: ({"count": 5}, {"count": 6}),
    members.shuffled_strata: (
        {"n_traces": 3, "count": 9, "salt": 1},
        {"n_traces": 4, "count": 8, "salt": 2},
    ),
    members.strata_above: (
        {"lower": np.array([0.0]), "count": 5},
        {"lower": np.array([0.5]), "count": 6},
    ),
    members.picked_above: ({"lower": np.array([[0.0, 1.0, 2.0]])}, {"lower": np.array([[2.0, 1.0, 0.0]])}),
}

MODULES = (daylight, degree_days, learning, members, stages)


def public_functions(module: ModuleType) -> list[Callable[..., Any]]:
    return [
        thing
        for name, thing in vars(module).items()
        if inspect.isfunction(inspect.unwrap(thing))
        and thing.__module__ == module.__name__
        and not name.startswith("_")
    ]


def same(one: Any, other: Any) -> bool:
    if isinstance(one, tuple):
        return all(same(a, b) for a, b in zip(one, other, strict=True))
    if isinstance(one, np.ndarray):
        return bool(np.array_equal(one, other))
    return bool(one == other)


def test_no_equation_is_forgotten() -> None:
    functions = {function for module in MODULES for function in public_functions(module)}
    assert functions == set(CALLS)


@pytest.mark.parametrize("function", CALLS, ids=lambda function: function.__name__)
def test_every_argument_matters(function: Callable[..., Any]) -> None:
    call, changes = CALLS[function]
    assert set(changes) == set(inspect.signature(function).parameters)
    answer = function(**call)
    assert same(answer, function(**call))
    for name, value in changes.items():
        assert not same(answer, function(**{**call, name: value})), name


@pytest.mark.parametrize("field", [field.name for field in fields(stages.Rates)])
def test_every_rate_matters(field: str) -> None:
    changed = replace(stages.RATES, **{field: 1.1 * getattr(stages.RATES, field)})
    heats = []
    for rates in (stages.RATES, changed):
        chill_sum = np.cumsum(stages.chill(T, rates))
        heats.append(stages.softened_heat(np.cumsum(stages.forcing(T, L, rates)), chill_sum, rates))
    assert not np.allclose(heats[0][-1], heats[1][-1], rtol=1e-6)
