"""The strip of a day: hours, lines and marks where they belong; polar day and night, frost, a change of clocks."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.publishing.pictures.day import PLOT, Course, DayPicture, Line, Mark, day_strip
from tests.publishing.pictures.read_back import Picture

ZONE = ZoneInfo("America/Los_Angeles")
RISE, SET = datetime(2015, 6, 25, 5, 12, tzinfo=ZONE), datetime(2015, 6, 25, 21, 10, tzinfo=ZONE)


def hour(h: float, day: int = 25) -> datetime:
    return datetime(2015, 6, day, tzinfo=ZONE) + timedelta(hours=h)


def leaf(top: float, low: float = 15.0) -> tuple[float, ...]:
    return tuple(low + (top - low) * max(0.0, math.sin((h - 5) / 16 * math.pi)) for h in range(24))


MIDDLES = tuple(hour(h + 0.5) for h in range(24))
HOT = DayPicture(
    "Leaves in the sun reach 43 degrees.",
    RISE,
    SET,
    (Course(MIDDLES, leaf(43.0), "43° in the sun"), Course(MIDDLES, leaf(36.0), "36° under cloth")),
    (Line(38.0, "harm from 38°"),),
    ((hour(12), hour(17)),),
    ((hour(0), RISE), (SET, hour(24))),
    (
        Mark(hour(8), "8:00", "water"),
        Mark(hour(11), "11:00", "shade 3"),
        Mark(hour(15), "15:00", "small pots"),
        Mark(hour(18.5), "18:30", "back out"),
    ),
)


def x(moment: datetime, picture: DayPicture, width: float = 346.0) -> float:
    """Where a moment stands: its share of the time from the begin to the end."""
    return width * ((moment - picture.begins) / (picture.ends - picture.begins))


def test_the_hours_of_harm_are_hatched_and_marks_stand_at_their_hours() -> None:
    drawn = Picture(day_strip(HOT))
    (hatched,) = (bar for bar in drawn.bars if bar.hatched)
    assert (hatched.left, hatched.right) == pytest.approx((x(hour(12), HOT), x(hour(17), HOT)), abs=0.12)
    for mark in HOT.marks:
        place = x(mark.at, HOT)
        ticks = [s for s in drawn.strokes if len(s.points) == 2 and s.points[0][1] < PLOT < s.points[1][1]]
        assert any(tick.points[0][0] == pytest.approx(place, abs=0.06) for tick in ticks)
        time, words = drawn.text(mark.hour), drawn.text(mark.words)
        assert time.bold
        assert not words.bold
        assert time.y < words.y
        assert abs((time.left + time.right) / 2 - place) < 40


def test_curves_are_as_high_as_their_temperatures() -> None:
    drawn = Picture(day_strip(HOT))
    whole, dashed = (s for s in drawn.strokes if len(s.points) > 5)
    assert not whole.dashes
    assert dashed.dashes
    (line,) = (s for s in drawn.strokes if [x for x, _ in s.points] == [0.0, 346.0])
    # Two temperatures give the scale: the peak of the solid curve and the line of harm.
    peak = min(whole.points, key=lambda point: point[1])
    degree = (line.points[0][1] - peak[1]) / (max(leaf(43.0)) - 38.0)
    assert degree > 0
    for points, values in ((whole.points, leaf(43.0)), (dashed.points, leaf(36.0))):
        for moment, value in zip(MIDDLES, values, strict=True):
            if RISE < moment < SET:  # the curve is drawn to a tenth
                y = line.points[0][1] + (38.0 - value) * degree
                assert any(point == pytest.approx((x(moment, HOT), y), abs=0.3) for point in points), moment
        assert points[0][0] == 0.0
        assert points[-1][0] == pytest.approx(346.0)


def test_labels_stand_at_the_worst_of_their_curves() -> None:
    drawn = Picture(day_strip(HOT))
    for words in ("43° in the sun", "36° under cloth"):
        label = drawn.text(words)
        assert label.bold
        assert abs((label.left + label.right) / 2 - x(hour(13), HOT)) < 80
    assert drawn.text("harm from 38°").y < PLOT


def frost_night() -> DayPicture:
    noon = datetime(2014, 2, 5, 12, tzinfo=ZONE)
    at = tuple(noon + timedelta(hours=h + 0.5) for h in range(24))
    ball = tuple(1 - 9 * math.exp(-(((h - 18) / 5) ** 2)) for h in range(24))
    return DayPicture(
        "Root balls freeze to -8 degrees before sunrise.", noon, noon + timedelta(hours=24),
        (Course(at, ball, "-8° root ball"), Course(at, tuple(value - 2 for value in ball), "-10° air")),
        (Line(-4.0, "-4° line of roots"),), ((noon + timedelta(hours=13), noon + timedelta(hours=23)),),
        ((noon + timedelta(hours=5.4), noon + timedelta(hours=19.6)),),
        (Mark(noon + timedelta(hours=4), "16:00", "under the eaves"),),
        tuple(Mark(noon + timedelta(hours=h), f"{(12 + h) % 24}:00") for h in (6, 12, 18)), falling=True,
    )  # fmt: skip


def test_a_frost_night_has_its_label_at_the_coldest_hour() -> None:
    night = frost_night()
    drawn = Picture(day_strip(night))
    label = drawn.text("-8° root ball")
    assert abs((label.left + label.right) / 2 - 346 * 18.5 / 24) < 60
    assert drawn.text("18:00").ink == "quiet"
    dusk, dawn = sorted((bar for bar in drawn.bars if bar.stops), key=lambda bar: bar.left)
    assert dusk.right == pytest.approx(346 * 5.4 / 24, abs=0.1)  # it is dark when the sun is down
    assert dusk.stops[0][1] < dusk.stops[-1][1]
    assert dawn.left == pytest.approx(346 * 19.6 / 24, abs=0.1)
    assert dawn.stops[0][1] > dawn.stops[-1][1]


def test_polar_day_has_no_dusk_and_polar_night_no_day() -> None:
    day = replace(HOT, begins=hour(0), ends=hour(24), nights=())
    assert not [bar for bar in Picture(day_strip(day)).bars if bar.stops]
    night = replace(day, nights=((hour(0), hour(24)),))
    dark = Picture(day_strip(night))
    assert not [bar for bar in dark.bars if bar.stops]
    assert sum((bar.left, bar.right) == (0.0, 346.0) and not bar.hatched for bar in dark.bars) == 2


@pytest.mark.parametrize("day", [datetime(2015, 3, 8), datetime(2015, 11, 1)])  # noqa: DTZ001 - given a zone below
def test_on_a_day_of_another_length_hours_stand_by_the_time_that_passes(day: datetime) -> None:
    begins, ends = day.replace(tzinfo=ZONE), (day + timedelta(days=1)).replace(tzinfo=ZONE)
    noon = day.replace(hour=12, tzinfo=ZONE)
    hours = (ends.timestamp() - begins.timestamp()) / 3600
    assert hours in (23.0, 25.0)
    picture = DayPicture("A day of another length.", begins, ends, (), hours=(Mark(noon, "12:00"),))
    label = Picture(day_strip(picture)).text("12:00")
    assert (label.left + label.right) / 2 == pytest.approx(346 * (hours - 12) / hours, abs=1.0)


def test_what_is_not_known_lifts_the_pen() -> None:
    values = list(leaf(43.0))
    values[12:15] = [math.nan] * 3
    drawn = Picture(day_strip(replace(HOT, courses=(Course(MIDDLES, tuple(values), "43°"),))))
    (curve,) = (s for s in drawn.strokes if len(s.points) > 5)
    assert len(curve.pieces) == 2
    assert Picture(day_strip(replace(HOT, courses=(Course(MIDDLES, (math.nan,) * 24, "unknown"),)))).texts


def test_a_day_without_change_is_drawn_flat() -> None:
    flat = DayPicture("It stays at 3 degrees.", hour(0), hour(24), (Course(MIDDLES, (3.0,) * 24, "3°"),))
    (curve,) = (s for s in Picture(day_strip(flat)).strokes if len(s.points) > 5)
    assert {y for _, y in curve.points} == {PLOT / 2}


def test_now_is_marked_only_within_the_picture() -> None:
    for now, marked in ((hour(9), True), (hour(23), False), (None, False)):
        drawn = Picture(day_strip(replace(HOT, now=now)))
        assert any(stroke.ink == "accent" for stroke in drawn.strokes) is marked


def test_the_same_values_give_the_same_bytes_and_others_other_names() -> None:
    assert day_strip(HOT) == day_strip(replace(HOT))
    first, second = (
        {e.attrib["id"] for e in Picture(day_strip(p)).root.iter() if "id" in e.attrib}
        for p in (HOT, frost_night())
    )
    assert first
    assert not first & second


def test_a_picture_that_ends_before_it_begins_is_refused() -> None:
    with pytest.raises(ValueError, match="right would be after its begin"):
        replace(HOT, ends=RISE)
    with pytest.raises(ValueError, match="2 values at 24 moments"):
        DayPicture("", RISE, SET, (Course(MIDDLES, (1.0, 2.0), "leaf"),))


WORDS = st.text(
    st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Cn", "Co", "Zl", "Zp", "Mn", "Me")),
    max_size=30,
)


@given(
    st.lists(st.floats(-40, 60), min_size=24, max_size=24),
    st.floats(-20, 55),
    st.lists(st.tuples(st.floats(0, 24), WORDS), max_size=6),
    st.booleans(),
)
def test_any_day_keeps_its_texts_apart_and_inside(
    values: list[float], line: float, marks: list[tuple[float, str]], falling: bool
) -> None:
    picture = DayPicture(
        "Any day.", hour(0), hour(24), (Course(MIDDLES, tuple(values), "43° in the sun"),),
        (Line(line, "line of tender leaves"),),
        marks=tuple(Mark(hour(h), f"{int(h)}:00", words) for h, words in marks), falling=falling,
    )  # fmt: skip
    drawn = Picture(day_strip(picture))
    told = "".join("".join(text.words.split()) for text in drawn.texts)
    assert "lineoftenderleaves" in told
    assert "43°inthesun" in told
