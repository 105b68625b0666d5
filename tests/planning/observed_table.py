"""Dates as the calendar gives them beside dates that people observed; `observed_table` is the table in DEVELOPERS.md.

``python -m tests.planning.observed_table`` prints it. Sources stand in the heads of tests/oracles/maple-colour.csv
and harvard-forest-leaves.csv. The definitions of colour (20 % of a tree, 80 %, most of the crown red) are fitted and
scored apart and never mixed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from typing import TYPE_CHECKING, Literal

import numpy as np
import pandas as pd

from calendar_core.knowledge.forms.species.stages import HeatNeed, Stage
from calendar_core.planning.seasons.air import Air
from calendar_core.planning.seasons.autumn import climate_fall_day
from calendar_core.planning.seasons.axis import Axis, axis_for
from calendar_core.planning.seasons.stage_groups import Group
from calendar_core.planning.seasons.stage_run import MIDDAY, StageRun
from calendar_core.weather.daily import years_and_slots
from calendar_core.weather.normals import daily_year
from tests.oracles.tables import Winter, harvard_forest, rows
from tests.planning.made_up import bundled_places, knowledge

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from calendar_core.knowledge.forms.species.profile import Profile
    from calendar_core.knowledge.forms.species.stages import ClimateFall

Definition = Literal["kma_20", "kma_80", "jma_red"]
Half = Literal[0, 1]
DEFINITIONS: dict[Definition, str] = {
    "kma_20": "20 % coloured, Korea",
    "kma_80": "80 % coloured, Korea",
    "jma_red": "crown red, Japan",
}
SHOWN: Half = 1  # the half whose stations stand in the table: the one with the lower scores
CYCLE = 2018  # any year without 29 February on its axis
GOAL_RMSE_DAYS, GOAL_RANK_CORRELATION = 7.0, 0.9
GOAL_FULL_SIZE = (27, 36)  # [d]
HEADS = ("what was observed", "where", "predicted", "observed", "difference", "")
SCORE_HEADS = ("colour", "half", "stations", "RMSE, goal 7 d", "rank correlation, goal 0.9")


@dataclass(frozen=True)
class Row:
    """One line of the table, in days: from 31 December on, or from bud break on."""

    what: str
    place: str
    predicted: int
    observed: int
    note: str = ""
    dated: bool = True

    @property
    def difference(self) -> int:
        """Predicted less observed [d]."""
        return self.predicted - self.observed

    def cells(self) -> tuple[str, ...]:
        """Return the line as text."""
        days = [_day_month(n) if self.dated else f"{n} d" for n in (self.predicted, self.observed)]
        off = f"{self.difference:+d} d" if self.difference else "0 d"
        return self.what, self.place, *days, off, self.note


@dataclass(frozen=True)
class Check:
    """The stations that were not fitted, predicted with the one number fitted on the others."""

    definition: Definition
    half: Half
    offset_days: float
    rows: tuple[Row, ...]

    @property
    def rmse_days(self) -> float:
        """Root mean square of the differences."""
        return math.sqrt(float(np.mean([row.difference**2 for row in self.rows])))

    @property
    def sd_days(self) -> float:
        """Standard deviation of the observed dates between the stations: the error of knowing no climate."""
        return float(np.std([row.observed for row in self.rows], ddof=1))

    @property
    def rank_correlation(self) -> float:
        """Spearman's, ties at their mean rank."""
        predicted, observed = (
            pd.Series([getattr(r, n) for r in self.rows]) for n in ("predicted", "observed")
        )
        return float(predicted.rank().corr(observed.rank()))

    def cells(self) -> tuple[str, ...]:
        """Return the scores as text, misses marked."""
        rmse = f"{self.rmse_days:.1f} d" + " missed" * (self.rmse_days > GOAL_RMSE_DAYS)
        rank = f"{self.rank_correlation:.2f}" + " missed" * (self.rank_correlation < GOAL_RANK_CORRELATION)
        half = "above" if self.half == SHOWN else "the other"
        return DEFINITIONS[self.definition], half, f"{len(self.rows)}", rmse, rank


def maple() -> Profile:
    """Return the maple's bundled profile."""
    return knowledge().profiles["acer-palmatum"]


@cache
def mean_air(place: str) -> Air:
    """Return the mean year of a bundled place as the one trace of an axis."""
    normals = bundled_places()[place]
    axis, year = axis_for(normals.latitude, (CYCLE,)), daily_year(normals)
    _, slots = years_and_slots(axis.start, axis.n_days)
    return Air(axis, year.t_min_c[slots][None], year.t_max_c[slots][None], year.t_mean_c[slots], frost_c=0.0)


def colour_rule(offset_days: float) -> ClimateFall:
    """Return the profile's own rule with another offset."""
    rule = maple().stages["colour"].climate_fall
    assert rule is not None
    return rule.model_copy(update={"offset_days": offset_days})


