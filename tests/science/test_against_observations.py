"""Stage dates against what people saw; misses are printed, not hidden. `table` makes the rows for the README.

Sources stand in the heads of tests/oracles/maple-colour.csv and harvard-forest-leaves.csv. The definitions of
colour (20 %, 80 % of a tree; most of the crown red) are fitted and scored apart and never mixed.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import numpy as np
import pandas as pd
import pytest

from calendar_core.science.daylight import day_length_h
from calendar_core.science.stages import chill, crossing, falls_below, forcing, softened_heat, sum_at
from calendar_core.weather.normals import daily_year, read_normals
from tests.oracles.tables import harvard_forest, rows

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

Definition = Literal["kma_20", "kma_80", "jma_red"]
Form = Literal["threshold", "drawn to the equinox"]
Half = Literal[0, 1]
DEFINITIONS: tuple[Definition, ...] = ("kma_20", "kma_80", "jma_red")

CONFIG = Path(__file__).parents[2] / "config"
LEAP_YEAR = 2000  # dates and the mean year are counted on 366 days
MIDSUMMER, EQUINOX = (date(LEAP_YEAR, m, d).timetuple().tm_yday for m, d in ((6, 21), (9, 23)))
WINDOW_DAYS = 15
SHARED_LEVEL_C = 12.0
# By how many days colour moves from place to place as the day on which the mean year falls to 12 degC
# moves by one: fitted by us on 62 canopy-camera sites of North America (PhenoCam), none of the stations here.
SHARE = 0.574


@dataclass(frozen=True)
class Row:
    """One line of the table: days of the year, or days between two stages."""

    what: str
    place: str
    predicted: float
    observed: float

    @property
    def difference(self) -> float:
        """Predicted less observed [d]."""
        return self.predicted - self.observed


@dataclass(frozen=True)
class Check:
    """The rows of the half that was not fitted, with the number fitted on the other half."""

    definition: Definition
    form: Form
    fitted: float
    rows: tuple[Row, ...]

    @property
    def rmse_days(self) -> float:
        """Root mean square of the differences."""
        return float(np.sqrt(np.mean([row.difference**2 for row in self.rows])))

    @property
    def sd_days(self) -> float:
        """Standard deviation of the observed dates between the stations: the error of knowing no climate."""
        return float(np.std([row.observed for row in self.rows], ddof=1))

    @property
    def rank_correlation(self) -> float:
        """Spearman's, ties at their mean rank."""
        predicted = pd.Series([row.predicted for row in self.rows])
        observed = pd.Series([row.observed for row in self.rows])
        return float(predicted.rank().corr(observed.rank()))


@cache
def mean_years() -> dict[str, Floats]:
    """Return by place the mean year of the bundled normals, averaged over the window, twice over."""
    places = read_normals((CONFIG / "normals.csv").read_text(encoding="utf-8"))
    pad = WINDOW_DAYS // 2
    kernel = np.full(WINDOW_DAYS, 1.0 / WINDOW_DAYS)
    years = {}
    for place in places:
        year = np.pad(daily_year(place).t_mean_c, pad, mode="wrap")
        years[place.place] = np.tile(np.convolve(year, kernel, mode="valid"), 2)
    return years


def falls_to(curve: Floats, level_c: float) -> float:
    """Return the day of the year on which a mean year falls to the level."""
    return 1.0 + falls_below(curve, level_c, MIDSUMMER - 1, curve.size)


def by_form(form: Form, number: float, curve: Floats) -> float:
    """Return the day of colour: ``number`` is the level [degC], or the days after the drawn point."""
    if form == "threshold":
        return falls_to(curve, number)
    return EQUINOX + SHARE * (falls_to(curve, SHARED_LEVEL_C) - EQUINOX) + number


def fit(form: Form, curves: Sequence[Floats], observed: Floats) -> float:
    """Return the one number of the form with the least squared error."""
    grid = np.arange(7.0, 18.0, 0.1) if form == "threshold" else np.arange(-20.0, 60.0, 0.5)
    errors = [[by_form(form, number, curve) for curve in curves] - observed for number in grid]
    return float(grid[np.argmin([np.sum(error**2) for error in errors])])


def stations(definition: Definition) -> list[tuple[str, float]]:
    """Return places and observed days of the year by name; dates from memory are left out."""
    return sorted(
        (row["station"], float(date.fromisoformat(f"{LEAP_YEAR}-{row['date']}").timetuple().tm_yday))
        for row in rows("maple-colour.csv")
        if row["definition"] == definition and row["mark"] != "memory"
    )


def colour(definition: Definition, form: Form, fitted_half: Half = 0) -> Check:
    """Fit on every second station by name and predict the others."""
    years, places = mean_years(), stations(definition)
    fitting, shown = places[fitted_half::2], places[1 - fitted_half :: 2]
    number = fit(form, [years[name] for name, _ in fitting], np.array([day for _, day in fitting]))
    found = [Row(definition, name, by_form(form, number, years[name]), day) for name, day in shown]
    return Check(definition, form, number, tuple(found))


def full_size_gaps(species: dict[str, str]) -> Floats:
    """Return for each Harvard year the days from bud break to full leaf size by the maple profile's rule."""
    profile = tomllib.loads((CONFIG / "species" / "acer-palmatum.toml").read_text(encoding="utf-8"))
    rule = profile["stages"]["leaves_full_size"]["after"]
    assert rule["stage"] == "bud_break"
    gaps = []
    for winter in harvard_forest().values():
        heat_days = np.where(
            winter.doy >= -10, forcing(winter.t_mean_c, day_length_h(winter.latitude, winter.doy)), 0.0
        )
        chill_days = np.where(winter.doy >= -60, chill(winter.t_mean_c), 0.0)
        heat = softened_heat(np.cumsum(heat_days), np.cumsum(chill_days))[None, :]
        bud_break = crossing(heat, np.array([[float(species["heat_need"])]]))
        by_heat = crossing(heat, sum_at(heat, bud_break) + rule["heat"]) - bud_break
        gaps.append((float(by_heat[0, 0]) + rule["days"]) / 2)
    return np.array(gaps)


