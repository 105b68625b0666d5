"""The season line in words."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from typing import Any

import pytest

from calendar_core.planning.seasons.season_line import SeasonLine
from calendar_core.science.year.daylight import SunTimes
from calendar_core.wording.plan.season_text import season_sentences
from calendar_core.wording.style import Style

TODAY = date(2015, 6, 24)
SUN = SunTimes(datetime(2015, 6, 24, 5, 12, tzinfo=UTC), datetime(2015, 6, 24, 21, 11, tzinfo=UTC), 15.98)


def told(units: Any = "metric", sun: SunTimes = SUN, **keys: Any) -> list[str]:
    values: dict[str, Any] = {
        "change_min": -0.6,
        "bud_break": date(2015, 3, 14),
        "heat": 640.0,
        "ahead_days": 9,
        "more_heat": 120.0,
    }
    sentences = season_sentences(SeasonLine(sun, **{**values, **keys}), Style(units), TODAY)
    for text in sentences:
        assert not re.search(r"[{}_]|None|nan|degC|  | [.,;:]|;;|::", text), text
        assert text.endswith(".")
    return sentences


def test_sun_and_heat() -> None:
    sun, heat = told()
    assert sun == "Sun 5:12 to 21:11, 15 h 59 min, 1 min less than yesterday."
    assert heat == (
        "Heat since bud break about 14 March: 640 °C·d above 5 °C; the year stands nine days ahead of a usual one."
    )


def test_in_us_units() -> None:
    _, heat = told("us")
    assert "March 14: 1152 °F·d above 41 °F" in heat
    assert "°C" not in heat


@pytest.mark.parametrize(
    ("change_min", "text"),
    [(3.4, "3 min more than yesterday"), (-3.4, "3 min less than yesterday"), (0.3, "as long as yesterday")],
)
def test_days_lengthen_and_shorten(change_min: float, text: str) -> None:
    assert text in told(change_min=change_min)[0]


@pytest.mark.parametrize(
    ("days", "text"),
    [
        (0, "stands where a usual one does"),
        (-1, "stands where a usual one does"),
        (2, "two days ahead of a usual one"),
        (-30, "30 days behind a usual one"),
    ],
)
def test_ahead_or_behind(days: int, text: str) -> None:
    assert text in told(ahead_days=days)[1]


@pytest.mark.parametrize(("length_h", "text"), [(24.0, "does not set"), (0.0, "does not rise")])
def test_polar_day_and_night(length_h: float, text: str) -> None:
    assert text in told(sun=SunTimes(None, None, length_h))[0]


def test_a_day_without_a_set_in_it_is_told_by_its_length() -> None:
    assert told(sun=SunTimes(SUN.rise, None, 22.5))[0].startswith("Daylight 22 h 30 min")


@pytest.mark.parametrize("more", [0.0, 60.0, -60.0])
@pytest.mark.parametrize("broke", [None, date(2015, 3, 14)])
def test_where_days_say_nothing_heat_does(more: float, broke: date | None) -> None:
    _, heat = told(ahead_days=None, more_heat=more, bud_break=broke, heat=None if broke is None else 40.0)
    assert "usual year" in heat
    assert ("more than" in heat) == (more > 20)
    assert ("less than" in heat) == (more < -20)


def test_a_year_that_is_not_known_has_its_sun_only() -> None:
    assert len(told(bud_break=None, heat=None, ahead_days=None, more_heat=None)) == 1
    assert len(told(heat=None, ahead_days=None, more_heat=None)) == 1
