"""North and south have the same plan half a year apart."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest

from calendar_core.garden.cycle import cycle_days
from calendar_core.planning.places.operations import DOWN, INTO, OUT, UP
from calendar_core.planning.seasons.species_stages import Sky
from calendar_core.weather.traces import Traces
from tests.planning.made_up import (
    Bench,
    bench_on_normals,
    codes,
)
from tests.planning.one_tree import (
    TODAY,
    in_nagano,
    planted,
)

if TYPE_CHECKING:
    from calendar_core.planning.seasons.axis import Axis


def mirrored(latitude: float) -> Bench:
    """A garden under five made-up years that follow the sun: the south has the north's by its own seasons."""
    bench = planted(bench_on_normals("Melbourne" if latitude < 0 else "Nagano"))
    garden = replace(bench.garden, latitude=latitude)

    def mean_c(start: date, n_days: int) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        days = [start + timedelta(days=n) for n in range(n_days)]
        sun = np.array([solar_longitude(day) for day in days]) + (180 if latitude < 0 else 0)
        return np.asarray(11 - 11 * np.cos(np.radians(sun - 300)))  # coldest 30 degrees after the solstice

    def sky_on(_day: date, axis: Axis) -> Sky:
        mean = mean_c(axis.start, axis.n_days)
        years = np.stack([mean + off for off in (-2, -1, 0, 1, 2)])
        known = in_nagano().weather
        return Sky(Traces(axis.start, years - 5, years + 5, known), lambda _axis: mean, lambda _cycle: None)

    leaf_fall, coldest = cycle_days(mean_c(date(2016, 1, 1), 366), latitude)
    return replace(bench, garden=replace(garden, leaf_fall=leaf_fall, coldest=coldest), sky_on=sky_on)


def solar_longitude(day: date) -> float:
    """Ecliptic longitude of the sun at noon [degrees], within 0.02.

    Source: low-precision formula of the Astronomical Almanac (page C24).
    """
    n = (day - date(2000, 1, 1)).days
    anomaly = np.radians(357.528 + 0.9856003 * n)
    return float(280.460 + 0.9856474 * n + 1.915 * np.sin(anomaly) + 0.020 * np.sin(2 * anomaly))


@pytest.mark.slow
def test_a_mirrored_southern_garden_has_the_same_plan_half_a_year_later() -> None:
    """Half a year is taken by the sun: 180 degrees of its longitude, 186 days in summer and 179 in winter.

    Three quarters within two days. What counts many days from a stage is not: the sun runs 7 % faster through the
    southern summer, and the sixteen weeks from decandling to growth stop are then over six days of season. Moves
    hang on the air of their days alone and are all within two, but for the place that is made three months before.
    """
    north, south = mirrored(45.0), mirrored(-45.0)
    there = {(i.species, i.rule, i.cycle): i for i in south.plan(date(2015, 10, 31)).items}
    off = {}
    for item in north.plan(TODAY).items:
        other = there[item.species, item.rule, item.cycle]
        assert (other.status, codes(other)) == (item.status, codes(item))
        assert other.chance == pytest.approx(item.chance, abs=0.15)
        if item.chance < 0.5:  # what is left of a few members says little
            continue
        for edge in ("opens", "closes"):
            here, far = (solar_longitude(getattr(one, edge).likely) for one in (item, other))
            off[item.species, item.rule, item.cycle, edge] = (far - here - 180) * 365.25 / 360
    days = np.abs(list(off.values()))
    assert np.quantile(days, 0.75) <= 2, off
    moves = {key: value for key, value in off.items() if key[1] in (INTO, OUT, UP, DOWN)}
    assert {key[1] for key in moves} >= {INTO}
    assert max(map(abs, moves.values())) <= 2, moves
    assert days.max() <= 7, off
