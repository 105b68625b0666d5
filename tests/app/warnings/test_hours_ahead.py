"""The hours ahead by spot: they are those that warnings are judged by, of the tree most at risk."""

from __future__ import annotations

import math
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import pytest

from alerts.air.hours import Place
from calendar_core.app.first_day.commands.demo import found_demo
from calendar_core.app.shell.session import Session, open_session
from calendar_core.app.warnings.hours_ahead import SHOWN, HoursAhead, hours_ahead, nights
from calendar_core.app.warnings.judging import Foreseen, Judged, foreseen, judged
from calendar_core.science.year.daylight import day_length_h

if TYPE_CHECKING:
    from pathlib import Path

    from calendar_core.app.warnings.hours_ahead import HazardHours

HOT, COLD = date(2015, 6, 25), date(2014, 2, 5)


def session_of(tmp_path: Path, today: date) -> Session:
    found_demo(tmp_path, today).store.close()
    return open_session(str(tmp_path / "garden.db"), None, today)


def day_of(session: Session, ahead: int, hours: int = 24, begin: int = 0) -> HoursAhead:
    found = foreseen(session, session.clock.now)
    assert isinstance(found, Foreseen)
    day = session.today + timedelta(days=ahead)
    begins = datetime.combine(day, time(begin), found.place.zone)
    return hours_ahead(session, found, [(begins, begins + timedelta(hours=hours))])[0]


def worst_of(hours: HazardHours) -> float:
    known = [value for value in hours.bad if not math.isnan(value)]
    return min(known) if hours.falling else max(known)


@pytest.mark.parametrize("today", [HOT, COLD])
def test_the_worst_of_each_spot_is_the_worst_threat_to_its_trees(tmp_path: Path, today: date) -> None:
    session = session_of(tmp_path, today)
    known = judged(session, session.clock.now)
    assert isinstance(known, Judged)
    compared = 0
    for ahead in range(1, 6):
        day = today + timedelta(days=ahead)
        # A night belongs to the day of its morning: it is asked for from noon to noon.
        for begin, shown in ((0, ("heat", "hot roots")), (12, ("frost", "cold roots"))):
            hours = day_of(session, ahead - (begin == 12), 24, begin)
            for spot in hours.spots:
                for hazard in shown:
                    threats = [
                        t
                        for t in known.threats
                        if t.hazard == hazard and t.day == day and t.tree in spot.trees
                    ]
                    found = spot.hazards.get(hazard)  # type: ignore[call-overload]
                    if not threats:
                        assert found is None or not found.harm
                        continue
                    sign = -1.0 if found.falling else 1.0
                    worst = min(threats, key=lambda t: sign * (t.caution - t.bad))
                    assert worst.tree in found.trees or math.isclose(
                        found.margin, sign * (worst.caution - worst.bad), abs_tol=1e-9
                    )
                    assert worst_of(found) == pytest.approx(worst.bad)
                    assert (found.caution, found.danger) == pytest.approx((worst.caution, worst.danger))
                    if found.harm:
                        assert (found.harm[0][0], found.harm[-1][1]) == (worst.begins, worst.ends)
                    compared += 1
    assert compared > 3


def test_hours_are_those_of_the_day_and_spots_come_in_the_order_of_danger(tmp_path: Path) -> None:
    session = session_of(tmp_path, HOT)
    hours = day_of(session, 1)
    assert len(hours.at) == 24
    assert hours.at[0] == datetime(2015, 6, 26, 0, 30, tzinfo=session.zone)
    assert {tree for spot in hours.spots for tree in spot.trees} == {tree.id for tree in session.trees}
    margins = [spot.worst.margin for spot in hours.spots if spot.worst]
    assert margins == sorted(margins)
    for spot in hours.spots:
        assert len(spot.air_c) == 24
        for hazard, found in spot.hazards.items():
            assert hazard in SHOWN
            assert len(found.likely) == len(found.bad) == 24
            assert set(found.trees) <= set(spot.trees)
            for begins, ends in found.harm:
                passed = [
                    bad >= found.caution if not found.falling else bad <= found.caution
                    for at, bad in zip(hours.at, found.bad, strict=True)
                    if begins < at < ends
                ]
                assert passed
                assert all(passed)


def test_nights_are_the_hours_in_which_the_sun_is_down(tmp_path: Path) -> None:
    hours = day_of(session_of(tmp_path, HOT), 1)
    (_, dawn), (dusk, _) = hours.nights
    # The United States Naval Observatory has 5:13 and 21:10 for Seattle (from memory; a minute either way).
    local = (moment.astimezone(hours.at[0].tzinfo) for moment in (dawn, dusk))
    assert [round(at.hour * 60 + at.minute, -1) for at in local] == [5 * 60 + 10, 21 * 60 + 10]


@pytest.mark.parametrize("latitude", [60.0, -35.0, 0.0])
def test_nights_and_days_take_turns_at_every_latitude(latitude: float) -> None:
    place = Place(latitude, 15.0, 0.0, ZoneInfo("Europe/Berlin"))
    begins = datetime(2015, 6, 1, tzinfo=place.zone)
    found = nights(place, (begins, begins + timedelta(days=10)))
    assert len(found) == 11
    dark = sum(((ends - at).total_seconds() for at, ends in found), 0.0) / 3600 / 10
    lengths = [day_length_h(latitude, [152 + n])[0] for n in range(10)]
    assert dark == pytest.approx(24 - sum(lengths) / 10, abs=0.1)


def test_polar_day_has_no_night_and_polar_night_no_day() -> None:
    place = Place(78.2, 15.6, 0.0, ZoneInfo("Arctic/Longyearbyen"))
    for month, expected in ((6, 0), (12, 1)):
        begins = datetime(2015, month, 20, tzinfo=place.zone)
        span = (begins, begins + timedelta(days=2))
        found = nights(place, span)
        assert found == (span,) * expected


def test_under_cloth_leaves_are_cooler_by_day(tmp_path: Path) -> None:
    session = session_of(tmp_path, HOT)
    sunny = max(day_of(session, 2).spots, key=lambda spot: max(spot.hazards["heat"].bad)).hazards["heat"]
    assert len(sunny.there) == 24
    assert max(sunny.there) < max(sunny.bad) - 1.0


def test_only_the_trees_asked_for_are_told_and_where_they_would_go(tmp_path: Path) -> None:
    session = session_of(tmp_path, HOT)
    found = foreseen(session, session.clock.now)
    assert isinstance(found, Foreseen)
    begins = datetime.combine(HOT + timedelta(days=1), time(), session.zone)
    tree = next(tree for tree in session.trees if tree.label == "Maple 4")
    ash = next(spot for spot in session.spots.values() if spot.name == "under the ash")
    (hours,) = hours_ahead(session, found, [(begins, begins + timedelta(days=1))], {tree.id}, ash)
    (there,) = hours.spots
    assert there.trees == (tree.id,)
    assert max(there.hazards["heat"].there) < max(there.hazards["heat"].bad)
    assert there.hazards["hot roots"].there


def test_beyond_the_forecast_there_is_no_hour(tmp_path: Path) -> None:
    hours = day_of(session_of(tmp_path, HOT), 200)
    assert hours.at == ()
    assert all(not spot.hazards for spot in hours.spots)
