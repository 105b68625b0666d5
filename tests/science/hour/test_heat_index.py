"""The heat index against the National Weather Service (tests/oracles/heat-index.toml)."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.science.hour.heat_index import heat_index_c, heat_index_f
from tests.oracles.tables import facts

TABLE = facts("heat-index.toml")


def test_the_chart() -> None:
    for t_f, humidity, feels_f in TABLE["chart"]["rows"]:
        assert float(heat_index_f(t_f, humidity)) == pytest.approx(feels_f, abs=0.52), (t_f, humidity)


def test_the_chart_s_damp_cells_are_below_by_the_adjustment() -> None:
    for t_f, humidity, feels_f in TABLE["chart_without_adjustment"]["rows"]:
        adjustment = (humidity - 85) / 10 * (87 - t_f) / 5
        assert float(heat_index_f(t_f, humidity)) - adjustment == pytest.approx(feels_f, abs=0.6), (
            t_f,
            humidity,
        )


def test_the_equation() -> None:
    for t_f, humidity, feels_f in TABLE["equation"]["rows"]:
        assert float(heat_index_f(t_f, humidity)) == pytest.approx(feels_f, abs=0.006), (t_f, humidity)


def test_celsius() -> None:
    t_c, humidity, feels_c = np.array(TABLE["celsius"]["rows"]).T
    assert heat_index_c(t_c, humidity) == pytest.approx(feels_c, abs=1e-3)


@given(st.floats(27.0, 45.0), st.floats(40.0, 84.0), st.floats(0.5, 5.0))
def test_damp_heat_feels_hotter(t_c: float, humidity: float, more: float) -> None:
    # In the range of the regression, without its seams.
    assert heat_index_c(t_c + more, humidity) > heat_index_c(t_c, humidity)


def test_cool_air_has_one_too() -> None:
    assert heat_index_c(np.array([-5.0, 10.0, 20.0]), 50.0).tolist() == sorted(
        heat_index_c(np.array([-5.0, 10.0, 20.0]), 50.0).tolist()
    )
