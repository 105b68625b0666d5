"""The minimum of a frost night against FAO's frost book (tests/oracles/frost-night.toml)."""

from __future__ import annotations

import numpy as np
import pytest

from calendar_core.science.hour.frost_night import FrostNight, fit_frost_night
from tests.oracles.tables import facts

TABLE = facts("frost-night.toml")


def nights(count: int) -> FrostNight:
    return fit_frost_night(*(np.array(TABLE[name][:count]) for name in ("t_c", "dew_point_c", "t_min_c")))


def test_the_printed_nights() -> None:
    found = nights(10)
    assert found.slope_t == pytest.approx(TABLE["slope_t"], abs=5e-5)
    assert found.slope_dew == pytest.approx(TABLE["slope_dew"], abs=5e-5)
    assert found.intercept_c == pytest.approx(TABLE["intercept_c"], abs=1e-4)
    assert float(found.minimum_c(*TABLE["at"])) == pytest.approx(TABLE["minimum_c"], abs=1e-6)


def test_many_nights_at_once() -> None:
    found = nights(10).minimum_c(np.array([[10.0], [5.0]]), np.array([2.0, -4.0, -8.0]))
    assert found.shape == (2, 3)
    assert np.all(found[0] > found[1])
    assert np.all(np.diff(found, axis=1) < 0)  # drier air lets a night fall further


def test_two_nights_are_no_rule() -> None:
    with pytest.raises(ValueError, match="found 2 nights"):
        nights(2)
