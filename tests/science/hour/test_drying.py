"""What a tree takes from its pot: worked cases."""

from __future__ import annotations

from typing import Any

import pytest

from calendar_core.science.hour.drying import crown_m2, demand_l
from tests.oracles.tables import facts


@pytest.mark.parametrize("case", facts("evaporation.toml")["pot"])
def test_hot_days(case: dict[str, Any]) -> None:
    an_hour = float(demand_l(0.75 * 6.3 / 9.0, 1.0, crown_m2(case["crown_m"])))
    assert case["water_l"] / an_hour == pytest.approx(case["hours"], abs=0.1)
