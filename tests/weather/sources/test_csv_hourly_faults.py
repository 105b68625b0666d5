"""An own thermometer's file that cannot be read: one clear line for each thing to mend."""

from __future__ import annotations

from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.weather.sources.csv_hourly import COLUMNS, parse_hourly_csv
from calendar_core.weather.sources.csv_table import BadWeatherFile

ZURICH = ZoneInfo("Europe/Zurich")
HEAD = "time,temp\n"


def faults(text: str, columns: dict[str, str] | None = None) -> tuple[str, ...]:
    with pytest.raises(BadWeatherFile) as refused:
        parse_hourly_csv(text, file="mine.csv", zone=ZURICH, columns=columns)
    return refused.value.lines


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", "mine.csv: is empty; right would be a header line such as time,temperature"),
        (HEAD, "mine.csv: no reading can be found; right would be one line for each below the header"),
        ("temp\n20\n", "mine.csv: no column looks like time; right would be to name it, one of temp"),
        (
            "time,shed\n",
            "mine.csv: no column looks like temperature; right would be to name it, one of time, shed",
        ),
        (
            "time,temp,outdoor temp\n",
            "mine.csv: temp, outdoor temp may all be temperature; right would be to name the one column",
        ),
        (
            HEAD + "yesterday,20\n",
            "mine.csv line 2: time 'yesterday' is no time; right would be such as 2015-06-24",
        ),
        (HEAD + "24.06.15 14:00,20\n", "mine.csv line 2: time '24.06.15 14:00' is no time; right"),
        (HEAD + "2024-02-30 14:00,20\n", "mine.csv line 2: time '2024-02-30 14:00' does not exist; right"),
        (HEAD + "2024-02-20 25:00,20\n", "mine.csv line 2: time '2024-02-20 25:00' does not exist; right"),
        (
            HEAD + "2024-02-20 13:00 PM,20\n",
            "mine.csv line 2: time '2024-02-20 13:00 PM' does not exist; right",
        ),
        (HEAD + "0204-02-20 13:00,20\n", "mine.csv line 2: time '0204-02-20 13:00' does not exist; right"),
        (
            HEAD + "9999-12-31T23:30-14:00,20\n",
            "mine.csv line 2: time '9999-12-31T23:30-14:00' does not exist; right",
        ),
        (HEAD + "2024-02-20 13:00\n", "mine.csv line 2: has 1 cells; right would be 2 or more"),
        (
            HEAD + "2024-02-20 13:00,warm\n",
            "mine.csv line 2: temperature 'warm' is no number; right would be 12.5",
        ),
        (
            HEAD + "2024-02-20 13:00,-999\n",
            "mine.csv line 2: temperature -999 looks like a code for not measured",
        ),
        (
            HEAD + "2024-02-20 13:00,5\n20.02.2024 14:00,6\n21.02.2024 14:00,6\n",
            "mine.csv: times are written in two ways, '2024-02-20 13:00' in line 2 and '20.02.2024 14:00' in line",
        ),
        (
            HEAD + "2024-02-20 13:00,5\n2024-02-20 14:00Z,6\n",
            "mine.csv: times are written in two ways, '2024-02-20 13:00' in line 2 and '2024-02-20 14:00Z' in line 3",
        ),
        (
            HEAD + "1/2/2024 13:00,5\n2/2/2024 14:00,6\n",
            "mine.csv: times such as '1/2/2024 13:00': day and month cannot be told apart; right would be year",
        ),
        (
            HEAD + "13/2/2024 13:00,5\n2/13/2024 14:00,6\n",
            "mine.csv: times such as '13/2/2024 13:00': some have the day first and some the month; right",
        ),
        (
            HEAD + "2024-02-20 13:00,5\n2024-02-20 13:00,5\n",
            "mine.csv line 3: 2024-02-20 13:00 comes again after line 2; right would be one line for each time",
        ),
        (
            HEAD + "2024-02-20T13:00+01:00,5\n2024-02-20T12:00Z,6\n",
            "mine.csv line 3: 2024-02-20T12:00Z comes again after line 2; right would be one line for each time",
        ),
        (
            HEAD + "2024-02-20 13:00,5\n2024-02-21 13:00,5\n",
            "mine.csv: has a reading every 1440 minutes; right would be 1 to 180 minutes (whole days are read as daily",
        ),
        (
            HEAD + "2024-02-20 13:00:00,5\n2024-02-20 13:00:10,5\n",
            "mine.csv: has a reading every 0.166667 minutes; right would be 1 to 180 minutes",
        ),
        (
            HEAD + "2024-02-20 13:00,71\n2024-02-20 14:00,70\n2024-02-20 15:00,69\n",
            "mine.csv: 3 hours are beyond what any station has measured, such as 71 °C; right would be another unit",
        ),
    ],
)
def test_one_line_says_what_is_wrong_and_what_would_be_right(text: str, expected: str) -> None:
    (fault,) = faults(text)
    assert fault.startswith(expected)


def test_all_faults_are_told_together_and_the_rest_counted() -> None:
    text = HEAD + "".join(f"2024-02-20 {k:02}:00,x\n" for k in range(23)) + "soon,5\n"
    found = faults(text)
    assert found[0].startswith("mine.csv line 2: temperature 'x'")
    assert (len(found), found[-1]) == (21, "and 4 more")
    two = faults(HEAD + "2024-02-20 13:00,x\n2024-02-30 13:00,5\n2024-03-31 02:30,5\n")
    assert [line.split(":")[0] for line in two] == ["mine.csv line 2", "mine.csv line 3", "mine.csv line 4"]


def test_a_column_that_cannot_be_named_is_told_with_those_that_can() -> None:
    (fault,) = faults("time,temp\n2024-02-20 13:00,5\n", columns={"t_min": "temp"})
    assert fault.endswith(f"right would be one of {', '.join(COLUMNS)}")


@given(st.text(alphabet='0123456789-/.:,;TZ+ \n\tampPM"', max_size=120))
def test_whatever_stands_in_a_file_is_read_or_refused_in_words(body: str) -> None:
    lines: tuple[str, ...] = ()
    try:
        found = parse_hourly_csv(HEAD + body, file="mine.csv", zone=ZURICH)
    except BadWeatherFile as refused:
        lines = refused.lines
    else:
        assert len(found.hourly)
    assert all(line.startswith(("mine.csv", "and ")) for line in lines)


def test_kelvin_is_named() -> None:
    hours = "".join(f"2015-06-01 {hour:02}:00,{283 + hour / 3:.1f}\n" for hour in range(24))
    assert list(faults("time,temperature\n" + hours)) == [
        (
            "mine.csv: 287 °C on average is implausible, read in the declared unit; right would be degrees Celsius "
            "(this looks like Kelvin: 273.15 is to be taken off)"
        )
    ]