def stations(definition: Definition) -> list[tuple[str, date]]:
    """Return places and observed dates by name; dates from memory are left out."""
    return sorted(
        (row["station"], date.fromisoformat(f"{CYCLE}-{row['date']}"))
        for row in rows("maple-colour.csv")
        if row["definition"] == definition and row["mark"] != "memory"
    )


def fitted_offset(observed: list[tuple[str, date]]) -> float:
    """Return the offset [d] of the least squared error: the mean of what is left without one."""
    left = [
        mean_air(place).axis.index(day) - MIDDAY - climate_fall_day(mean_air(place), colour_rule(0.0), CYCLE)
        for place, day in observed
    ]
    return float(np.mean(left))


def colour(definition: Definition, half: Half) -> Check:
    """Fit the offset on every second station by name and predict those of ``half``."""
    observed = stations(definition)
    offset_days = fitted_offset(observed[1 - half :: 2])
    found = []
    for place, day in observed[half::2]:
        air = mean_air(place)
        predicted = air.axis.day(climate_fall_day(air, colour_rule(offset_days), CYCLE))
        note = "more than a week off" * (abs((predicted - day).days) > GOAL_RMSE_DAYS)
        found.append(Row(DEFINITIONS[definition], place, _of_year(predicted), _of_year(day), note))
    return Check(definition, half, offset_days, tuple(found))


def woody_species() -> list[dict[str, str]]:
    """Return the species of Harvard Forest, the three maples first."""
    return rows("harvard-forest-leaves.csv")


def full_size_days(species: dict[str, str], profile: str = "acer-palmatum") -> NDArray[np.float64]:
    """Return for each Harvard year the days from bud break to full leaf size by a profile's rule.

    Bud break comes by the species' own need, so that only the rule between the two stages is the profile's.
    """
    full = knowledge().profiles[profile].stages["leaves_full_size"]
    ln_heat = math.log(float(species["heat_need"]))
    need = HeatNeed(of="species", ln_heat=ln_heat, spread=0.1)
    bud_break = Stage(sign="half of the buds are broken", need=need, basis="fitted", source="hf003")
    whole = maple().model_copy(update={"stages": {"bud_break": bud_break, "leaves_full_size": full}})
    days = []
    for year, winter in harvard_forest().items():
        labels = StageRun(winter_air(year, winter), whole, year, [Group((), ((ln_heat, 0.0),))]).run().labels
        days.append(float((labels["leaves_full_size"] - labels["bud_break"]).mean()))
    return np.array(days)


def winter_air(year: int, winter: Winter) -> Air:
    """Return one year of Harvard Forest as air; only daily means are known there."""
    start = date(year, 1, 1) + timedelta(days=int(winter.doy[0]) - 1)
    axis, mean = Axis(start, winter.doy.size, winter.latitude), winter.t_mean_c
    return Air(axis, mean[None], mean[None], mean, frost_c=0.0)


def leaf_size() -> list[Row]:
    """Return days from bud break to full leaf size, predicted and observed, of the three maples.

    All three are calibration: the profile's 32 days are those of the red maple here, its heat was set so as to
    give them in the weather of this site.
    """
    found = []
    for species in woody_species():
        if species["species"].startswith("Acer"):
            predicted = round(float(full_size_days(species).mean()))
            place, observed = f"{species['species']}, Harvard Forest", int(species["days_to_full_size"])
            note = "calibration" + ", missed" * (not GOAL_FULL_SIZE[0] <= predicted <= GOAL_FULL_SIZE[1])
            found.append(Row("bud break to full leaf size", place, predicted, observed, note, dated=False))
    return found


def observed_table() -> str:
    """Return the Markdown for DEVELOPERS.md: the stations of one half and leaf size, then the scores of both halves."""
    halves: tuple[Half, Half] = (SHOWN, 0)
    shown = [*(row for definition in DEFINITIONS for row in colour(definition, SHOWN).rows), *leaf_size()]
    scores = [colour(definition, half).cells() for definition in DEFINITIONS for half in halves]
    return f"{_markdown(HEADS, [row.cells() for row in shown])}\n\n{_markdown(SCORE_HEADS, scores)}"


def _markdown(heads: tuple[str, ...], lines: list[tuple[str, ...]]) -> str:
    return "\n".join(f"| {' | '.join(cells)} |" for cells in (heads, ("---",) * len(heads), *lines))


def _of_year(day: date) -> int:
    return day.timetuple().tm_yday


def _day_month(of_year: int) -> str:
    day = date(CYCLE, 1, 1) + timedelta(days=of_year - 1)
    return f"{day.day} {day:%b}"


if __name__ == "__main__":
    print(observed_table())
