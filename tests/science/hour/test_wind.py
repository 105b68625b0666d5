"""Wind at the bench against FAO-56 example 14."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.science.hour.wind import wind_at
from tests.oracles.tables import facts


def test_from_the_mast_to_two_metres() -> None:
    case = facts("evaporation.toml")["mast"]
    assert float(wind_at(case["wind_10m_ms"], 2.0)) == pytest.approx(case["wind_2m_ms"], abs=0.05)
    assert float(wind_at(1.0, 2.0)) == pytest.approx(
        4.87 / 6.510, abs=1e-3
    )  # FAO-56 table 2.9: 0.748 at 10 m


@given(st.floats(0.5, 10.0), st.floats(0.5, 10.0), st.floats(0.0, 1.0))
def test_higher_is_windier_and_hedges_calm(low: float, high: float, shelter: float) -> None:
    low, high = sorted((low, high))
    assert 0.0 < wind_at(3.0, low) <= wind_at(3.0, high) <= 3.0
    assert float(wind_at(3.0, low, shelter)) == pytest.approx(shelter * float(wind_at(3.0, low)))


def test_a_mast_of_the_bench_s_height_is_the_bench() -> None:
    assert float(wind_at(2.5, 2.0, mast_m=2.0)) == pytest.approx(2.5)


def test_the_ground_itself_is_not_asked_for() -> None:
    assert wind_at(3.0, 0.0) == wind_at(3.0, 0.5)
