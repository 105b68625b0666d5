"""How many days the windows move when a number is off by its doubt, worked out by hand in still air."""

from __future__ import annotations

import math
from datetime import date
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from calendar_core.knowledge.profiles.bundled import folder
from calendar_core.knowledge.profiles.kinds import with_lines
from calendar_core.knowledge.profiles.loading import PROFILE, merged_profiles, read_tables
from calendar_core.knowledge.profiles.numbers import Number, numbers, shares
from calendar_core.planning.planner import axis_of
from calendar_core.planning.sensitivity import Sensitivity
from calendar_core.wording.messages import BASES
from tests.planning.made_up import air_of, profile_of, wave
from tests.planning.species_cases import weather_at

if TYPE_CHECKING:
    from collections.abc import Mapping

    from calendar_core.knowledge.forms.species.profile import Profile
    from calendar_core.knowledge.profiles.numbers import Path
    from calendar_core.planning.seasons.air import Air
    from calendar_core.planning.sensitivity import Influence

PLACE = "Nagano"
GARDEN, SKY, TODAY = weather_at(PLACE)
AXIS = axis_of(GARDEN, TODAY)
TEN_DEGREES = air_of(AXIS, 10.0)
STAGES = {
    "flowering": {"warmth": {"start": "01-01", "base_c": 0, "sum": 300, "spread": 1e-6}},
    "bloom_over": {"after": {"stage": "flowering", "days": 20, "spread_days": 5}},
}
AFTER_BLOOM = {"opens": {"stage": "bloom_over", "days": 25}, "closes": [{"stage": "bloom_over", "days": 60}]}
IN_FLOWER = {
    "operation": "unwire",
    "opens": {"stage": "flowering", "days": 2},
    "closes": [{"stage": "flowering", "days": 9}],
}


def table_of(*works: Mapping[str, Any]) -> dict[str, Any]:
    """Plain table of a made-up profile; its works are common practice, and due each year if not said otherwise."""
    season = [{"due": "season", **work} for work in works]
    profile = profile_of(STAGES, season, habit="broadleaf evergreen")
    return profile.model_dump(mode="json", exclude_unset=True)


def valid(table: Mapping[str, Any]) -> Profile:
    profile: Profile = PROFILE.validate_python(with_lines(table))
    return profile


def number_at(table: Mapping[str, Any], *path: int | str) -> Number:
    return next(number for number in numbers(table) if number.path == path)


def influence(table: Mapping[str, Any], *path: int | str, air: Air = TEN_DEGREES) -> Influence:
    """What the doubt of the number at a place of the table does to the windows."""
    sensitivity = Sensitivity(GARDEN, SKY, air, TODAY, table, valid)
    (one,) = sensitivity.influences([number_at(table, *path)])
    return one


# Influence


def test_a_stage_moves_both_ends_of_what_hangs_on_it() -> None:
    # The days have a spread of five beside them, which is their doubt: opening and closing move by five each.
    table = table_of(AFTER_BLOOM, IN_FLOWER)
    one = influence(table, "stages", "bloom_over", "after", "days")
    assert one.number.doubt == 5.0
    assert one.days == pytest.approx(10.0, abs=1e-3)
    assert one.windows == 1


def test_a_stage_moves_all_that_hangs_on_it_through_others() -> None:
    # Common practice, so a fifth of 300: sixty degree-days are six days, at both ends of two windows.
    one = influence(table_of(AFTER_BLOOM, IN_FLOWER), "stages", "flowering", "warmth", "sum")
    assert one.days == pytest.approx(4 * 6.0, abs=1e-3)
    assert one.windows == 2


def test_days_of_an_opening_move_the_opening_alone() -> None:
    one = influence(table_of(AFTER_BLOOM), "work", 0, "opens", "days")
    assert one.number.doubt == 5.0  # a fifth of 25
    assert one.days == pytest.approx(5.0)
    assert one.windows == 1


def test_a_move_of_less_than_a_day_is_no_window_moved() -> None:
    one = influence(table_of(IN_FLOWER), "work", 0, "opens", "days")
    assert one.days == pytest.approx(0.4)  # a fifth of two days
    assert one.windows == 0


def test_a_number_without_a_doubt_moves_nothing() -> None:
    table = table_of(AFTER_BLOOM)
    for path in (
        ("stages", "bloom_over", "after", "spread_days"),
        ("stages", "flowering", "warmth", "spread"),
    ):
        one = influence(table, *path)
        assert (one.number.doubt, one.days, one.windows) == (0.0, 0.0, 0)


def test_wishes_do_not_count() -> None:
    table = table_of({**AFTER_BLOOM, "due": "wish"}, IN_FLOWER)
    assert influence(table, "work", 0, "opens", "days").days == 0.0
    assert influence(table, "stages", "bloom_over", "after", "days").days == 0.0
    assert influence(table, "stages", "flowering", "warmth", "sum").windows == 1


def test_a_number_that_cannot_be_changed_counts_as_none() -> None:
    # A vigour of 4, give or take 0.8, is no whole number.
    table = table_of({**AFTER_BLOOM, "requires": {"vigour_min": 4}})
    one = influence(table, "work", 0, "requires", "vigour_min")
    assert one.number.doubt == pytest.approx(0.8)
    assert (one.days, one.windows) == (0.0, 0)


