"""Values as a grower reads them, in metric and US units."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from calendar_core.planning.items import Range
from calendar_core.wording.style import Style

METRIC, US = Style("metric"), Style("us")


@pytest.mark.parametrize(
    ("celsius", "metric", "us"),
    # Fixed points of both scales and where they meet (definition: degF = 1.8 degC + 32).
    [
        (0, "0 °C", "32 °F"),
        (100, "100 °C", "212 °F"),
        (-40, "-40 °C", "-40 °F"),
        (-2.8, "-2.8 °C", "27 °F"),
        (37.0, "37 °C", "99 °F"),
    ],
)
def test_temperatures(celsius: float, metric: str, us: str) -> None:
    assert (METRIC.temperature(celsius), US.temperature(celsius)) == (metric, us)


def test_heat_sums_have_no_zero_point() -> None:
    # A degree-day of Celsius is 1.8 of Fahrenheit, without the 32.
    assert (METRIC.heat(100), US.heat(100)) == ("100 °C·d", "180 °F·d")


@pytest.mark.parametrize("celsius", [-0.0, -0.04, -17.9])
def test_no_temperature_is_minus_nothing(celsius: float) -> None:
    for text in (METRIC.temperature(celsius), US.temperature(celsius)):
        assert not text.startswith(("-0 ", "-0.0"))


def test_temperatures_inside_texts() -> None:
    text = "From 33 degC take care, below -2.5 degC too; 70 % stays."
    assert METRIC.text(text) == "From 33 °C take care, below -2.5 °C too; 70 % stays."
    assert US.text(text) == "From 91 °F take care, below 28 °F too; 70 % stays."


@pytest.mark.parametrize(
    ("day", "near", "metric", "us"),
    [
        (date(2015, 6, 4), date(2015, 1, 1), "4 June", "June 4"),
        (date(2016, 6, 4), date(2015, 1, 1), "4 June 2016", "June 4, 2016"),
        (date(2016, 2, 29), None, "29 February 2016", "February 29, 2016"),
    ],
)
def test_days_have_their_year_where_it_is_another(day: date, near: date | None, metric: str, us: str) -> None:
    assert (METRIC.day(day, near), US.day(day, near)) == (metric, us)


def test_a_short_day_has_its_year_only_beside_a_day_of_another() -> None:
    day = date(2014, 7, 20)
    assert (METRIC.short_day(day), US.short_day(day)) == ("20 Jul", "Jul 20")
    assert METRIC.short_day(day, near=date(2014, 1, 1)) == "20 Jul"
    near = date(2015, 6, 14)
    assert (METRIC.short_day(day, near), US.short_day(day, near)) == ("20 Jul 2014", "Jul 20, 2014")


@pytest.mark.parametrize(
    ("early", "late", "metric", "us"),
    [
        (date(2015, 4, 2), date(2015, 4, 24), "2 to 24 April", "April 2 to April 24"),
        (date(2015, 4, 28), date(2015, 5, 3), "28 April to 3 May", "April 28 to May 3"),
        (date(2015, 4, 2), date(2015, 4, 2), "2 April", "April 2"),
        (
            date(2015, 12, 28),
            date(2016, 1, 3),
            "28 December to 3 January 2016",
            "December 28 to January 3, 2016",
        ),
        (date(2016, 4, 2), date(2016, 5, 3), "2 April to 3 May 2016", "April 2 to May 3, 2016"),
        (date(2016, 4, 2), date(2016, 4, 24), "2 to 24 April 2016", "April 2 to April 24, 2016"),
    ],
)
def test_spans(early: date, late: date, metric: str, us: str) -> None:
    dates = Range(early, early, late)
    near = date(2015, 1, 1)
    assert (METRIC.span(dates, near), US.span(dates, near)) == (metric, us)


@pytest.mark.parametrize(
    ("share", "text"),
    [
        (1.0, "nearly always"),
        (0.96, "nearly always"),
        (0.84, "8 times in 10"),
        (0.1, "once in 10"),
        (0.04, "hardly ever"),
    ],
)
def test_chances_are_frequencies(share: float, text: str) -> None:
    assert METRIC.chance(share) == text


@pytest.mark.parametrize(
    ("number", "text"), [(0, "no"), (1, "one"), (12, "twelve"), (13, "13"), (2.5, "2.5"), (-3, "-3")]
)
def test_small_counts_are_words(number: float, text: str) -> None:
    assert METRIC.count(number) == text


def test_clock_times() -> None:
    assert METRIC.clock(datetime(2015, 6, 24, 5, 7, tzinfo=UTC)) == "5:07"


def test_sentences_go_through_the_translator() -> None:
    shouting = Style("metric", str.upper)
    assert shouting.chance(1.0) == "NEARLY ALWAYS"
    assert shouting.text("below 10 degC").startswith("BELOW")
