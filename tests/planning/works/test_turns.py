"""Turns of repotting: years that come out even, against every way to wait that there is."""

from __future__ import annotations

from itertools import product

from hypothesis import given
from hypothesis import strategies as st

from calendar_core.planning.works.turns import moved_on

Years = st.integers(1, 4).flatmap(
    lambda n: st.lists(st.tuples(st.integers(0, 5), st.integers(0, 5)), min_size=n, max_size=n)
)


def squares(load: list[int], moved: tuple[int, ...]) -> int:
    """Return the sum of squares of the years' pots once so many of each wait for the next."""
    return sum(
        (pots - wait + came) ** 2 for pots, wait, came in zip(load, moved, (0, *moved[:-1]), strict=True)
    )


@given(Years)
def test_no_way_to_wait_makes_years_more_even(years: list[tuple[int, int]]) -> None:
    load, may = [pots for pots, _ in years] + [0], [min(pots, can) for pots, can in years] + [0]
    found = tuple(moved_on(load, may))
    assert all(0 <= wait <= can for wait, can in zip(found, may, strict=True))
    ways = product(*[range(can + 1) for can in may])
    assert squares(load, found) == min(squares(load, way) for way in ways)
