"""The next last and first frosts, by hand on made-up years."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from calendar_core.planning.seasons.air import Air
from calendar_core.planning.seasons.axis import axis_for
from calendar_core.planning.seasons.frost_dates import frost_dates

AXIS = axis_for(45.0, (2015, 2016))
SOUTH = axis_for(-38.0, (2015,))


def air_with(frosts: list[list[date]], axis: object = AXIS) -> Air:
    """Air of 10 degC nights, and below zero on the given days of each trace."""
    assert axis in (AXIS, SOUTH)
    here = AXIS if axis is AXIS else SOUTH
    nights = np.full((len(frosts), here.n_days), 10.0)
    for row, days in zip(nights, frosts, strict=True):
        for day in days:
            row[here.index(day)] = -1.0
    return Air(here, nights, nights + 10, np.full(here.n_days, 15.0), 0.0)


def test_the_next_frosts_are_told_with_their_spread() -> None:
    years = [[date(2015, 4, n), date(2015, 4, 2), date(2015, 10, n + 5)] for n in range(3, 14)]
    found = frost_dates(air_with(years), date(2015, 3, 1))
    assert found["last_spring_frost"] is not None
    assert found["first_autumn_frost"] is not None
    spring, autumn = found["last_spring_frost"].dates, found["first_autumn_frost"].dates
    assert (spring.early, spring.likely, spring.late) == (
        date(2015, 4, 3),
        date(2015, 4, 8),
        date(2015, 4, 13),
    )
    assert autumn.likely == date(2015, 10, 13)


def test_a_frost_that_is_over_gives_way_to_the_next_year_s() -> None:
    years = [[date(2015, 4, 8), date(2016, 4, 20)]] * 3
    spring = frost_dates(air_with(years), date(2015, 5, 1))["last_spring_frost"]
    assert spring is not None
    assert (spring.dates.likely, spring.chance) == (date(2016, 4, 20), 1.0)


def test_a_spring_s_frost_is_told_until_a_later_one_is_unlikely() -> None:
    # Counted by hand: of fifty years ten have frost on 24 April or later, two on 2 May.
    years = [[date(2015, 4, 5), date(2016, 4, 6)] for _ in range(40)]
    years += [[date(2015, 4, 24), date(2016, 4, 6)] for _ in range(8)] + [[date(2015, 5, 2)]] * 2
    for today, usual, chance in (
        (date(2015, 4, 1), date(2015, 4, 5), 1.0),
        (date(2015, 4, 20), date(2015, 4, 5), 0.2),
        (date(2015, 4, 25), date(2016, 4, 6), 48 / 50),  # two in fifty are fewer than one in twenty
    ):
        found = frost_dates(air_with(years), today)["last_spring_frost"]
        assert found is not None
        assert found.dates.likely == usual
        assert found.chance == pytest.approx(chance)


def test_where_most_years_have_none_there_is_no_date() -> None:
    years = [[date(2015, 4, 8)], [], [], []]
    assert frost_dates(air_with(years), date(2015, 3, 1))["last_spring_frost"] is None


@pytest.mark.parametrize(
    ("day", "name"),
    [(date(2015, 9, 10), "last_spring_frost"), (date(2016, 5, 30), "first_autumn_frost")],
)
def test_in_the_south_they_lie_half_a_year_later(day: date, name: str) -> None:
    found = frost_dates(air_with([[day]] * 3, SOUTH), date(2015, 8, 1))[name]
    assert found is not None
    assert found.dates.likely == day