def test_the_table_itself_is_not_changed() -> None:
    table, fresh = table_of(AFTER_BLOOM), table_of(AFTER_BLOOM)
    influence(table, "stages", "bloom_over", "after", "days")
    assert table == fresh


def test_a_line_of_tolerance_counts_through_the_works_that_use_it() -> None:
    table = table_of(IN_FLOWER, IN_FLOWER)
    above = {"measure": "day", "passes": "above"}
    table["tolerance"]["leaf_danger_c"]["value"] = 28
    first, last = (
        {"air": {**above, "which": which, "at_c": {"line": "leaf_danger_c", "shift_c": -2}}}
        for which in ("first", "last")
    )
    table["work"][1] |= {"operation": "wire", "opens": first, "closes": [last]}
    summer = air_of(AXIS, wave(AXIS.start, AXIS.n_days, mean_c=15.0, swing_c=12.0))
    year = slice(AXIS.index(date(2015, 1, 1)), AXIS.index(date(2016, 1, 1)))

    def ends(at_c: float) -> list[int]:
        days = np.flatnonzero(summer.t_max_c[0, year] > at_c)
        return [int(days[0]), int(days[-1])]

    def moved(doubt_c: float) -> float:
        gaps = [
            abs(a - b) for sign in (-1, 1) for a, b in zip(ends(26 + sign * doubt_c), ends(26), strict=True)
        ]
        return sum(gaps) / 2

    one = influence(table, "tolerance", "leaf_danger_c", "value", air=summer)
    assert one.number.doubt == 3.0  # degrees, of an estimate
    assert one.days == pytest.approx(moved(3.0))
    assert one.days > 10
    assert one.windows == 1
    shift = influence(table, "work", 1, "opens", "air", "at_c", "shift_c", air=summer)
    assert shift.number.doubt == 2.0  # degrees, of common practice
    # The opening alone: half of what both ends move, for the wave is the same up and down but for a day.
    assert shift.days == pytest.approx(moved(2.0) / 2, abs=1.0)
    assert influence(table, "tolerance", "leaf_caution_c", "value", air=summer).days == 0.0  # no work uses it


# Numbers and their doubt


def doubts(**part: Any) -> dict[Path, float]:
    return {number.path[1:]: number.doubt for number in numbers({"part": part})}


@pytest.mark.parametrize(
    ("part", "expected"),
    [
        ({"basis": "published", "at_c": -4}, {("at_c",): 1.0}),
        ({"basis": "from memory", "at_c": -4}, {("at_c",): 3.0}),
        ({"basis": "fitted", "need": {"ln_heat": 4.5, "spread": 0.45}}, {("need", "ln_heat"): 0.45, ("need", "spread"): 0.0}),
        ({"basis": "estimate", "bbch": 60, "below_h": 13.5}, {("below_h",): 0.25}),
        ({"basis": "common practice", "days": -30}, {("days",): 6.0}),
        ({"basis": "common practice", "days": 30, "spread_days": 4}, {("days",): 4.0, ("spread_days",): 0.0}),
        ({"basis": "published", "heat": {"base_c": 10, "sum": 150}}, {("heat", "base_c"): 1.0, ("heat", "sum"): 15.0}),
        ({"basis": "estimate", "weeks": [2, 4]}, {("weeks", 0): 0.6, ("weeks", 1): 1.2}),
        ({"basis": "estimate", "may_dry": True, "text": "3"}, {}),
        ({"days": 3}, {}),  # under no basis
    ],
)  # fmt: skip
def test_doubts_by_what_a_number_rests_on(part: dict[str, Any], expected: dict[Path, float]) -> None:
    assert doubts(**part) == pytest.approx(expected)


def test_the_nearest_basis_counts() -> None:
    table = {
        "part": {
            "basis": "estimate",
            "note": "far",
            "a": 1,
            "inner": {"basis": "published", "source": "x", "b": 1},
        }
    }
    assert [(n.path[-1], n.basis, n.source, n.note) for n in numbers(table)] == [
        ("a", "estimate", "", "far"),
        ("b", "published", "x", ""),
    ]


def test_shares_by_hand() -> None:
    found = [
        Number(("n", i), 1.0, basis, "", "", 0.1)
        for i, basis in enumerate(("published",) * 3 + ("estimate",))
    ]
    assert shares(found) == {**dict.fromkeys(BASES, 0.0), "published": 0.75, "estimate": 0.25}
    assert shares([]) == dict.fromkeys(BASES, 0.0)


BUNDLED = merged_profiles(read_tables(folder("config")))


@pytest.mark.parametrize("file", BUNDLED)
def test_every_number_of_a_bundled_profile_has_a_basis_and_a_doubt(file: str) -> None:
    table = BUNDLED[file].table
    found = numbers(table)
    assert len(found) > 50
    for number in found:
        part: Any = table
        for key in number.path:
            part = part[key]
        assert part == number.value
        assert number.basis in BASES, number
        assert math.isfinite(number.doubt), number
        assert number.doubt >= 0.0, number
    assert sum(shares(found).values()) == pytest.approx(1.0)
