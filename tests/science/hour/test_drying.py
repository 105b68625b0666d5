"""How long a pot lasts: worked cases, and what must hold of any pot."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from calendar_core.science.hour.drying import crown_m2, demand_l, hours_left
from tests.oracles.tables import facts

if TYPE_CHECKING:
    from numpy.typing import NDArray

demands = arrays(np.float64, (2, 12), elements=st.floats(0.0, 0.5))


@pytest.mark.parametrize("case", facts("evaporation.toml")["pot"])
def test_hot_days(case: dict[str, Any]) -> None:
    hourly = np.full(40, 0.75 * 6.3 / 9.0)
    demand = demand_l(hourly, 1.0, crown_m2(case["crown_m"]))
    assert float(hours_left(demand, case["water_l"])) == pytest.approx(case["hours"], abs=0.1)


@given(demands, st.floats(0.0, 6.0))
def test_the_water_is_just_used_then(demand: NDArray[np.float64], water: float) -> None:
    for row, hours in zip(demand, hours_left(demand, water), strict=True):
        if np.isinf(hours):
            assert row.sum() < water
        else:
            used = np.interp(hours, np.arange(13.0), np.concatenate([[0.0], row.cumsum()]))
            assert used == pytest.approx(water, abs=1e-9)


@given(demands, st.floats(0.0, 6.0), st.floats(0.0, 2.0))
def test_more_water_lasts_longer(demand: NDArray[np.float64], water: float, more: float) -> None:
    assert np.all(hours_left(demand, water + more) >= hours_left(demand, water))


def test_an_empty_pot_has_no_hours_and_trees_differ() -> None:
    demand = np.full((3, 5), 0.1)
    assert hours_left(demand, np.array([0.0, 0.25, 9.0])).tolist() == pytest.approx([0.0, 2.5, np.inf])
    assert hours_left(demand, -1.0).tolist() == [0.0] * 3
    assert hours_left(np.zeros(5), 0.0) == 0.0
