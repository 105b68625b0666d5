"""Daily CSV files: what is understood, and one clear line for all that is not."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.weather.sources.csv_daily import DailyFile, parse_daily_csv
from calendar_core.weather.sources.csv_table import BadWeatherFile

if TYPE_CHECKING:
    from calendar_core.weather.normals import Normals
    from calendar_core.weather.quality import Unit

HEAD = "date,t_min,t_max\n"


def faults(
    text: str, *, unit: Unit = "C", near: Normals | None = None, missing: tuple[float, ...] = ()
) -> tuple[str, ...]:
    with pytest.raises(BadWeatherFile) as refused:
        parse_daily_csv(text, file="mine.csv", unit=unit, near=near, missing=missing)
    assert str(refused.value) == "\n".join(refused.value.lines)
    return refused.value.lines


def test_the_seattle_file_is_four_whole_years_without_fault(seattle_file: DailyFile) -> None:
    series = seattle_file.series
    assert (series.start, series.end, len(series)) == (date(2012, 1, 1), date(2015, 12, 31), 1461)
    assert series.coverage == 1.0
    assert seattle_file.notes == ()


def test_the_seattle_file_shows_the_hot_days_of_2015(seattle_file: DailyFile) -> None:
    # National Weather Service, Seattle-Tacoma airport: 12 days of 90 F or more in 2015, the record then
    # (from memory). 90 F is 32.2 degC.
    year = seattle_file.series.window(date(2015, 1, 1), date(2015, 12, 31))
    assert (year.t_max_c >= 32.2).sum() == 12
    spell = seattle_file.series.window(date(2015, 6, 25), date(2015, 7, 5))
    assert spell.t_max_c.mean() > 31.5


def test_the_seattle_rain_is_that_of_the_airport(seattle_file: DailyFile) -> None:
    # National Weather Service, Seattle-Tacoma airport: 48.26 in of rain in 2012 (from memory).
    assert np.nansum(seattle_file.precipitation_mm[:366]) == pytest.approx(48.26 * 25.4, abs=1.0)


def test_seattle_months_agree_with_another_copy_of_the_data(
    seattle_file: DailyFile, places: dict[str, Normals]
) -> None:
    # The bundled row was averaged from the npm package vega-datasets 3.2.1, this file comes from the PyPI
    # package vega_datasets 0.9.0.
    series = seattle_file.series
    month = (np.datetime64(series.start) + np.arange(len(series))).astype("datetime64[M]").astype(int) % 12
    for m in range(12):
        assert series.t_max_c[month == m].mean() == pytest.approx(places["Seattle"].t_max_c[m], abs=0.051)
        assert series.t_min_c[month == m].mean() == pytest.approx(places["Seattle"].t_min_c[m], abs=0.051)


@given(
    start=st.dates(date(1950, 1, 1), date(2050, 1, 1)),
    low=st.lists(st.one_of(st.none(), st.integers(-300, 250)), min_size=1, max_size=15),
    rain=st.integers(0, 900),
    shape=st.sampled_from([(",", "."), (";", ","), ("\t", "."), ("\t", ",")]),
    slash=st.sampled_from(["-", "/", ""]),
)
def test_what_is_written_is_read_back(
    start: date,
    low: list[int | None],
    rain: int,
    shape: tuple[str, str],
    slash: str,
) -> None:
    # Rises and falls stay small, so that no value is taken for a spike; -99.9 is a code for "missing".
    separator, point = shape
    lines = []
    for i, tenths in enumerate(low):
        day = (start + timedelta(days=i)).strftime(f"%Y{slash}%m{slash}%d")
        cells = ["", ""] if tenths is None else [f"{t / 10:.1f}" for t in (tenths // 3, tenths // 3 + 80)]
        lines.append(separator.join([day, *cells, f"{rain / 10:.1f}"]).replace(".", point))
    header = separator.join(["DATE", "TMIN", "TMAX", "PRCP"])
    body = lines[::-1] if rain % 2 else lines
    read = parse_daily_csv("# a comment\n" + "\n".join([header, *body]) + "\n", file="mine.csv")
    assert read.series.start == start
    expected = [float("nan") if t is None else t // 3 / 10 for t in low]
    np.testing.assert_allclose(read.series.t_min_c, expected, atol=1e-9)
    np.testing.assert_allclose(read.series.t_max_c, np.array(expected) + 8, atol=1e-9)
    np.testing.assert_allclose(read.precipitation_mm, rain / 10, atol=1e-9)


def test_units_meet_at_the_fixed_points() -> None:
    # 32 F = 0 degC and 212 F = 100 degC by definition, so 50 F = 10 degC; 1 inch = 25.4 mm exactly.
    text = "date,tmin,tmax,prcp\n2015-06-24,32,50,1\n"
    read = parse_daily_csv(text, file="mine.csv", unit="F")
    assert (read.series.t_min_c[0], read.series.t_max_c[0]) == (0.0, pytest.approx(10.0))
    assert read.precipitation_mm[0] == 25.4
    tenths = parse_daily_csv("date,tmin,tmax,prcp\n20150624,-15,256,999\n", file="mine.csv", unit="tenths")
    assert (tenths.series.t_min_c[0], tenths.series.t_max_c[0]) == (-1.5, 25.6)
    assert tenths.precipitation_mm[0] == pytest.approx(99.9)


def test_columns_may_be_named() -> None:
    text = "Tag,unten,oben\n2015-06-24,12,25\n"
    names = {"date": "Tag", "t_min": "unten", "t_max": "oben"}
    read = parse_daily_csv(text, file="mine.csv", columns=names)
    assert read.series.t_max_c[0] == 25
    assert np.isnan(read.precipitation_mm[0])


def test_a_quoted_decimal_comma_is_read() -> None:
    read = parse_daily_csv(HEAD + '2015-06-24,"12,5","25,0"\n', file="mine.csv")
    assert read.series.t_min_c[0] == 12.5


def test_usual_names_are_found_with_units_and_a_byte_order_mark() -> None:
    text = '\ufeffDate,"Minimum temperature (Degree C)",Max. temp [°C],Rainfall\n2015-06-24,12,25,0\n'
    read = parse_daily_csv(text, file="mine.csv")
    assert (read.series.t_min_c[0], read.series.t_max_c[0]) == (12, 25)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("", "mine.csv: is empty; right would be a header line such as date,t_min,t_max"),
        (HEAD, "mine.csv: no day can be read; right would be one line for each day below the header"),
        (
            "day,low\n2015-06-24,1\n",
            "mine.csv: no column looks like t_min; right would be to name it, one of day, low",
        ),
        (
            "date,tmin,tmin_c,tmax\n2015-06-24,1,1,9\n",
            "mine.csv: tmin, tmin_c may all be t_min; right would be to name the one column",
        ),
        (
            HEAD + "2015-02-30,1,9\n",
            "mine.csv line 2: date '2015-02-30' is no day; right would be year-month-day, such as 2015-06-24",
        ),
        (
            HEAD + "24.06.2015,1,9\n",
            "mine.csv line 2: date '24.06.2015' is no day; right would be year-month-day, such as 2015-06-24",
        ),
        (
            HEAD + "2015-06-24,1,warm\n",
            "mine.csv line 2: t_max 'warm' is no number; right would be 12.5, say, or an empty cell",
        ),
        (HEAD + "2015-06-24,1\n", "mine.csv line 2: has 2 cells; right would be 3 or more"),
        (
            "# note\n\n" + HEAD + "2015-06-24,12.5,5\n",
            "mine.csv line 4: t_min 12.5 °C is above t_max; right would be t_min at most t_max, which is 5",
        ),
        (
            HEAD + "2015-06-24,-999,5\n",
            (
                "mine.csv line 2: t_min -999 looks like a code for not measured; "
                "right would be an empty cell, or -999 declared as the file's missing value"
            ),
        ),
        (
            HEAD + "2015-06-23,12,25\n2015-06-24,12,95\n",
            (
                "mine.csv line 3: t_max 95 °C is beyond what any station has measured; "
                "right would be -90 to 57 °C, or another unit"
            ),
        ),
        (
            HEAD + "2015-06-24,12,25\n2015-06-25,11,24\n2015-06-24,12,25\n",
            "mine.csv line 4: 2015-06-24 comes again after line 2; right would be one line a day",
        ),
        (
            "date,tmin,tmax,prcp\n2015-06-24,12,25,-4\n",
            "mine.csv line 2: precipitation -4 cannot be; right would be 0 to 1825 mm",
        ),
    ],
)
def test_each_fault_is_one_clear_line(text: str, line: str) -> None:
    assert line in faults(text)


def test_a_stray_quotation_mark_spoils_its_own_line_only() -> None:
    body = '2015-06-23,12,"25\n2015-06-24,12,x\n'
    assert [line.split(":")[0] for line in faults(HEAD + body)] == ["mine.csv line 3"]
    assert [line.split(":")[0] for line in faults(HEAD + body.replace('"', "'"))] == [
        "mine.csv line 2",
        "mine.csv line 3",
    ]


def test_a_named_column_that_is_not_there() -> None:
    with pytest.raises(BadWeatherFile) as refused:
        parse_daily_csv(HEAD + "2015-06-24,1,9\n", file="mine.csv", columns={"t_min": "TMIN", "wind": "w"})
    assert refused.value.lines == (
        "mine.csv: column 'wind' cannot be chosen; right would be one of date, t_min, t_max, precipitation",
        "mine.csv: has no column 'TMIN' for t_min; right would be one of date, t_min, t_max",
    )


def test_all_faults_are_told_together_and_counted_beyond_twenty() -> None:
    some = faults(HEAD + "2015-06-24,1,x\nnever,1,9\n2015-06-25,20,9\n2015-06-26,1,9\n2015-06-27,1,99\n")
    assert [line.split(":")[0] for line in some] == [f"mine.csv line {n}" for n in (2, 3, 4, 6)]
    many = faults(HEAD + "2015-06-24,1,x\n" * 33)
    assert len(many) == 21
    assert many[-1] == "and 13 more"


@pytest.mark.parametrize("code", [-999, -9999, 9999, -99.9])
def test_a_declared_missing_value_is_a_gap(code: float) -> None:
    text = HEAD + f"2015-06-23,12,25\n2015-06-24,{code},{code}\n2015-06-25,12,25\n"
    assert any("looks like a code" in line for line in faults(text))
    read = parse_daily_csv(text, file="mine.csv", missing=[code])
    assert np.isnan(read.series.t_min_c[1])
    assert np.isnan(read.series.t_max_c[1])
    assert read.notes == (
        "mine.csv: 2015-06-24, no weather; kept as a gap; right would be a t_min and a t_max for every day",
    )


def test_missing_days_are_kept_as_gaps_and_told() -> None:
    read = parse_daily_csv(HEAD + "2015-06-20,12,25\n2015-06-24,12,25\n", file="mine.csv")
    assert read.series.coverage == 0.4
    assert "2015-06-21 to 2015-06-23 (3 days), no weather" in read.notes[0]


def test_a_spike_is_left_out_and_told() -> None:
    body = "2015-01-01,1,9\n2015-01-02,2,45\n2015-01-03,1,8\n"
    read = parse_daily_csv(HEAD + body, file="mine.csv")
    assert np.isnan(read.series.t_max_c[1])
    assert read.series.t_min_c[1] == 2
    assert "t_max 45 °C stands alone" in read.notes[0]


def test_a_stuck_thermometer_is_left_out_and_told() -> None:
    start = date(2015, 6, 1)
    lines = [
        f"{start + timedelta(days=i)},{10 + i % 3},{25 if 3 <= i < 24 else 20 + i % 4}" for i in range(30)
    ]
    read = parse_daily_csv(HEAD + "\n".join(lines), file="mine.csv")
    assert np.isnan(read.series.t_max_c[3:24]).all()
    assert not np.isnan(read.series.t_max_c[:3]).any()
    assert read.notes[0].startswith("mine.csv: 2015-06-04 to 2015-06-24 (21 days), t_max 25 °C never varies")


def seattle_in_fahrenheit(text: str) -> str:
    lines = []
    for line in text.splitlines():
        cells = line.split(",")
        if line[:4].isdigit():
            cells[2:4] = [f"{float(c) * 1.8 + 32:.1f}" for c in cells[2:4]]
        lines.append(",".join(cells))
    return "\n".join(lines)


def test_fahrenheit_declared_as_celsius_is_one_line(seattle_text: str) -> None:
    said = faults(seattle_in_fahrenheit(seattle_text))
    assert len(said) == 1
    assert "is implausible, read in the declared unit" in said[0]
    assert "right would be the unit F" in said[0]


def test_fahrenheit_declared_as_such_is_the_same_weather(seattle_text: str, seattle_file: DailyFile) -> None:
    read = parse_daily_csv(seattle_in_fahrenheit(seattle_text), file="mine.csv", unit="F")
    np.testing.assert_allclose(read.series.t_max_c, seattle_file.series.t_max_c, atol=0.03)


def test_celsius_declared_as_fahrenheit_is_one_line(seattle_text: str) -> None:
    said = faults(seattle_text, unit="F")
    assert len(said) == 1
    assert "right would be the unit C" in said[0]


def test_a_winter_in_fahrenheit_is_noticed_with_normals(
    seattle_text: str, places: dict[str, Normals]
) -> None:
    lines = seattle_in_fahrenheit(seattle_text).splitlines()
    cold = "\n".join(line for line in lines if line.startswith(("date", "2013/01/0", "2013/01/1")))
    parse_daily_csv(cold, file="mine.csv")  # hot, but not impossible
    said = faults(cold, near=places["Seattle"])
    assert "right would be the unit F (near Seattle these days usually have 5 °C)" in said[0]


def test_exchanged_columns_are_one_line(seattle_text: str) -> None:
    said = faults(seattle_text.replace("temp_max,temp_min", "temp_min,temp_max"))
    right = "the columns of t_min and t_max exchanged"
    assert said == (f"mine.csv: t_min is above t_max on every day; right would be {right}",)


def test_kelvin_is_named() -> None:
    days = "".join(f"2015-06-{day:02},{283 + day % 5},{293.1 + day % 7}\n" for day in range(1, 31))
    assert list(faults("date,t_min,t_max\n" + days)) == [
        (
            "mine.csv: 290 °C on average is implausible, read in the declared unit; right would be degrees Celsius "
            "(this looks like Kelvin: 273.15 is to be taken off)"
        )
    ]
    assert "looks like Kelvin" in faults("date,t_min,t_max\n2015-06-01,283,293\n")[0]


@pytest.mark.parametrize("number", ["1e308", "-1e308", "9" * 400, "1e999"])
def test_a_number_beyond_any_weather_is_named_in_few_signs(number: str) -> None:
    days = "".join(f"2015-06-{day:02},3,{number}\n" for day in range(1, 31))
    lines = list(faults("date,t_min,t_max\n" + days))
    assert lines[0].endswith("is beyond any weather; right would be 12.5, say, or an empty cell")
    assert max(map(len, lines)) < 200
