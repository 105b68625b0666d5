"""The picture of a year: curves as high as their values, today and the months in their places, on phone and desk."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta

import pytest

from calendar_core.publishing.pictures.drawing import DESK, PHONE
from calendar_core.publishing.pictures.panel import SCALE
from calendar_core.publishing.pictures.strips import Window
from calendar_core.publishing.pictures.year import NAMES, Row, YearPicture, YearText, year_picture
from calendar_core.science.year.daylight import day_length_h
from tests.publishing.pictures.read_back import Picture
from tests.publishing.pictures.test_strips import CUT, MONTHS

TODAY = date(2015, 6, 25)
START, END = TODAY - timedelta(days=28), TODAY + timedelta(days=366)
DAYS = (END - START).days + 1
NOW = (TODAY - START).days
TEXT = YearText(
    "Heat and day length of twelve months.", "Heat since 1 January, °C·d above 5 °C", "this year",
    "the months ahead, 8 years in 10", "past years, 8 in 10", "a usual year", "Day length", "today", MONTHS,
)  # fmt: skip


def sums(share: float, start: date = START) -> tuple[float, ...]:
    """Heat that begins anew on 1 January, after a gap on the last day of the year."""
    out = []
    for day in (start + timedelta(days=n) for n in range(DAYS)):
        of_year = day.timetuple().tm_yday
        last = (day + timedelta(days=1)).year != day.year
        out.append(math.nan if last else share * 1500 * (1 - math.cos(of_year / 366 * math.pi)))
    return tuple(out)


def picture(latitude: float = 47.6) -> YearPicture:
    light = day_length_h(latitude, [START.timetuple().tm_yday + n for n in range(DAYS)])
    ahead = tuple(
        tuple(math.nan if n < NOW else value for n, value in enumerate(sums(share)))
        for share in (0.95, 1.05, 1.15)
    )
    heat = tuple(value if n <= NOW else math.nan for n, value in enumerate(sums(1.05)))
    past = tuple(sums(share) for share in (0.85, 1.0, 1.1))
    rows = (Row("Cut back to one pair", (CUT,)), Row("leaves colour", (Window(CUT.opens),)))
    return YearPicture(TEXT, START, END, TODAY, tuple(light.tolist()), heat, ahead, past, rows)


def x(day: date, left: float, width: float) -> float:
    return left + (width - left) * ((day - START).days + 0.5) / DAYS


@pytest.mark.parametrize(("desk", "left", "width"), [(False, SCALE, PHONE), (True, NAMES, DESK)])
def test_curves_and_today_stand_where_they_belong(desk: bool, left: float, width: float) -> None:
    shown = picture()
    drawn = Picture(year_picture(shown, desk=desk))
    assert drawn.width == width
    marks = [s for s in drawn.strokes if s.ink == "accent"]
    assert len(marks) == 2 + len(shown.rows)
    assert all(p[0] == pytest.approx(x(TODAY, left, width), abs=0.06) for mark in marks for p in mark.points)
    (heat,) = (s for s in drawn.strokes if s.width == 2.8)
    nought, thousand = (drawn.text(words).y - 5 for words in ("0", "1000"))
    degree = (nought - thousand) / 1000
    for point in (heat.points[0], heat.points[-1]):
        n = round((point[0] - left) / (width - left) * DAYS - 0.5)
        assert point[1] == pytest.approx(nought - shown.heat[n] * degree, abs=0.2)
    assert heat.points[-1][0] == pytest.approx(x(TODAY, left, width), abs=0.06)


def test_sums_that_begin_anew_are_not_joined_to_those_before() -> None:
    drawn = Picture(year_picture(picture()))
    (usual,) = (s for s in drawn.strokes if s.dashes == "2 3" and len(s.points) > 2)
    assert len(usual.pieces) == 2
    before, after = (piece[edge] for piece, edge in zip(usual.pieces, (-1, 0), strict=True))
    assert before[0] <= x(date(2015, 12, 31), SCALE, PHONE) <= after[0]
    assert before[1] < after[1]


@pytest.mark.parametrize("latitude", [60.0, 78.2, -35.0, 0.0])
def test_day_length_is_drawn_at_every_latitude(latitude: float) -> None:
    shown = picture(latitude)
    drawn = Picture(year_picture(shown))
    (light,) = (s for s in drawn.strokes if s.width == 2.0 and len(s.points) > 100)
    spread = max(shown.day_length) - min(shown.day_length)
    if spread > 2:  # at the equator it is nearly flat
        longest = min(light.points, key=lambda point: point[1])
        n = round((longest[0] - SCALE) / (PHONE - SCALE) * DAYS - 0.5)
        assert shown.day_length[n] == pytest.approx(max(shown.day_length), abs=spread * 0.01)


def test_without_weather_of_this_year_or_past_ones_the_rest_is_drawn() -> None:
    shown = picture()
    alone = Picture(year_picture(replace(shown, heat=(), past=())))
    assert not [t for t in alone.texts if t.words in (TEXT.this_year, TEXT.usual)]
    assert alone.text(TEXT.ahead).ink == "ink"
    nothing = Picture(year_picture(replace(shown, heat=(), past=(), ahead=(), rows=())))
    assert not [t for t in nothing.texts if t.words == TEXT.heat]
    assert nothing.text(TEXT.day_length).bold


def test_long_names_are_set_in_lines() -> None:
    long = Row("Cut back to one pair of leaves on the strong shoots of the upper third", (CUT,))
    for desk in (False, True):
        drawn = Picture(year_picture(replace(picture(), rows=(long,) * 3), desk=desk))
        assert len([t for t in drawn.texts if t.words.startswith("Cut back")]) == 3


def test_a_curve_of_other_days_is_refused() -> None:
    with pytest.raises(ValueError, match=f"2 values; right would be one for each of {DAYS} days"):
        replace(picture(), heat=(1.0, 2.0))
