"""Judging: what is told and when, chances, order, and what shelter asks."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from alerts.air.hours import Place
from alerts.air.spread import spread
from alerts.hazards.judge import judge
from alerts.hazards.peaks import peaks
from calendar_core.knowledge.words import HAZARDS
from tests.alerts.hazards.gardens import (
    GARDEN,
    GREENSBORO,
    KNOWLEDGE,
    NEW_YORK,
    RULES,
    made,
    spot,
    threats,
    tree,
    year_hours,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from alerts.air.hours import Hours
    from alerts.hazards.stand import Stand

JULY = year_hours(GREENSBORO, 7, 8, 3)
MEMBERS = spread(JULY, GREENSBORO, KNOWLEDGE.hazards.forecast_error)
FROST = spread(year_hours(GREENSBORO, 4, 15, 3), GREENSBORO, KNOWLEDGE.hazards.forecast_error)


def garden() -> list[Stand]:
    shade = spot("shade", cloth_percent=50)
    return [
        tree(species, where, f"{species} {where.name} {more}", **more)
        for species in ("acer-palmatum", "pinus-thunbergii", "ulmus-parvifolia")
        for where in (spot(), shade)
        for more in ({}, {"foliage": "new", "used_to_mol": 15.0})
    ]


def gusts(*ms: float) -> Hours:
    """Return one hour in which members have these gusts."""
    return made(JULY.start, t_c=np.full((len(ms), 1), 20.0), gust_ms=np.array(ms)[:, None])


@pytest.mark.parametrize(
    ("blown", "told"),
    [
        (0, False),  # of 20 courses
        (1, False),
        (2, True),
        (20, True),
    ],
)
def test_one_course_in_ten_is_told(blown: int, told: bool) -> None:
    found = threats(tree("acer-palmatum"), gusts(*[20.0] * blown, *[5.0] * (20 - blown)), GREENSBORO, "wind")
    assert bool(found) == told
    if told:
        assert found[0].chances == (blown / 20, 0.0)
        assert found[0].bad == 20.0
        assert found[0].typical == (20.0 if blown >= 10 else 5.0)


def test_a_middle_course_near_its_line_is_told_with_no_chance() -> None:
    caution = RULES.wind.gust_ms.caution
    near = threats(tree("acer-palmatum"), gusts(*[caution - 1.9] * 20), GREENSBORO, "wind")
    assert [one.chances for one in near] == [(0.0, 0.0)]
    assert near[0].ends - near[0].begins == timedelta(hours=1)
    assert threats(tree("acer-palmatum"), gusts(*[caution - 2.1] * 20), GREENSBORO, "wind") == ()


def test_equal_members_give_certainty() -> None:
    repeated: dict[str, Any] = {name: np.repeat(of, 7, axis=0) for name, of in JULY.columns().items()}
    alike = replace(JULY, **repeated)
    found, single = (
        [
            replace(one, typical=round(one.typical, 9), bad=round(one.bad, 9))
            for one in judge(garden(), of, GREENSBORO, RULES)
        ]
        for of in (alike, JULY)
    )
    assert found == single
    assert {chance for one in found for chance in one.chances} == {0.0, 1.0}
    assert all(one.typical == one.bad for one in found)


def test_bad_is_never_milder_than_typical_and_danger_never_likelier_than_caution() -> None:
    for hours in (MEMBERS, FROST):
        for one in judge(garden(), hours, GREENSBORO, RULES):
            worse = one.bad <= one.typical if one.caution > one.danger else one.bad >= one.typical
            assert worse, one
            assert one.chances[0] >= one.chances[1]
            assert (one.chances[0] >= 0.1) == (
                one.bad <= one.caution if one.caution > one.danger else one.bad >= one.caution
            ), one
            assert hours.start <= one.begins < one.ends <= hours.at(len(hours))


def test_hours_lie_in_their_day_or_night() -> None:
    for one in (*judge(garden(), MEMBERS, GREENSBORO, RULES), *judge(garden(), FROST, GREENSBORO, RULES)):
        midnight = datetime(one.day.year, one.day.month, one.day.day, tzinfo=GREENSBORO.zone)
        night = timedelta(hours=12 if one.hazard in ("frost", "cold roots") else 0)
        assert midnight - night <= one.begins, one
        assert one.ends <= midnight - night + timedelta(days=1), one


def hidden(hours: Hours, *at: int) -> Hours:
    """Return hours of which nothing is known in local hours of each day; what stands there is as wild as can be."""
    of_day = (np.arange(len(hours)) + hours.start.astimezone(GREENSBORO.zone).hour) % 24
    gap = np.isin(of_day, at)
    wild = np.where(gap, 70.0, hours.t_c)
    return replace(hours, t_c=wild, known=~gap[None])


def test_nothing_threatens_in_hours_of_which_nothing_is_known() -> None:
    """What comes outside them is found as it was: leaves remember no hour before."""
    whole = [one for one in judge(garden(), MEMBERS, GREENSBORO, RULES) if one.hazard == "heat"]
    by_night = judge(garden(), hidden(MEMBERS, *range(7)), GREENSBORO, RULES)
    assert [one for one in by_night if one.hazard == "heat"] == whole != []
    by_day = judge(garden(), hidden(MEMBERS, *range(24)), GREENSBORO, RULES)
    assert by_day == ()
    afternoon = judge(garden(), hidden(MEMBERS, *range(9, 20)), GREENSBORO, RULES)
    assert {one.begins.astimezone(GREENSBORO.zone).hour for one in afternoon}.isdisjoint(range(9, 20))


@pytest.mark.slow
@given(st.permutations(range(12)))
@settings(max_examples=20)
def test_the_order_of_trees_does_not_matter(order: list[int]) -> None:
    trees = garden()
    found = judge([trees[i] for i in order], JULY, GREENSBORO, RULES)
    assert found == judge(trees, JULY, GREENSBORO, RULES)


def test_trees_alike_are_told_alike() -> None:
    one = tree("acer-palmatum")
    twins = [replace(one, tree=uuid5(GARDEN, str(i))) for i in range(50)]
    found = judge(twins, MEMBERS, GREENSBORO, RULES)
    by_tree = {
        stand.tree: [replace(t, tree=one.tree) for t in found if t.tree == stand.tree] for stand in twins
    }
    assert all(told == by_tree[twins[0].tree] != [] for told in by_tree.values())


def test_a_tree_is_told_the_same_alone_and_among_others() -> None:
    trees = garden()
    together = judge(trees, MEMBERS, GREENSBORO, RULES)
    for stand in trees[::5]:
        alone = judge([stand], MEMBERS, GREENSBORO, RULES)
        for one, other in zip(alone, [t for t in together if t.tree == stand.tree], strict=True):
            assert (one.day, one.hazard, one.begins, one.ends) == (
                other.day,
                other.hazard,
                other.begins,
                other.ends,
            )
            assert one.bad == pytest.approx(other.bad)


def test_no_trees_or_no_hours_no_threats() -> None:
    assert judge([], JULY, GREENSBORO, RULES) == ()
    assert judge(garden(), JULY.part(JULY.start, JULY.start), GREENSBORO, RULES) == ()


def test_hail_is_told_when_it_is_in_the_forecast() -> None:
    hail = np.zeros((1, 72))
    hail[0, 16] = 1.0
    hours = made(JULY.start, t_c=np.full((1, 72), 20.0), hail=hail)
    (one,) = threats(tree("acer-palmatum"), hours, GREENSBORO, "hail")
    assert (one.begins, one.chances) == (hours.at(16), (1.0, 1.0))
    assert threats(tree("acer-palmatum", spot(roof=True)), hours, GREENSBORO, "hail") == ()


@pytest.mark.parametrize(("day", "hours"), [((2024, 3, 10), 23), ((2024, 11, 3), 25)])
def test_days_of_clock_changes_are_judged_whole(day: tuple[int, int, int], hours: int) -> None:
    start = datetime(*day, tzinfo=NEW_YORK.zone).astimezone(UTC)
    gust = np.full((1, hours + 1), 5.0)
    gust[0, hours - 1] = 30.0
    found = threats(tree("acer-palmatum"), made(start, gust_ms=gust), NEW_YORK, "wind")
    assert [(one.day.day, one.begins) for one in found] == [(day[2], start + timedelta(hours=hours - 1))]


def test_judging_south_of_the_equator_is_the_same_half_a_year_later() -> None:
    """A house in the north there hides what one in the south hides here."""
    here = Place(36.1, -80.0, 273.0, ZoneInfo("Etc/GMT+5"))
    hour = np.arange(72) % 24
    light = 950.0 * np.maximum(np.sin(np.pi * (hour - 5) / 14.0), 0.0) * (hour < 19)
    t_c = 29.0 - 6.5 * np.cos(2.0 * np.pi * (hour - 4) / 24.0)
    south = ((0.0, 0.0), (100.0, 0.0), (101.0, 85.0), (259.0, 85.0), (260.0, 0.0))
    north = ((0.0, 85.0), (79.0, 85.0), (80.0, 0.0), (280.0, 0.0), (281.0, 85.0))

    def hottest(month: int, latitude: float, horizon: tuple[tuple[float, float], ...]) -> NDArray[np.float64]:
        hours = made(datetime(1990, month, 21, 5, tzinfo=UTC), t_c=t_c[None], sunlight_w_m2=light[None])
        spots = [spot(), spot(horizon=horizon)]
        place = replace(here, latitude=latitude)
        return np.asarray(peaks([tree("acer-palmatum")], spots, hours, place, RULES, "heat").typical[0])

    june, december = hottest(6, 36.1, south), hottest(12, -36.1, north)
    assert december == pytest.approx(june, abs=0.3)
    assert np.all(june[1] < june[0] - 0.2)
    assert np.all(december[1] < december[0] - 0.2)


def test_shelter_finds_the_same_at_the_same_spot() -> None:
    stands = [replace(one, spot=spot()) for one in garden()]
    spots = [spot(), spot("shade", cloth_percent=50), spot("house", profile="frost-free")]
    for hazard in HAZARDS:
        hours = FROST if hazard in ("frost", "cold roots") else MEMBERS
        found = peaks(stands, spots, hours, GREENSBORO, RULES, hazard)
        assert found.bad.shape == (len(stands), 3, len(found.days))
        told = {
            (one.tree, one.day): one
            for one in judge(stands, hours, GREENSBORO, RULES)
            if one.hazard == hazard
        }
        for (who, day), one in told.items():
            i, d = [stand.tree for stand in stands].index(who), found.days.index(day)
            assert found.bad[i, 0, d] == pytest.approx(one.bad)
            assert found.typical[i, 0, d] == pytest.approx(one.typical)
            assert (found.caution[i, 0, d], found.danger[i, 0, d]) == (one.caution, one.danger)


def test_shade_is_cooler_and_dimmer_and_a_house_has_no_frost() -> None:
    spots = [spot(), spot("shade", cloth_percent=50), spot("house", profile="frost-free")]
    found = peaks([tree("acer-palmatum")], spots, MEMBERS, GREENSBORO, RULES, "heat")
    assert np.all(found.bad[0, 1] < found.bad[0, 0])
    assert found.light_mol[1] == pytest.approx(found.light_mol[0] / 2.0)
    frost = peaks([tree("acer-palmatum", foliage="new")], spots, FROST, GREENSBORO, RULES, "frost")
    assert np.all(frost.bad[0, 2, 1:3] > 0.0)
    assert frost.bad[0, 0, 2] < 0.0
    bare = peaks([tree("acer-palmatum", foliage="none")], spots, FROST, GREENSBORO, RULES, "frost")
    assert np.isneginf(bare.caution).all()


def test_one_day_can_be_asked_for() -> None:
    whole = peaks([tree("acer-palmatum")], [spot()], MEMBERS, GREENSBORO, RULES, "hot roots")
    last = MEMBERS.part(MEMBERS.at(24), MEMBERS.at(72))
    part = peaks([tree("acer-palmatum")], [spot()], last, GREENSBORO, RULES, "hot roots")
    assert part.days == whole.days[1:]
    assert part.bad[0, 0, -1] == pytest.approx(whole.bad[0, 0, -1], abs=0.3)


def test_ids_are_those_of_the_trees() -> None:
    found = judge(garden(), MEMBERS, GREENSBORO, RULES)
    assert {one.tree for one in found} <= {stand.tree for stand in garden()}
    assert UUID(int=0) not in {one.tree for one in found}
