"""Degree-days against printed tables, against integration over the day, and what must hold of any weather."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any, get_args

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from calendar_core.science.year.degree_days import (
    Cutoff,
    average,
    degree_days,
    double_sine,
    double_triangle,
    modified,
    next_day,
    sine,
    triangle,
)
from tests.oracles.tables import facts, rows

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

FACTS = facts("degree-days.toml")
CUTOFFS: tuple[Cutoff, ...] = get_args(Cutoff)
SINGLE, DOUBLE = (triangle, sine), (double_triangle, double_sine)
LOWER_F, UPPER_F = 55.0, 90.0
MISPRINT = ("double_triangle", 60.0, 100.0, 75.0)
ROUNDED = 0.0051  # half of the last printed place; 12.125 may be printed as 12.12 or 12.13
CLOSE = 1e-9

NOON = (np.arange(100_000) + 0.5) / 100_000  # parts of a day, from one minimum to the next
COURSES: dict[Callable[..., Floats], Floats] = {  # from -1, the minimum, to 1, the maximum
    triangle: 1 - 4 * np.abs(NOON - 0.5),
    sine: -np.cos(2 * np.pi * NOON),
}


def zalom() -> dict[str, Floats]:
    table = rows("degree-days-zalom-table-7.csv")
    return {name: np.array([float(row[name]) for row in table]) for name in table[0]}


def integrated(course: Floats, t_min: float, t_max: float, lower: float, upper: float, cutoff: str) -> float:
    """Return the mean rate over a finely divided day, from the definitions of the cut-offs alone."""
    t = (t_min + t_max) / 2 + (t_max - t_min) / 2 * course
    rising = np.clip(t, lower, upper) - lower
    above = {
        "horizontal": rising,
        "intermediate": rising - np.maximum(0.0, t - upper),
        "vertical": np.where(t > upper, 0.0, rising),
    }
    return max(0.0, float(above[cutoff].mean()))


@pytest.mark.parametrize("method", [*SINGLE, *DOUBLE], ids=lambda method: method.__name__)
def test_zalom_table_7(method: Callable[..., Floats]) -> None:
    table, name = zalom(), method.__name__
    days = [table[key] for key in ("t_min", "t_max", "t_min_next")[: 3 if method in DOUBLE else 2]]
    found, printed = method(*days, LOWER_F, UPPER_F), table[name]
    misprinted = np.array([(name, *day) == MISPRINT for day in zip(*days, strict=True)])
    assert misprinted.sum() == (name == MISPRINT[0])
    assert found[~misprinted] == pytest.approx(printed[~misprinted], abs=ROUNDED)
    assert found[misprinted] == pytest.approx(27.12, abs=ROUNDED)
    assert np.all(np.abs(found - printed)[misprinted] > 2)


@pytest.mark.parametrize("cutoff", ["intermediate", "vertical"])
def test_sine_cut_off_on_the_days_of_zalom_table_7(cutoff: Cutoff) -> None:
    table = zalom()
    found = sine(table["t_min"], table["t_max"], LOWER_F, UPPER_F, cutoff)
    assert found == pytest.approx(table[f"sine_{cutoff}"], abs=ROUNDED)
    days = zip(table["t_min"], table["t_max"], strict=True)
    expected = [integrated(COURSES[sine], *day, LOWER_F, UPPER_F, cutoff) for day in days]
    assert found == pytest.approx(expected, abs=1e-3)


@pytest.mark.parametrize("method", [average, modified], ids=lambda method: method.__name__)
def test_both_interpretations_of_mcmaster_and_wilhelm(method: Callable[..., Floats]) -> None:
    table = FACTS["interpretations"]
    found = method(np.array(table["t_min"]), np.array(table["t_max"]), table["lower"])
    assert found.tolist() == table[method.__name__]


@pytest.mark.parametrize("example", FACTS["printed"], ids=lambda example: example["source"][:20])
def test_printed_examples_of_extension_services(example: dict[str, Any]) -> None:
    # Left out: Met Eireann's daily sums (http://www.met.ie/climate/data03.asp), an approximation of its own.
    day = np.array([example["t_min"]]), np.array([example["t_max"]])
    if "average" in example:
        assert average(*day, example["lower"]).tolist() == [example["average"]]
    else:
        found = modified(*day, example["lower"], example["upper"])
        assert found.tolist() == [example["modified"]]


def test_spot_values_in_celsius() -> None:
    spots = FACTS["spots"]
    lower, upper = spots["lower"], spots["upper"]
    t_min, t_max, *expected = np.array(spots["rows"], dtype=float).T
    found = [
        average(t_min, t_max, lower),
        *(method(t_min, t_max, lower, upper) for method in (modified, triangle, sine)),
    ]
    assert np.array(found) == pytest.approx(np.array(expected), abs=5.1e-5)
    assert sine(np.array(0.0), np.array(10.0), 5.0, 30.0) == pytest.approx(5 / np.pi, rel=1e-12)


def test_a_hot_day_in_celsius() -> None:
    spot = FACTS["hot_spot"]
    day, lower, upper = (np.array(spot["t_min"]), np.array(spot["t_max"])), spot["lower"], spot["upper"]
    for found in (average(*day, lower), *(method(*day, lower, upper) for method in (modified, *SINGLE))):
        assert found == pytest.approx(spot["horizontal"])
    for cutoff in ("intermediate", "vertical"):
        assert sine(*day, lower, upper, cutoff) == pytest.approx(spot[f"sine_{cutoff}"], abs=5.1e-5)


def test_only_what_is_above_the_base_counts() -> None:
    # From the definition. Summing whole temperatures of days above the base gives 27, no floor at all gives 0.
    days = np.array([3.0, 12.0, 15.0])
    assert degree_days(days, 10.0).tolist() == [0.0, 2.0, 5.0]
    assert degree_days(days, 10.0).sum() == 7.0
    for method in (average, modified, *SINGLE):
        assert method(days - 0.5, days + 0.5, 10.0).tolist() == [0.0, 2.0, 5.0]


# Between -40 and 60 degrees, to the tenth, as thermometers are read: half a tenth is no day without range.
temperatures = st.integers(-400, 600).map(lambda tenths: tenths / 10)
days = st.tuples(temperatures, temperatures).map(lambda pair: (np.array(min(pair)), np.array(max(pair))))
thresholds = (
    st.tuples(temperatures, temperatures)
    .filter(lambda pair: pair[0] != pair[1])
    .map(lambda pair: (min(pair), max(pair)))
)
singles = st.sampled_from(SINGLE)
cutoffs = st.sampled_from(CUTOFFS)


@given(days, thresholds, singles, cutoffs)
def test_the_formulas_are_the_integral_over_the_day(
    day: tuple[Floats, Floats], limits: tuple[float, float], method: Callable[..., Floats], cutoff: Cutoff
) -> None:
    expected = integrated(COURSES[method], float(day[0]), float(day[1]), *limits, cutoff)
    # The steepest error of the sum: one step of time in which a vertical cut-off is taken too late, each way.
    assert method(*day, *limits, cutoff) == pytest.approx(expected, abs=4e-5 * (limits[1] - limits[0]) + 1e-6)


@given(days, temperatures, thresholds, cutoffs)
def test_never_negative_and_never_above_the_full_rate(
    day: tuple[Floats, Floats], t_min_next: float, limits: tuple[float, float], cutoff: Cutoff
) -> None:
    found = [
        modified(*day, *limits),
        *(method(*day, *limits, cutoff) for method in SINGLE),
        *(method(*day, np.array(t_min_next), *limits, cutoff) for method in DOUBLE),
    ]
    assert min(found) >= 0
    assert max(found) <= limits[1] - limits[0] + CLOSE
    assert average(*day, limits[0]) >= 0


@given(days, thresholds, st.sampled_from((modified, *SINGLE)), st.floats(0, 9), st.floats(0, 9))
def test_warmer_extremes_never_give_less_with_a_horizontal_cut_off(
    day: tuple[Floats, Floats],
    limits: tuple[float, float],
    method: Callable[..., Floats],
    more: float,
    most: float,
) -> None:
    assume(day[0] + more <= day[1] + most)
    assert method(day[0] + more, day[1] + most, *limits) >= method(*day, *limits) - CLOSE
    assert average(day[0] + more, day[1] + most, limits[0]) >= average(*day, limits[0])


@given(days, thresholds, singles)
def test_cut_offs_in_order(
    day: tuple[Floats, Floats], limits: tuple[float, float], method: Callable[..., Floats]
) -> None:
    horizontal, intermediate, vertical = (method(*day, *limits, cutoff) for cutoff in CUTOFFS)
    assert horizontal >= intermediate - CLOSE
    assert horizontal >= vertical - CLOSE
    if day[1] <= 2 * limits[1] - limits[0]:  # as far above the upper threshold as the lower is below it
        assert intermediate >= vertical - CLOSE


def test_in_great_heat_an_intermediate_cut_off_can_take_more_than_a_vertical_one() -> None:
    # The rate goes on falling below 0 within the day, and only the day's sum is held at 0.
    day = np.array(10.0), np.array(50.0)
    assert sine(*day, 5.0, 15.0, "intermediate") == 0 < sine(*day, 5.0, 15.0, "vertical")


@given(days, st.floats(0, 20), st.floats(0.1, 20), cutoffs)
def test_all_methods_agree_on_a_day_between_the_thresholds(
    day: tuple[Floats, Floats], below: float, above: float, cutoff: Cutoff
) -> None:
    lower, upper = float(day[0]) - below, float(day[1]) + above
    expected = (float(day[0]) + float(day[1])) / 2 - lower
    found = [
        average(*day, lower),
        modified(*day, lower, upper),
        *(method(*day, lower, upper, cutoff) for method in SINGLE),
        *(method(*day, day[0], lower, upper, cutoff) for method in DOUBLE),
    ]
    assert found == pytest.approx([expected] * 6, abs=CLOSE)


@given(days, thresholds, singles, cutoffs, st.integers(-50, 50))
def test_all_moved_together_or_told_in_fahrenheit_is_the_same_heat(
    day: tuple[Floats, Floats],
    limits: tuple[float, float],
    method: Callable[..., Floats],
    cutoff: Cutoff,
    move: int,
) -> None:
    # A day without range on the threshold itself stops or not by the last bit, so such days stay out; with
    # a range of a tenth and a vertical cut-off the last bit of the threshold weighs up to 5e-5.
    assume(day[1] > day[0])
    one = method(*day, *limits, cutoff)
    assert method(*(t + move for t in day), *(t + move for t in limits), cutoff) == pytest.approx(
        one, abs=1e-5
    )
    in_f = method(*(1.8 * t + 32 for t in day), *(1.8 * t + 32 for t in limits), cutoff)
    assert in_f == pytest.approx(9 / 5 * one, abs=2e-4)


@pytest.mark.parametrize("method", SINGLE)
def test_a_day_without_range(method: Callable[..., Floats]) -> None:
    steady = np.array([4.0, 5.0, 12.0, 30.0, 31.0, 60.0])
    expected = {
        "horizontal": [0, 0, 7, 25, 25, 25],
        "intermediate": [0, 0, 7, 25, 24, 0],
        "vertical": [0, 0, 7, 25, 0, 0],
    }
    for cutoff in CUTOFFS:
        assert method(steady, steady, 5.0, 30.0, cutoff).tolist() == expected[cutoff]


@pytest.mark.parametrize("cutoff", CUTOFFS)
def test_without_an_upper_threshold_the_cut_off_makes_no_difference(cutoff: Cutoff) -> None:
    day = np.array([-3.0]), np.array([45.0])
    for method in SINGLE:
        assert method(*day, 5.0, cutoff=cutoff) == pytest.approx(method(*day, 5.0, 45.0))


def test_a_series_halves_each_day_with_the_next_and_ends_with_a_single_one() -> None:
    t_min, t_max = (
        np.array([[2.0, 9.0, 4.0], [0.0, 1.0, 2.0]]),
        np.array([[8.0, 15.0, 21.0], [7.0, 8.0, 9.0]]),
    )
    for double, method in zip(DOUBLE, SINGLE, strict=True):
        found = double(t_min, t_max, next_day(t_min), 5.0)
        assert found[:, -1] == pytest.approx(method(t_min, t_max, 5.0)[:, -1])
        assert found[1, 0] == pytest.approx(
            (method(t_min, t_max, 5.0)[1, 0] + method(t_min[1, 1:2], t_max[1, :1], 5.0)[0]) / 2
        )
        # The night after the first day stayed at 9, above its 8: a half-day from 8 up to 9.
        assert found[0, 0] == pytest.approx((method(t_min, t_max, 5.0)[0, 0] + 3.5) / 2)


def test_a_missing_value_stays_missing() -> None:
    t_min, t_max = np.array([np.nan, 2.0, 2.0]), np.array([9.0, np.nan, 9.0])
    calls = [average(t_min, t_max, 5.0), modified(t_min, t_max, 5.0, 30.0)]
    for cutoff in CUTOFFS:
        calls += [method(t_min, t_max, 5.0, 30.0, cutoff) for method in SINGLE]
        calls += [
            method(np.full(3, 2.0), np.full(3, 9.0), np.array([np.nan, np.nan, 3.0]), 5.0, 30.0, cutoff)
            for method in DOUBLE
        ]
    for found in calls:
        assert np.isnan(found).tolist() == [True, True, False]


def test_what_cannot_be_is_refused_in_one_line() -> None:
    mixed_up = np.array([[1.0, 9.0]]), np.array([[2.0, 8.0]])
    methods: tuple[Callable[..., Floats], ...] = (
        average,
        modified,
        triangle,
        partial(double_sine, t_min_next=mixed_up[0]),
    )
    for method in methods:
        with pytest.raises(ValueError, match=r"^minimum 9.0 is above maximum 8.0 at index \(0, 1\)$"):
            method(*mixed_up, lower=5.0)
    day = np.array(1.0), np.array(2.0)
    for upper in (5.0, 4.0, np.nan):
        for method in (modified, *SINGLE):
            with pytest.raises(
                ValueError, match=f"^lower threshold 5.0 must be below upper cut-off {upper}$"
            ):
                method(*day, 5.0, upper)
    with pytest.raises(ValueError, match=r"^cut-off 'none': must be horizontal, intermediate or vertical$"):
        sine(*day, 5.0, 30.0, "none")  # type: ignore[arg-type]
