"""The leader beside trunk and competitors: made-up diameters with known answers."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.science.tree.leader import leader_state

diameters = st.floats(0.5, 60.0)


def test_the_thicker_competitors_are_cut_back_thickest_first() -> None:
    state = leader_state(8.0, [7.0, 4.0, 10.0, 7.0], 16.0, share=0.8)
    assert state.ratio == 0.5
    assert state.shares == (0.875, 0.5, 1.25, 0.875)
    assert state.cut_back == (2, 0, 3)


def test_one_at_the_share_stays() -> None:
    assert leader_state(8.0, [6.0], 16.0, share=0.75).cut_back == ()


def test_without_trunk_or_competitors_nothing_is_made_up() -> None:
    state = leader_state(8.0, [], share=0.75)
    assert (state.ratio, state.shares, state.cut_back) == (None, (), ())


@pytest.mark.parametrize(
    ("leader", "others", "trunk"), [(0.0, [], None), (5.0, [-1.0], 9.0), (5.0, [], 0.0), (math.nan, [], None)]
)
def test_what_is_no_diameter_is_refused(leader: float, others: list[float], trunk: float | None) -> None:
    with pytest.raises(ValueError, match="above 0 mm"):
        leader_state(leader, others, trunk, share=0.75)


@given(diameters, st.lists(diameters, max_size=6), st.floats(0.3, 1.2), st.floats(1.0, 3.0))
def test_a_thicker_leader_has_no_more_rivals(
    leader: float, others: list[float], share: float, factor: float
) -> None:
    thin, thick = (leader_state(each, others, 60.0, share=share) for each in (leader, leader * factor))
    assert set(thick.cut_back) <= set(thin.cut_back)
    assert thick.ratio is not None
    assert thin.ratio is not None
    assert thick.ratio >= thin.ratio
    assert all(thin.shares[place] > share for place in thin.cut_back)
