"""Stage dates against what people saw; misses are printed, not hidden.

Sources stand in the heads of tests/oracles/maple-colour.csv and harvard-forest-leaves.csv. Only the offset of the
profile's rule is fitted, by definition, on half of the stations; its slope on the 12 degC day comes from canopy
cameras in North America that saw none of them.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from calendar_core.planning.seasons.autumn import climate_fall_day
from tests.oracles.tables import harvard_forest
from tests.planning.made_up import bundled_places
from tests.planning.observed_table import (
    CYCLE,
    DEFINITIONS,
    GOAL_FULL_SIZE,
    GOAL_RANK_CORRELATION,
    GOAL_RMSE_DAYS,
    Check,
    Definition,
    Half,
    colour,
    colour_rule,
    fitted_offset,
    full_size_days,
    leaf_size,
    maple,
    mean_air,
    observed_table,
    stations,
    woody_species,
)

ROOT = Path(__file__).parents[3]
MARKERS = "<!-- observed dates -->", "<!-- /observed dates -->"

# Rank correlations reached on the half that was not fitted, a little rounded down: the goal of 0.9 is missed on
# three of the six halves. The goal for RMSE, 7 d, is reached on all.
REACHED: list[tuple[Definition, Half, float]] = [
    ("kma_20", 1, 0.65),
    ("kma_20", 0, 0.9),
    ("kma_80", 1, 0.75),
    ("kma_80", 0, 0.9),
    ("jma_red", 1, 0.75),
    ("jma_red", 0, 0.9),
]


def show(check: Check) -> None:
    """Print predicted | observed | difference, and the goals that were missed."""
    print(f"\n{check.definition}: {check.offset_days:.1f} d fitted on the other half")
    for row in check.rows:
        print("  {1:10s} {2:>6s} | {3:>6s} | {4:>5s} {5}".format(*row.cells()))
    goals = {
        "rank correlation 0.9": check.rank_correlation >= GOAL_RANK_CORRELATION,
        "RMSE 7 d": check.rmse_days <= GOAL_RMSE_DAYS,
        "RMSE below the sd between stations": check.rmse_days < check.sd_days,
    }
    missed = ", ".join(goal for goal, hit in goals.items() if not hit) or "none"
    print(
        f"  rank correlation {check.rank_correlation:.2f}, RMSE {check.rmse_days:.1f} d, "
        f"sd between stations {check.sd_days:.1f} d; goals missed: {missed}"
    )


@pytest.mark.parametrize(("definition", "half", "rank_correlation"), REACHED)
def test_maple_colour_at_stations_not_fitted(
    definition: Definition, half: Half, rank_correlation: float
) -> None:
    check = colour(definition, half)
    show(check)
    assert check.rmse_days <= GOAL_RMSE_DAYS
    assert check.rmse_days < check.sd_days
    assert check.rank_correlation >= rank_correlation


@pytest.mark.parametrize("definition", DEFINITIONS)
def test_the_two_halves_are_all_stations_each_shown_once(definition: Definition) -> None:
    shown = [row.place for half in (0, 1) for row in colour(definition, half).rows]
    assert sorted(shown) == [place for place, _ in stations(definition)]
    assert len(shown) == {"kma_20": 12, "kma_80": 12, "jma_red": 16}[definition]
    assert set(shown) <= set(bundled_places())


def test_the_offset_of_the_profile_is_that_of_all_japanese_stations() -> None:
    rule = maple().stages["colour"].climate_fall
    assert rule is not None
    fitted = fitted_offset(stations("jma_red"))
    print(f"fitted on 16 stations: {fitted:.2f} d; in the profile: {rule.offset_days:g} d")
    assert abs(fitted - rule.offset_days) <= 1.0


def test_colour_comes_later_by_each_stricter_definition() -> None:
    # 20 % of a tree, then 80 %, then hardly any green left: whatever the stations, climate explains the rest.
    offsets = [fitted_offset(stations(definition)) for definition in ("kma_20", "kma_80", "jma_red")]
    assert offsets == sorted(offsets)


def test_the_site_date_is_the_stated_line_through_the_equinox() -> None:
    # By hand: 0.574 (regression on 62 PhenoCam sites, as in the profile) times the days from the equinox
    # to the first day on which the 31-day mean of Kyoto's mean year is 12 degC or below.
    air = mean_air("Kyoto")
    year = np.array([air.climate_c[i - 15 : i + 16].mean() for i in range(15, air.climate_c.size - 15)])
    equinox = air.axis.autumn_equinox(CYCLE)
    fell = next(i for i in range(equinox, equinox + 150) if year[i - 15] <= 12.0)
    assert climate_fall_day(air, colour_rule(0.0), CYCLE) == pytest.approx(equinox + 0.574 * (fell - equinox))


@pytest.mark.parametrize("species", woody_species(), ids=lambda species: str(species["species"]))
def test_leaves_are_full_size_four_to_five_weeks_after_bud_break(species: dict[str, str]) -> None:
    # The maples are calibration (see `leaf_size`); of the other trees only the need for bud break was fitted.
    days, observed = full_size_days(species), float(species["days_to_full_size"])
    by_year = ", ".join(f"{year} {gap:.0f}" for year, gap in zip(harvard_forest(), days, strict=True))
    print(f"{days.mean():.1f} | {observed:.0f} | {days.mean() - observed:+.1f} d ({by_year})")
    assert GOAL_FULL_SIZE[0] <= days.mean() <= GOAL_FULL_SIZE[1]
    assert abs(days.mean() - observed) <= float(species["days_to_full_size_sd"])
    assert np.all((days > 20.0) & (days < 42.0))


def test_the_rule_does_not_tell_the_maples_apart() -> None:
    # Observed means lie 7 days apart, 29 to 36: the rule's share of that is heat alone.
    gaps = [row.predicted for row in leaf_size()]
    assert len(gaps) == 3
    assert max(gaps) - min(gaps) <= 2


def test_the_table_is_short_and_names_each_row_once() -> None:
    first, scores = (part.splitlines()[2:] for part in observed_table().split("\n\n"))
    assert len(first) == 6 + 6 + 8 + 3
    assert len({tuple(line.split(" | ")[:2]) for line in first}) == len(first)
    assert sum("missed" in line for line in scores) == sum(reached < 0.9 for _, _, reached in REACHED)


def test_the_page_for_developers_shows_the_table_as_it_is_now() -> None:
    before, after = MARKERS
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    shown = text.partition(before)[2].partition(after)[0]
    assert shown.strip() == observed_table(), "paste what `python -m tests.planning.observed_table` prints"


def test_the_readme_tells_how_far_colour_was_off_at_stations_not_fitted() -> None:
    halves: tuple[Half, Half] = (0, 1)
    off = [colour(definition, half).rmse_days for definition in DEFINITIONS for half in halves]
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    assert f"came within {min(off):.1f} to {max(off):.1f} days (root mean square)" in text
