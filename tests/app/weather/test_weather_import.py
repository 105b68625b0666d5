"""Daily weather from files: what is taken, and what is refused without a trace."""

from __future__ import annotations

import math
import re
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.app.test_bad_input import assert_refused, rows

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.app.conftest import Program

START = date(2013, 1, 1)


def days(
    change: Callable[[int, float, float], tuple[object, object]] = lambda _, low, high: (low, high),
    *,
    but: frozenset[int] = frozenset(),
) -> str:
    """Return 800 invented days near those of Seattle as CSV; ``but`` are left out."""
    lines = ["date,t_min,t_max"]
    for n in range(800):
        mean = 11 - 8 * math.cos(2 * math.pi * (n - 20) / 365) + 1.5 * math.sin(1.7 * n)
        low, high = change(n, round(mean - 4, 1), round(mean + 5, 1))
        if n not in but:
            lines.append(f"{START + timedelta(days=n)},{low},{high}")
    return "\n".join(lines) + "\n"


def fahrenheit(_: int, low: float, high: float) -> tuple[float, float]:
    return round(low * 1.8 + 32, 1), round(high * 1.8 + 32, 1)


def test_one_day_is_one_day(garden: Program) -> None:
    Path("day.csv").write_text("date,t_min,t_max\n2015-06-01,9,20\n", encoding="utf-8")
    assert (
        garden("weather", "import", "day.csv").out.splitlines()[0]
        == "In: 1 day, from 2015-06-01 to 2015-06-01."
    )


def test_gaps_are_kept_and_told(garden: Program) -> None:
    Path("days.csv").write_text(days(but=frozenset({40, *range(100, 110)})), encoding="utf-8")
    answer = garden("weather", "import", "days.csv")
    assert answer.status == 0
    assert answer.out.splitlines()[0] == "In: 789 days, from 2013-01-01 to 2015-03-11."
    told = " ".join(answer.out.split())
    assert "days.csv: 2013-02-10, no weather; kept as a gap" in told
    assert "days.csv: 2013-04-11 to 2013-04-20 (10 days), no weather" in told


def test_a_file_of_which_nothing_is_believed_is_refused(garden: Program) -> None:
    Path("stuck.csv").write_text(days(lambda *_: (9.0, 24.0)), encoding="utf-8")
    answer = garden("weather", "import", "stuck.csv")
    why = "stuck: right would be values that vary"
    assert_refused(answer, f"stuck: no day of it can be believed; the first is {why}")
    assert garden("plan").status == 0  # the garden still has the weather it had


def test_units_columns_and_missing_codes_are_declared(garden: Program) -> None:
    text = days(lambda n, low, high: (-999, -999) if n == 50 else fahrenheit(n, low, high))
    Path("odd.csv").write_text(text.replace("date,t_min,t_max", "TAG,low,high"), encoding="utf-8")
    columns = ("--column", "date=TAG", "--column", "t_min=low", "--column", "t_max=high")
    answer = garden("weather", "import", "odd.csv", "--unit", "F", "--missing", "-999", *columns)
    assert answer.status == 0
    assert answer.out.startswith("In: 799 days, from ")
    assert garden("weather", "status").status == 0


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        ("", [": is empty; right would be a header line such as date,t_min,t_max"]),
        (
            days(lambda n, low, high: (high, low) if n == 3 else (low, high)),
            [" line 5: t_min 7 °C is above t_max; right would be t_min at most t_max, which is -2"],
        ),
        (
            days(lambda _, low, high: (high, low)),
            [": t_min is above t_max on every day; right would be the columns of t_min and t_max exchanged"],
        ),
        (
            days(lambda n, low, high: (low, -999) if n == 3 else (low, high)),
            [" line 5: t_max -999 looks like a code for not measured; right would be an empty cell, or -999 declared as the file's missing value"],
        ),
        (
            days(fahrenheit),
            [": 67 °C on average is implausible, read in the declared unit; right would be the unit F (the warmest month measured anywhere has 42.3 °C)"],
        ),
        (
            days().replace("2013-01-04", "2013-02-30").replace("2013-01-05", "0213-01-05"),
            [" line 5: date '2013-02-30' is no day; right would be year-month-day, such as 2015-06-24"],
        ),
        (
            days().replace("2013-01-05", "0213-01-05"),
            [": 0213-01-05 is out of reach; right would be a day from 1901 to 2099"],
        ),
        (
            days().replace("2013-01-05", "2013-01-04"),
            [" line 6: 2013-01-04 comes again after line 5; right would be one line a day"],
        ),
    ],
)  # fmt: skip
def test_a_bad_file_is_refused_whole(garden: Program, text: str, lines: list[str]) -> None:
    Path("days.csv").write_text(text, encoding="utf-8")
    before = rows()
    assert_refused(garden("weather", "import", "days.csv"), *(f"days.csv{line}" for line in lines))
    assert rows() == before


def test_names_of_stations_are_plain(garden: Program) -> None:
    Path("days.csv").write_text(days(), encoding="utf-8")
    before = rows()
    answer = garden("weather", "import", "days.csv", "--station", "roof \x1b[5m", "--credit", "x" * 2001)
    assert_refused(
        answer,
        "--station: found 'roof \\x1b[5m'; right would be text without control characters",
        f"--credit: found '{'x' * 59}...; right would be at most 2000 characters",
    )
    assert rows() == before


def test_a_spring_past_its_usual_last_frost_is_told_with_the_chance_of_a_later_one(
    leafclock: Program,
) -> None:
    """Frosts of Nagano (monthly normals of the JMA) end in April: said of this spring while they can come."""
    here = ("--db", "nagano.db")
    founded = leafclock(
        *("start", "--offline", "--place", "Nagano", "--trees", "Larch", "--today", "2015-03-01"), *here
    )
    assert founded.status == 0
    lines = {
        day: [
            line
            for line in " ".join(leafclock("weather", "status", *here, "--today", day).out.split()).split(
                ". "
            )
            if " frost of " in line
        ]
        for day in ("2015-04-01", "2015-04-20", "2015-06-01")
    }
    assert lines["2015-04-01"][0].startswith("Last frost of spring: ")
    assert re.fullmatch(
        r"Last frost of spring: likely over since \d+ April; in \d+ of 100 years one still comes, "
        r"by \d+ (April|May) in nine years of ten",
        lines["2015-04-20"][0],
    )
    assert lines["2015-06-01"][0].startswith("First frost of autumn: ")
    assert re.search(r"Last frost of spring: \d+ April 2016", lines["2015-06-01"][1])
