"""What a tree feels where it stands, and after its moves."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from calendar_core.garden.thermal import THERMAL, felt
from calendar_core.knowledge.words import THERMAL_PROFILES

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from calendar_core.garden.thermal import History
    from calendar_core.knowledge.words import ThermalProfile

    Floats = NDArray[np.float64]

N_DAYS = 12
lows = arrays(np.float64, (2, N_DAYS), elements=st.floats(-30, 25))
histories = (
    st.lists(st.tuples(st.integers(-5, N_DAYS + 5), st.sampled_from(THERMAL_PROFILES)), max_size=5)
    .map(lambda moves: sorted(moves, key=lambda move: move[0]))
    .map(tuple)
)


def day_by_day(low: Floats, high: Floats, history: History) -> tuple[Floats, Floats]:
    """What is felt, by asking on each day where the tree stands."""
    out = low.copy(), high.copy()
    for day in range(N_DAYS):
        here = [profile for start, profile in history if start <= day]
        air = THERMAL[here[-1] if here else "open"]
        out[0][:, day] = np.maximum(low[:, day] + air.night_offset_c, air.floor_c)
        out[1][:, day] = np.maximum(high[:, day] + air.day_offset_c, air.floor_c)
    return out


@settings(max_examples=50, deadline=None)
@given(lows, histories)
def test_each_day_is_felt_where_the_tree_stands_that_day(low: Floats, history: History) -> None:
    kept = low.copy()
    for found, expected in zip(felt(low, low + 8, history), day_by_day(low, low + 8, history), strict=True):
        np.testing.assert_array_equal(found, expected)
    np.testing.assert_array_equal(low, kept)  # the open air itself is left as it is


@settings(max_examples=50, deadline=None)
@given(lows, histories)
def test_the_night_is_never_felt_warmer_than_the_day(low: Floats, history: History) -> None:
    night, day = felt(low, low + 8, history)
    assert (night <= day).all()


@pytest.mark.parametrize(
    ("profile", "lowest"),
    [
        (
            "cold frame",
            -4.0,
        ),  # winter storage at -4 to +4 degC: Michael Hagedorn, Spring frosts and cold, 2015
        ("frost-free", 0.0),
        ("heated", 10.0),  # nights for tropical plants: Nebraska Extension, 2023
    ],
)
def test_a_shelter_keeps_what_its_name_promises(profile: ThermalProfile, lowest: float) -> None:
    bitter = np.full((1, N_DAYS), -25.0)
    assert felt(bitter, bitter + 5, ((0, profile),))[0].min() >= lowest


def test_a_warm_day_is_not_held_down_by_a_shelter() -> None:
    warm = np.full((1, N_DAYS), 20.0)
    for profile in THERMAL_PROFILES:
        assert (felt(warm, warm + 8, ((0, profile),))[0] >= warm).all()
