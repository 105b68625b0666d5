"""Windows: chance, ranges and halves against a count of members one by one."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from calendar_core.planning.items import Reason
from calendar_core.planning.seasons.cycle import Fact
from calendar_core.planning.seasons.members import QUANTILES, quantiles
from calendar_core.planning.works.anchors import Limit
from calendar_core.planning.works.windows import Variant, Window, summarise
from tests.planning.made_up import work_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

N_TRACES, N_GROUPS, N_DRAWS = 4, 2, 3
TODAY, END = 100, 300
MEMBERS = (N_TRACES, N_GROUPS, N_DRAWS)

# Halves of days are exact in any float; some stages never come.
moments = st.one_of(st.integers(100, 600).map(lambda n: n / 2), st.just(math.inf))
shapes = st.sampled_from((MEMBERS, (N_TRACES, 1, 1), (1, 1, 1), (N_TRACES, 1, N_DRAWS)))
labels = shapes.flatmap(lambda shape: arrays(np.float64, shape, elements=moments))
variants = st.lists(
    st.builds(
        Variant,
        st.integers(0, N_GROUPS - 1),
        st.one_of(st.just(-math.inf), st.integers(40, 320).map(float)),
        st.sampled_from(("whole", "first", "second")),
    ),
    min_size=1,
    max_size=4,
)


def made(opens: Floats, closings: Sequence[Floats]) -> Window:
    limits = [Limit(one, Reason("stage"), Fact(one)) for one in closings]
    return Window(work_of(by_size=True), Limit(opens, Reason("stage"), Fact(opens)), limits)


def one_by_one(
    opens: Floats, closings: Sequence[Floats], variant: Variant
) -> tuple[float, list[float], list[float]]:
    """Chance, openings and closings of a variant, member by member."""
    wide = [np.broadcast_to(one, MEMBERS)[:, variant.group, :].ravel() for one in (opens, *closings)]
    has, still = [], 0
    for opening, *ends in zip(*wide, strict=True):
        closing = min(END, *ends)
        middle = (opening + closing) / 2
        start = max(middle if variant.half == "second" else opening, variant.not_before)
        stop = middle if variant.half == "first" else closing
        if start < stop:
            has.append((start, stop))
            still += stop > TODAY - 1
    return still / len(wide[0]), [start for start, _ in has], [stop for _, stop in has]


@given(labels, st.lists(labels, min_size=1, max_size=3), variants)
@settings(max_examples=60, deadline=None)
def test_chance_and_ranges_are_those_of_the_members(
    opens: Floats, closings: list[Floats], variants_: list[Variant]
) -> None:
    found = summarise(made(opens, closings), variants_, today=TODAY, end=END)
    for v, variant in enumerate(variants_):
        chance, starts, stops = one_by_one(opens, closings, variant)
        assert found.chance[v] == pytest.approx(chance)
        for q, share in enumerate(QUANTILES):
            # The member nearest to the share: no date that no member has.
            for got, members in ((found.opens, starts), (found.closes, stops)):
                place = np.clip(np.rint(share * (len(members) + 1) - 1), 0, len(members) - 1)
                expected = sorted(members)[int(place)] if members else math.inf
                assert got[q, v] == pytest.approx(expected)


def test_quantiles_of_a_known_set() -> None:
    days = np.arange(101.0)[None, None, :]
    assert quantiles(days, np.ones_like(days, bool)).ravel().tolist() == [9.0, 50.0, 91.0]
    assert quantiles(days, days >= 50).ravel().tolist() == [54.0, 75.0, 96.0]


def one(opens: float, *closes: float) -> Window:
    return made(np.full((1, 1, 1), opens), [np.full((1, 1, 1), end) for end in closes])


def summary(window: Window, variant: Variant | None = None, today: int = TODAY) -> tuple[float, float, float]:
    found = summarise(window, [variant or Variant(0)], today=today, end=END)
    return float(found.chance[0]), float(found.opens[1, 0]), float(found.closes[1, 0])


def test_large_trees_take_the_first_half_and_small_ones_the_second() -> None:
    assert summary(one(150, 180)) == (1.0, 150, 180)
    assert summary(one(150, 180), Variant(0, half="first")) == (1.0, 150, 165)
    assert summary(one(150, 180), Variant(0, half="second")) == (1.0, 165, 180)


def test_a_hold_moves_the_opening_and_may_use_the_window_up() -> None:
    assert summary(one(150, 180), Variant(0, not_before=170.0)) == (1.0, 170, 180)
    assert summary(one(150, 180), Variant(0, not_before=140.0)) == (1.0, 150, 180)
    assert summary(one(150, 180), Variant(0, not_before=180.0))[0] == 0.0


def test_a_window_lasts_through_its_last_day() -> None:
    # Closing with label 180 is on day 180: still there today, gone tomorrow.
    assert summary(one(150, 180), today=180)[0] == 1.0
    assert summary(one(150, 180), today=181)[0] == 0.0
    assert summary(one(150, 179.5), today=180)[0] == 1.0


def test_what_never_closes_ends_with_the_winter() -> None:
    assert summary(one(150, math.inf)) == (1.0, 150, END)
    assert summary(one(math.inf, math.inf))[0] == 0.0


def test_the_limit_that_binds_most_often_is_named() -> None:
    often = np.array([160.0, 160.0, 160.0, 190.0])[:, None, None]
    rare = np.full((1, 1, 1), 170.0)
    window = made(np.full((1, 1, 1), 150.0), [rare, often])
    assert summarise(window, [Variant(0), Variant(1)], today=TODAY, end=END).binding.tolist() == [1, 1]
    assert summarise(
        made(window.opens.labels, [often]), [Variant(0)], today=TODAY, end=END
    ).binding.tolist() == [0]


def test_groups_bind_by_limits_of_their_own() -> None:
    own = np.array([160.0, 190.0])[None, :, None]
    window = made(np.full((1, 1, 1), 150.0), [np.full((1, 1, 1), 170.0), own])
    found = summarise(window, [Variant(0), Variant(1)], today=TODAY, end=END)
    assert found.binding.tolist() == [1, 0]
    assert found.closes[1].tolist() == [160.0, 170.0]
