"""The own thermometer and a service: own days stay, the service fills in at the own level."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.weather.combine import NO_DIFFERENCE, SHARED_ENOUGH_D, combined, difference
from calendar_core.weather.daily import DailySeries

START = date(2019, 1, 1)
EMPTY = DailySeries(START, np.empty(0), np.empty(0))


def days(n: int, low_c: float, *, start: date = START) -> DailySeries:
    return DailySeries(start, np.full(n, low_c), np.full(n, low_c + 8.0))


def test_the_level_is_the_mean_difference_of_the_shared_days() -> None:
    own, service = days(40, 3.0, start=START + timedelta(days=60)), days(200, 5.0)
    level = difference(own, service)
    assert (level.t_min_c, level.t_max_c, level.days) == (-2.0, -2.0, 40)
    both = combined(own, service, level)
    assert both.t_min_c.tolist() == [3.0] * 200


def test_too_few_shared_days_say_nothing() -> None:
    level = difference(days(SHARED_ENOUGH_D - 1, 3.0), days(200, 5.0))
    assert (level.t_min_c, level.t_max_c) == (0.0, 0.0)


@pytest.mark.parametrize(("own", "service"), [(EMPTY, days(9, 5.0)), (days(9, 5.0), EMPTY)])
def test_one_of_them_alone_is_taken_as_it_is(own: DailySeries, service: DailySeries) -> None:
    assert difference(own, service) == NO_DIFFERENCE
    assert combined(own, service, NO_DIFFERENCE).t_min_c.tolist() == [5.0] * 9


@given(
    st.lists(st.one_of(st.none(), st.floats(-30, 30)), min_size=1, max_size=60),
    st.integers(-20, 20),
    st.floats(-5, 5),
)
def test_own_days_are_never_changed(values: list[float | None], shift: int, level_c: float) -> None:
    low = np.array([np.nan if v is None else v for v in values])
    own = DailySeries(START, low, low + 5)
    service = days(50, level_c, start=START + timedelta(days=shift))
    both = combined(own, service, difference(own, service)).window(own.start, own.end)
    known = own.measured
    assert np.array_equal(both.t_min_c[known], own.t_min_c[known])
    assert np.array_equal(both.t_max_c[known], own.t_max_c[known])