def maples() -> list[dict[str, str]]:
    """Return the three maples of Harvard Forest."""
    return [row for row in rows("harvard-forest-leaves.csv") if row["species"].startswith("Acer")]


def leaf_size() -> list[Row]:
    """Return predicted and observed days from bud break to full leaf size of the three maples."""
    return [
        Row(
            "days from bud break to full leaf size",
            row["species"],
            float(np.mean(full_size_gaps(row))),
            float(row["days_to_full_size"]),
        )
        for row in maples()
    ]


def table(form: Form = "threshold") -> list[Row]:
    """Return every row: colour of the stations not fitted, and leaf size."""
    found = [row for definition in DEFINITIONS for row in colour(definition, form).rows]
    return [*found, *leaf_size()]


def show(check: Check) -> None:
    """Print predicted | observed | difference, and the goals that were missed."""
    unit = "degC" if check.form == "threshold" else "d"
    print(f"\n{check.definition}, {check.form}, fitted {check.fitted:.1f} {unit} on the other half")
    for row in check.rows:
        print(f"  {row.place:12s} {row.predicted:6.1f} | {row.observed:6.1f} | {row.difference:+6.1f}")
    goals = {
        "rank correlation 0.9": check.rank_correlation >= 0.9,
        "RMSE 7 d": check.rmse_days <= 7.0,
        "RMSE below the sd between stations": check.rmse_days < check.sd_days,
    }
    missed = ", ".join(goal for goal, hit in goals.items() if not hit) or "none"
    print(
        f"  rank correlation {check.rank_correlation:.2f}, RMSE {check.rmse_days:.1f} d, "
        f"sd between stations {check.sd_days:.1f} d; goals missed: {missed}"
    )


# What was reached on the half that was not fitted, RMSE [d] and rank correlation, a little rounded. The goals
# are 7 d and 0.9; the rank correlation misses its goal on four of the six halves, whatever the form.
REACHED: list[tuple[Definition, Form, Half, float, float]] = [
    ("kma_20", "threshold", 0, 5.0, 0.65),
    ("kma_20", "threshold", 1, 4.0, 0.95),
    ("kma_80", "threshold", 0, 4.2, 0.80),
    ("kma_80", "threshold", 1, 4.2, 0.95),
    ("jma_red", "threshold", 0, 7.0, 0.75),
    ("jma_red", "threshold", 1, 7.7, 0.85),
    ("kma_20", "drawn to the equinox", 0, 3.0, 0.65),
    ("kma_20", "drawn to the equinox", 1, 3.2, 0.95),
    ("kma_80", "drawn to the equinox", 0, 2.8, 0.75),
    ("kma_80", "drawn to the equinox", 1, 3.0, 0.95),
    ("jma_red", "drawn to the equinox", 0, 4.8, 0.75),
    ("jma_red", "drawn to the equinox", 1, 3.0, 0.88),
]


@pytest.mark.parametrize(("definition", "form", "half", "rmse_days", "rank_correlation"), REACHED)
def test_maple_colour_at_stations_not_fitted(
    definition: Definition, form: Form, half: Half, rmse_days: float, rank_correlation: float
) -> None:
    check = colour(definition, form, half)
    show(check)
    assert check.rmse_days <= rmse_days
    assert check.rank_correlation >= rank_correlation


@pytest.mark.parametrize("definition", DEFINITIONS)
@pytest.mark.parametrize("half", [0, 1])
def test_colour_drawn_to_the_equinox_beats_the_threshold_and_ignorance(
    definition: Definition, half: Half
) -> None:
    drawn, threshold = colour(definition, "drawn to the equinox", half), colour(definition, "threshold", half)
    assert drawn.rmse_days < threshold.rmse_days
    assert drawn.rmse_days < drawn.sd_days


def test_all_stations_with_dates_have_normals() -> None:
    assert [len(stations(definition)) for definition in DEFINITIONS] == [12, 12, 16]
    assert {name for definition in DEFINITIONS for name, _ in stations(definition)} <= set(mean_years())


@pytest.mark.parametrize("definition", ["kma_20", "kma_80"])
def test_colour_comes_later_by_each_stricter_definition(definition: Definition) -> None:
    # 20 % of a tree, then 80 %, then hardly any green left: the same climate must give this order.
    later: Definition = "kma_80" if definition == "kma_20" else "jma_red"
    assert colour(definition, "drawn to the equinox").fitted < colour(later, "drawn to the equinox").fitted


def test_maple_leaves_are_full_size_four_to_five_weeks_after_bud_break() -> None:
    means = []
    for species, row in zip(maples(), leaf_size(), strict=True):
        gaps = full_size_gaps(species)
        by_year = ", ".join(f"{year} {gap:.0f}" for year, gap in zip(harvard_forest(), gaps, strict=True))
        print(f"{row.place}: {row.predicted:.1f} | {row.observed:.0f} | {row.difference:+.1f} d ({by_year})")
        means.append(row.predicted)
        # The observed sd between tree-years is 6 to 7 days.
        assert abs(row.difference) <= 8.0
        assert np.all((gaps > 20.0) & (gaps < 42.0))
    assert 27.0 <= np.mean(means) <= 36.0


def test_the_table_holds_every_row_once() -> None:
    found = table()
    assert len(found) == 6 + 6 + 8 + 3
    assert len({(row.what, row.place) for row in found}) == len(found)
