"""Measures over time, and the sun's arc of a spot."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.publishing.pictures.day import Mark
from calendar_core.publishing.pictures.measures import Forecast, Measured, MeasurePicture, measure_picture
from calendar_core.publishing.pictures.sun_arc import SKY, SunArc, sun_arc
from calendar_core.science.hour.sun_path import sun_path
from tests.publishing.pictures.read_back import SVG, Picture

WOUND = MeasurePicture(
    "The wound was 24 mm wide, is 17 and likely closes in August 2017.",
    (
        Measured(
            "width", ((date(2014, 3, 1), 24.0), (date(2014, 9, 1), 20.0), (date(2015, 5, 20), 17.0)), "17 mm"
        ),
    ),
    date(2015, 6, 25),
    "mm",
    Forecast(0.0, date(2016, 6, 1), date(2017, 8, 1), date(2018, 9, 1)),
    days=((date(2014, 3, 1), "March 2014"), (date(2017, 8, 1), "August 2017")),
)


def dots(drawn: Picture) -> list[tuple[float, float]]:
    return [(float(e.attrib["cx"]), float(e.attrib["cy"])) for e in drawn.root.iter(f"{SVG}circle")]


def test_measures_stand_on_their_days_and_as_high_as_they_are() -> None:
    drawn = Picture(measure_picture(WOUND))
    found = dots(drawn)
    (course,) = WOUND.courses
    assert len(found) == len(course.values)
    first, last = course.values[0], (WOUND.forecast.late, 0.0) if WOUND.forecast else None
    assert last is not None
    left = found[0][0]
    nought, twenty = (drawn.text(words).y - 5 for words in ("0", "20"))
    whole = (last[0] - first[0]).days
    for (day, value), (x, y) in zip(course.values, found, strict=True):
        assert x == pytest.approx(left + (346 - 8 - left) * (day - first[0]).days / whole, abs=0.1)
        assert y == pytest.approx(nought - value * (nought - twenty) / 20, abs=0.15)
    assert drawn.text("17 mm").bold


def test_a_forecast_reaches_its_value_on_the_likely_day_as_wide_as_it_is_unsure() -> None:
    drawn = Picture(measure_picture(WOUND))
    nought = drawn.text("0").y - 5
    (fan,) = (s for s in drawn.strokes if s.dashes == "5 3")
    (reach,) = (s for s in drawn.strokes if s.width == 3.0)
    assert fan.points[0] == dots(drawn)[-1]
    assert reach.points[0][0] < fan.points[1][0] < reach.points[1][0]
    assert all(y == pytest.approx(nought, abs=0.06) for _, y in (*reach.points, fan.points[1]))


def test_several_courses_are_told_apart_by_more_than_colour() -> None:
    graft = MeasurePicture(
        "Before the trunk 3.1 mm, after it 3.4.",
        (
            Measured("before the trunk", ((date(2014, 5, 1), 2.2), (date(2015, 5, 20), 3.1)), "3.1 mm"),
            Measured("after the trunk", ((date(2014, 5, 1), 1.2), (date(2015, 5, 20), 3.4)), "3.4 mm"),
        ),
        date(2015, 6, 25),
        "mm",
        wanted=(3.3, "to be severed"),
    )
    drawn = Picture(measure_picture(graft))
    assert len({s.dashes for s in drawn.strokes if s.width == 2.0 and s.ink == "ink"}) == 2
    for words in ("before the trunk", "after the trunk", "3.1 mm", "3.4 mm", "to be severed"):
        assert any(words in text.words for text in drawn.texts), words


def test_a_single_measure_is_a_dot_and_none_is_refused() -> None:
    one = replace(WOUND, courses=(Measured("width", ((WOUND.today, 0.0),), "0 mm"),), forecast=None, days=())
    assert len(dots(Picture(measure_picture(one)))) == 1
    with pytest.raises(ValueError, match="at least one value"):
        replace(WOUND, courses=(Measured("width", ()),))


@given(
    st.lists(
        st.tuples(st.dates(date(2005, 1, 1), date(2015, 6, 25)), st.floats(0, 20_000)), min_size=1, max_size=9
    ),
    st.booleans(),
)
def test_any_measures_keep_their_texts_apart_and_inside(
    values: list[tuple[date, float]], twice: bool
) -> None:
    course = Measured("width", tuple(sorted(values)), f"{max(values)[1]:g} mm")
    picture = replace(WOUND, courses=(course, replace(course, name="again")) if twice else (course,))
    assert len(dots(Picture(measure_picture(picture)))) == len(values) * (1 + twice)


def arc(
    latitude: float, longitude: float, zone: str, day: date, sunny: tuple[tuple[float, float], ...]
) -> SunArc:
    begin = datetime(day.year, day.month, day.day, tzinfo=ZoneInfo(zone))
    moments = [begin + timedelta(minutes=20 * n) for n in range(73)]
    utc = np.array([m.astimezone(UTC).replace(tzinfo=None) for m in moments], dtype="datetime64[s]")
    heights = sun_path(latitude, longitude, utc).elevation_deg.tolist()
    spans = tuple((begin + timedelta(hours=a), begin + timedelta(hours=b)) for a, b in sunny)
    marks = tuple(
        Mark(at, f"{at:%H:%M}", words)
        for span in spans
        for at, words in zip(span, ("sun from", "to"), strict=True)
    )
    return SunArc("The sun of a spot.", tuple(zip(moments, heights, strict=True)), spans, marks)


@pytest.mark.parametrize(
    ("latitude", "longitude", "zone"),
    [
        (47.6, -122.3, "America/Los_Angeles"),
        (-35.0, 149.1, "Australia/Sydney"),
        (60.2, 24.9, "Europe/Helsinki"),
    ],
)
def test_the_spots_hours_are_heavy_on_the_arc(latitude: float, longitude: float, zone: str) -> None:
    shown = arc(latitude, longitude, zone, date(2015, 9, 20), ((9.0, 13.5),))
    drawn = Picture(sun_arc(shown))
    (heavy,) = (s for s in drawn.strokes if s.width == 4.0)
    assert heavy.points[0][0] == pytest.approx(346 * 9 / 24, abs=0.1)
    assert heavy.points[-1][0] == pytest.approx(346 * 13.5 / 24, abs=0.1)
    (whole,) = (s for s in drawn.strokes if s.dashes)
    noon = min(whole.points, key=lambda point: point[1])
    highest = max(shown.course, key=lambda moment: moment[1])[0]
    assert noon[0] == pytest.approx(346 * (highest - shown.course[0][0]) / timedelta(hours=24), abs=0.1)
    assert whole.points[0][1] == whole.points[-1][1] == SKY
    assert drawn.text("sun from").y > SKY


def test_the_arc_of_polar_day_and_night() -> None:
    summer, winter = (
        arc(78.2, 15.6, "Arctic/Longyearbyen", date(2015, month, 21), ((9.0, 13.5),)) for month in (6, 12)
    )
    (whole,) = (s for s in Picture(sun_arc(summer)).strokes if s.dashes)
    assert (whole.points[0][0], whole.points[-1][0]) == (0.0, 346.0)
    assert max(y for _, y in whole.points) < SKY
    night = Picture(sun_arc(winter))
    assert not [s for s in night.strokes if s.dashes or s.width == 4.0]


def test_hours_of_sun_before_sunrise_are_not_drawn() -> None:
    shown = arc(47.6, -122.3, "America/Los_Angeles", date(2015, 12, 21), ((6.0, 12.0),))
    (heavy,) = (s for s in Picture(sun_arc(shown)).strokes if s.width == 4.0)
    assert heavy.points[0][0] > 346 * 7.5 / 24  # the sun rises shortly before eight
    assert heavy.points[0][1] == SKY
