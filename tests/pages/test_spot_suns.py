"""The sun of a spot on the arc of a day: as its hours or its horizon let it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time
from typing import TYPE_CHECKING
from uuid import UUID

import pytest

from calendar_core.app.first_day.commands.demo import found_demo
from calendar_core.garden.model import Spot
from calendar_core.pages.views.spot_suns import sun_of
from tests.publishing.pictures.read_back import Picture

if TYPE_CHECKING:
    from pathlib import Path

    from calendar_core.app.shell.session import Session

DAY = date(2015, 6, 25)
SPOT = Spot(UUID(int=1), UUID(int=2), "bench")


@pytest.fixture
def session(tmp_path: Path) -> Session:
    return found_demo(tmp_path, DAY)


def at(session: Session, latitude: float, longitude: float, zone: str) -> Session:
    session.garden = replace(session.garden, latitude=latitude, longitude=longitude, zone=zone)
    return session


def test_a_spot_with_hours_is_reached_within_them(session: Session) -> None:
    strip = sun_of(session, replace(SPOT, sun_from=time(6), sun_to=time(13, 30)))
    assert (
        strip.sentence
        == "On 25 June the sun is up from 5:13 to 21:10. It reaches “bench” from 6:00 to 13:30."
    )
    drawn = Picture(strip.svg)
    (heavy,) = (stroke for stroke in drawn.strokes if stroke.width == 4.0)
    assert (heavy.points[0][0], heavy.points[-1][0]) == pytest.approx(
        (346 * 6 / 24, 346 * 13.5 / 24), abs=0.1
    )
    for words in ("6:00", "13:30"):
        assert drawn.text(words).y > 100


def test_hours_before_sunrise_are_none(session: Session) -> None:
    strip = sun_of(session, replace(SPOT, sun_from=time(4), sun_to=time(9)), date(2015, 12, 21))
    assert "It reaches “bench” from 7:5" in strip.sentence
    assert strip.sentence.endswith("to 9:00.")


def test_an_open_spot_is_reached_all_day_a_room_never(session: Session) -> None:
    assert sun_of(session, SPOT).sentence.endswith("It reaches “bench” all the while.")
    assert sun_of(session, replace(SPOT, profile="frost-free")).sentence.endswith(
        "It does not reach “bench”."
    )


def test_a_wall_in_the_south_hides_the_noon(session: Session) -> None:
    wall = replace(SPOT, horizon=((0.0, 0.0), (119.0, 0.0), (120.0, 80.0), (240.0, 80.0), (241.0, 0.0)))
    strip = sun_of(session, wall)
    assert strip.sentence.count("from") == 3  # the day, the morning, the afternoon
    drawn = Picture(strip.svg)
    morning, afternoon = (stroke for stroke in drawn.strokes if stroke.width == 4.0)
    assert morning.points[-1][0] < 346 * 13.2 / 24 < afternoon.points[0][0]


@pytest.mark.parametrize(
    ("place", "day", "told"),
    [
        ((78.2, 15.6, "Arctic/Longyearbyen"), date(2015, 6, 21), "On 21 June the sun does not set."),
        ((78.2, 15.6, "Arctic/Longyearbyen"), date(2015, 12, 21), "On 21 December the sun does not rise."),
        ((-35.3, 149.1, "Australia/Sydney"), date(2015, 6, 21), "On 21 June the sun is up from 7:"),
        ((60.2, 24.9, "Europe/Helsinki"), date(2015, 3, 29), "On 29 March the sun is up from 6:5"),
    ],
)  # fmt: skip
def test_everywhere_and_when_clocks_change(
    session: Session, place: tuple[float, float, str], day: date, told: str
) -> None:
    strip = sun_of(at(session, *place), SPOT, day)
    assert strip.sentence.startswith(told)
    assert Picture(strip.svg).said() == strip.sentence
