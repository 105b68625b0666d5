"""When growers move and shade their trees, and when the program has it, at bundled places in a usual year.

A move is a span: of growers' dates, and of the program from the day on which it opens to that by which it is to be done. The
days between the spans are at most two weeks, or the row says why there are more, and how many.

Sources: PSB, Prairie State Bonsai Society (Chicago), figs and other tropical trees. JMA, the rule of growers from Buffalo to
Madrid, nights of 10 degC, laid upon the days of the Japan Meteorological Agency 1976-2025: median of the first of seven
such nights, and of the first colder one after 20 July. NM, Nursery Management (magazine): covered 30 to 45 days after the
first frost, when fully dormant; first frosts are medians of the places' records. BSA, The Bonsai Society of Australia,
Sydney. Morton, leaves of Japanese maples at the Morton Arboretum, Lisle, 2023-2025.
"""

from __future__ import annotations

from datetime import date
from typing import NamedTuple

import pytest

from calendar_core.planning.places.operations import DOWN, INTO, OUT, UP
from tests.planning.species_cases import places_at

NEAR_D = 14
MAPLE, TRIDENT, FIG, JADE = "acer-palmatum", "acer-buergerianum", "ficus-microcarpa", "crassula-ovata"
BOUGAINVILLEA, SATSUKI, PINE = "bougainvillea-glabra", "rhododendron-indicum", "pinus-thunbergii"


class Row(NamedTuple):
    """One date of growers, month and day, in the cycle 2015; ``apart`` is how far off it may lie [d], ``why`` so far."""

    place: str
    species: str
    move: str
    words: str
    source: str
    first: date
    last: date
    apart: tuple[int, int] = (0, NEAR_D)
    why: str = ""


def day(month: int, day_: int, year: int = 2015) -> date:
    return date(year, month, day_)


def about(month: int, day_: int) -> tuple[date, date]:
    return day(month, day_), day(month, day_)


DORMANT = (
    "The rule is for hardy stock that has lost its leaves. The line of this root ball is held against the night's air, "
    "and one such night in five autumns is enough to ask."
)
TABLE = (
    Row("Lisle", FIG, INTO, "in about 15 September", "PSB", *about(9, 15)),
    Row("Lisle", JADE, INTO, "in about 15 September", "PSB", *about(9, 15)),
    Row("Lisle", BOUGAINVILLEA, INTO, "in about 15 September", "PSB", *about(9, 15)),
    Row("Tokyo", FIG, OUT, "out at nights of 10 degC", "JMA", *about(4, 15)),
    Row("Tokyo", FIG, INTO, "in at nights of 10 degC", "JMA", *about(11, 4)),
    Row("Kagoshima", FIG, OUT, "out at nights of 10 degC", "JMA", *about(4, 3)),
    Row("Kagoshima", FIG, INTO, "in at nights of 10 degC", "JMA", *about(11, 6)),
    Row("Sapporo", FIG, OUT, "out at nights of 10 degC", "JMA", *about(5, 31)),
    Row("Sapporo", FIG, INTO, "in at nights of 10 degC", "JMA", *about(9, 27)),
    Row("Lisle", MAPLE, OUT, "out before the leaves, 16 to 24 April", "Morton", day(4, 10), day(4, 24)),
    # First frosts: Lisle 11 October, Clemson 4 November, Sapporo 12 November.
    Row("Clemson", MAPLE, INTO, "30 to 45 days after the first frost", "NM", day(12, 4), day(12, 19)),
    Row("Lisle", PINE, INTO, "30 to 45 days after the first frost", "NM", day(11, 10), day(11, 25)),
    Row("Sapporo", PINE, INTO, "30 to 45 days after the first frost", "NM", day(12, 12), day(12, 27)),
    Row("Lisle", MAPLE, INTO, "30 to 45 days after the first frost", "NM", day(11, 10), day(11, 25), (15, 30), DORMANT),
    Row("Lisle", SATSUKI, INTO, "30 to 45 days after the first frost", "NM", day(11, 10), day(11, 25), (15, 30), DORMANT),
    Row("Lisle", TRIDENT, INTO, "30 to 45 days after the first frost", "NM", day(11, 10), day(11, 25), (15, 30), DORMANT),
    Row("Sapporo", MAPLE, INTO, "30 to 45 days after the first frost", "NM", day(12, 12), day(12, 27), (15, 40), DORMANT),
    Row("Melbourne", MAPLE, UP, "under shade in February", "BSA", date(2016, 1, 1), date(2016, 1, 31)),
    Row("Melbourne", MAPLE, DOWN, "under shade in February", "BSA", date(2016, 3, 1), date(2016, 3, 31)),
)  # fmt: skip

# Where nobody brings them in (from memory, but for Seattle: growers' readings of balls on the bench and on the ground in a
# cold spell of the city, where a forecast calls them down and no season does).
STAY_OUT = (
    ("Seattle", MAPLE),
    ("Seattle", PINE),
    ("Tokyo", MAPLE),
    ("Tokyo", PINE),
    ("Kagoshima", MAPLE),
    ("Kagoshima", SATSUKI),
    ("Melbourne", MAPLE),
    ("Melbourne", TRIDENT),
    ("Clemson", PINE),
)


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row.place} {row.species} {row.move}")
def test_the_program_moves_trees_when_growers_do(row: Row) -> None:
    found = next(one for one in places_at(row.place, row.species) if one.operation == row.move)
    assert found.opens is not None, row.words
    assert found.by is not None
    apart = max((found.opens - row.last).days, (row.first - found.by).days, 0)
    least, most = row.apart
    assert least <= apart <= most, (found.opens, found.by, row.words, row.why)


@pytest.mark.parametrize(("place", "species"), STAY_OUT)
def test_trees_stay_out_where_growers_leave_them_out(place: str, species: str) -> None:
    found = {one.operation: one for one in places_at(place, species)}
    assert found[INTO].opens is None
    assert found[OUT].opens is None
