"""An own thermometer's file: what is understood, how hours are made of it, and one clear line for the rest."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.weather.hourly import HOUR, HourlySeries, days_of
from calendar_core.weather.normals import daily_year
from calendar_core.weather.sources.csv_hourly import HourlyFile, parse_hourly_csv
from calendar_core.weather.sources.csv_table import BadWeatherFile
from tests.oracles.tables import rows

if TYPE_CHECKING:
    from calendar_core.weather.normals import Normals
    from calendar_core.weather.quality import Unit

ZURICH = ZoneInfo("Europe/Zurich")
NAN = float("nan")


def read(text: str, *, zone: ZoneInfo = ZURICH, unit: Unit = "C", near: Normals | None = None) -> HourlyFile:
    return parse_hourly_csv(text, file="mine.csv", zone=zone, unit=unit, near=near)


def faults(
    text: str, *, zone: ZoneInfo = ZURICH, unit: Unit = "C", near: Normals | None = None
) -> tuple[str, ...]:
    with pytest.raises(BadWeatherFile) as refused:
        read(text, zone=zone, unit=unit, near=near)
    assert all("right would be" in line or line.startswith("and ") for line in refused.value.lines)
    return refused.value.lines


def file(start: datetime, step_min: float, temperatures: list[float], zone: ZoneInfo | None = None) -> str:
    """Write a file of these temperatures, in local times of a zone or with their offset."""
    lines = ["time,temperature"]
    for k, t in enumerate(temperatures):
        moment = start + timedelta(minutes=step_min * k)
        when = moment.astimezone(zone).strftime("%Y-%m-%d %H:%M") if zone else moment.isoformat()
        lines.append(f"{when},{t:g}")
    return "\n".join(lines) + "\n"


def quiet(n: int, step_min: float) -> list[float]:
    """Invented temperatures of quiet days, to tenths."""
    return [float(t) for t in np.round(10 + 6 * np.sin(np.arange(n) * step_min * 2 * np.pi / 1440), 1)]


# -- hours out of readings ---------------------------------------------------------------------------------


def test_an_hour_gets_the_nearest_reading_and_the_extremes_of_the_hour_before() -> None:
    text = (
        "time,temperature,humidity\n2024-06-01T09:10Z,10,60\n2024-06-01T09:29Z,13,61\n2024-06-01T09:48Z,11,62\n"
        "2024-06-01T10:07Z,12,63\n2024-06-01T10:26Z,14,64\n2024-06-01T10:45Z,15,65\n2024-06-01T11:00Z,16,104\n"
    )
    hourly = read(text).hourly
    assert hourly.start == datetime(2024, 6, 1, 9, tzinfo=UTC)
    np.testing.assert_array_equal(hourly["t_c"], [10, 12, 16])
    np.testing.assert_array_equal(hourly["t_low_c"], [NAN, 10, 12])
    np.testing.assert_array_equal(hourly["t_high_c"], [NAN, 13, 16])
    np.testing.assert_array_equal(hourly["humidity_percent"], [60, 63, 100])


def test_half_past_counts_for_the_hour_before_and_of_two_as_near_the_earlier_counts() -> None:
    text = (
        "time,temp\n2024-06-01T09:30Z,10\n2024-06-01T10:30Z,11\n2024-06-01T11:50Z,12\n2024-06-01T12:10Z,13\n"
    )
    hourly = read(text).hourly
    assert hourly.start == datetime(2024, 6, 1, 9, tzinfo=UTC)
    np.testing.assert_array_equal(hourly["t_c"], [10, 11, NAN, 12, NAN])


@given(
    st.integers(1, 180),
    st.integers(2, 90),
    st.integers(0, 59),
    st.sampled_from(["UTC", "Asia/Kathmandu", "America/St_Johns"]),
)
def test_hours_are_those_of_plain_python(step: int, n: int, minute: int, name: str) -> None:
    start = datetime(2024, 5, 1, 3, minute, tzinfo=UTC)
    temperatures = quiet(n, step)
    hourly = read(file(start, step, temperatures, ZoneInfo(name)), zone=ZoneInfo(name)).hourly
    when = [start + timedelta(minutes=step * k) for k in range(n)]
    for k, t_c in enumerate(hourly["t_c"]):
        hour = hourly.start + k * HOUR
        off = [((moment - hour) / HOUR, t) for moment, t in zip(when, temperatures, strict=True)]
        near = [(abs(h), h, t) for h, t in off if -0.5 < h <= 0.5]
        if near:
            assert t_c == pytest.approx(min(near)[2])
        elif step <= 60:
            assert np.isnan(t_c)
        before = [t for h, t in off if -1 < h <= 0]
        assert hourly["t_low_c"][k] == pytest.approx(min(before, default=NAN), nan_ok=True)
        assert hourly["t_high_c"][k] == pytest.approx(max(before, default=NAN), nan_ok=True)


@pytest.mark.parametrize("step", [61, 90, 120, 150, 180])
def test_longer_steps_give_whole_days_and_say_so(step: int) -> None:
    n = 4 * 1440 // step
    found = read(file(datetime(2024, 5, 1, tzinfo=UTC), step, quiet(n, step)), zone=ZoneInfo("UTC"))
    days = days_of(found.hourly, ZoneInfo("UTC")).series.window(date(2024, 5, 1), date(2024, 5, 3))
    # Half of a step of 180 minutes off the turning point of 6 cos: at most 6 (1 - cos 22.5 deg) = 0.46.
    assert days.t_max_c == pytest.approx([16, 16, 16], abs=0.5)
    assert found.notes == (f"mine.csv: a reading every {step} minutes; hours between lie on a straight line",)


def test_missing_readings_stay_a_gap() -> None:
    lines = file(datetime(2024, 5, 1, tzinfo=UTC), 180, quiet(12, 180)).splitlines()
    hourly = read("\n".join([*lines[:5], *lines[6:]])).hourly
    assert np.flatnonzero(np.isnan(hourly["t_c"])).tolist() == [10, 11, 12, 13, 14]


# -- clocks ------------------------------------------------------------------------------------------------


def test_the_hour_that_comes_twice_is_read_in_the_order_of_the_lines() -> None:
    # IANA time zone database: on 27 October 2024 at 01:00 UTC Zurich goes from 03:00 back to 02:00.
    local = ["01:30", "02:00", "02:30", "02:00", "02:30", "03:00"]
    head, body = "time,temp\n", [f"2024-10-27 {when},{5 + k}\n" for k, when in enumerate(local)]
    for lines in (body, body[::-1]):
        hourly = read(head + "".join(lines)).hourly
        assert hourly.start == datetime(2024, 10, 26, 23, tzinfo=UTC)
        np.testing.assert_array_equal(hourly["t_c"], [5, 6, 8, 10])


@pytest.mark.slow
@given(
    st.sampled_from(
        ["Europe/Zurich", "America/New_York", "America/St_Johns", "Australia/Lord_Howe", "Asia/Kathmandu"]
    ),
    st.sampled_from([1, 7, 10, 15, 30, 45, 60, 90, 120, 180]),
    st.integers(0, 59),
    st.booleans(),
)
def test_local_times_say_the_same_as_times_with_offset(
    name: str, step: int, minute: int, backward: bool
) -> None:
    # Across the end of summer time: 27 October, 3 November and 7 April 2024 (IANA time zone database).
    zone, day = ZoneInfo(name), datetime(2024, 11, 2, 12, minute, tzinfo=UTC)
    day = {
        "Europe/Zurich": day - timedelta(days=7),
        "Australia/Lord_Howe": datetime(2024, 4, 6, minute=minute, tzinfo=UTC),
    }.get(name, day)
    temperatures = quiet(1440 // step, step)
    local, with_offset = (file(day, step, temperatures, z) for z in (zone, None))
    if backward:
        head, *body = local.splitlines()
        local = "\n".join([head, *body[::-1]])
    same(read(local, zone=zone).hourly, read(with_offset, zone=zone).hourly)


def same(one: HourlySeries, other: HourlySeries) -> None:
    assert (one.start, set(one.values)) == (other.start, set(other.values))
    for column in one.values:
        np.testing.assert_array_equal(one[column], other[column])


def test_an_hour_the_clocks_skipped_is_refused_with_its_line() -> None:
    # On 31 March 2024 at 01:00 UTC Zurich goes from 02:00 on to 03:00.
    text = "time,temp\n2024-03-31 01:30,5\n2024-03-31 02:30,6\n2024-03-31 03:30,7\n"
    (fault,) = faults(text)
    assert fault.startswith(
        "mine.csv line 3: 2024-03-31 02:30 was skipped by the clocks of Europe/Zurich; right"
    )
    np.testing.assert_array_equal(read(text, zone=ZoneInfo("Etc/GMT-1")).hourly["t_c"][:3], [5, 6, 7])


@pytest.mark.parametrize(
    "head", ["Time (GMT-05:00)", '"Date Time, GMT-05:00"', "time utc-5", "Time UTC-0500"]
)
def test_a_header_may_name_the_zone(head: str) -> None:
    assert read(f"{head},temp\n2024-03-31 02:30,6\n").hourly.start == datetime(2024, 3, 31, 7, tzinfo=UTC)
    assert read("time_utc,temp\n2024-03-31 02:30,6\n").hourly.start == datetime(2024, 3, 31, 2, tzinfo=UTC)


# -- ways of writing ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "time,temperature\n2024-06-24 14:00,20.5\n2024-06-24 15:00,21.5\n",
        "\ufeffDatum;Zeit;Temperatur (°C)\r\n24.06.2024;14:00;20,5\r\n24.06.2024;15:00;21,5\r\n",
        'Timestamp,"Temp, °C"\n6/24/2024 2:00:00 PM,20.5\n6/24/2024 3:00:00 PM,21.5\n',
        "date\ttemp\n24/06/2024 14:00\t20,5\n24/06/2024 15:00\t21,5\n",
        "# balcony\ntime,temp_c,note\n20240624T1400,20.5,sun\n20240624T1500,21.5,\n",
        "Date/Time,T,RH\n2024-06-24T14:00:00+02:00,20.5,\n2024-06-24T15:00:00+02:00,21.5,\n",
        "time,temp\n2024-06-24T12:00:00.000Z,20.5\n2024-06-24T13:00:00.000Z,21.5\n",
        "time,temp\n2024-06-24 15:00,21.5\n2024-06-24 14:00,20.5\n",
    ],
)
def test_usual_ways_of_writing_are_understood(text: str) -> None:
    hourly = read(text).hourly
    assert hourly.start == datetime(2024, 6, 24, 12, tzinfo=UTC)
    np.testing.assert_array_equal(hourly["t_c"], [20.5, 21.5])


def test_twelve_is_noon_with_pm_and_midnight_with_am() -> None:
    for half, hour in (("AM", 0), ("pm", 12)):
        text = f"time,temp\n2024-06-24 12:00 {half},10\n2024-06-24 01:00 {half},9\n"
        assert read(text, zone=ZoneInfo("UTC")).hourly.start == datetime(2024, 6, 24, hour, tzinfo=UTC)


def test_columns_may_be_named() -> None:
    text = "when,shed,balcony,dew\n2024-06-24 14:00,35,20.5,9\n"
    names = {"time": "when", "temperature": "balcony", "dew_point": "dew"}
    hourly = parse_hourly_csv(text, file="mine.csv", zone=ZURICH, columns=names).hourly
    assert (hourly["t_c"][0], hourly["dew_point_c"][0]) == (20.5, 9)


def test_units_meet_at_the_fixed_points() -> None:
    # 32 F = 0 degC and 212 F = 100 degC by definition, so 50 F = 10 degC.
    text = "time,temp,dewpoint\n2024-06-24 14:00,50,32\n"
    hourly = read(text, unit="F").hourly
    assert (hourly["t_c"][0], hourly["dew_point_c"][0]) == (pytest.approx(10), 0)
    assert read("time,temp\n2024-06-24 14:00,-15\n", unit="tenths").hourly["t_c"][0] == -1.5


def test_cells_without_a_value_are_gaps() -> None:
    text = "time,temp\n2024-06-24 14:00,20\n2024-06-24 15:00,\n2024-06-24 16:00,NA\n2024-06-24 17:00,-999\n2024-06-24 18:00,21\n"
    hourly = parse_hourly_csv(text, file="mine.csv", zone=ZURICH, missing=(-999,)).hourly
    np.testing.assert_array_equal(hourly["t_c"], [20, NAN, NAN, NAN, 21])


# -- the gate ----------------------------------------------------------------------------------------------


def test_the_false_frost_of_jfk_is_left_out_and_told() -> None:
    text = "time,temp\n" + "".join(f"{row['time']},{row['jfk_t_f']}\n" for row in rows("jfk-2013.csv"))
    found = read(text, unit="F", zone=ZoneInfo("America/New_York"))
    assert {(value.when, round(value.value, 1)) for value in found.rejected} == {
        (datetime(2013, 5, 9, 2, tzinfo=UTC), -10.5)
    }
    first = (
        "mine.csv: 2013-05-09 02:00 UTC, t_c -10.5 left out as a gap, spike: right would be a value nearer"
    )
    assert found.notes[0].startswith(first)
    days = days_of(found.hourly, ZoneInfo("America/New_York")).series
    assert np.nanmin(days.t_min_c[(date(2013, 4, 1) - days.start).days :]) > 0


def test_a_sensor_that_starts_with_85_degrees_loses_that_hour_only() -> None:
    temperatures = quiet(200, 60)
    temperatures[50] = 85.0
    found = read(file(datetime(2024, 5, 1, tzinfo=UTC), 60, temperatures))
    assert {value.column for value in found.rejected} == {"t_c", "t_low_c", "t_high_c"}
    assert np.flatnonzero(np.isnan(found.hourly["t_c"])).tolist() == [50]


@pytest.mark.slow
@pytest.mark.parametrize("name", ["Kagoshima", "Chuncheon", "Lisle", "Melbourne", "Sapporo"])
def test_a_year_of_any_bundled_climate_in_the_wrong_unit_is_noticed(
    places: dict[str, Normals], name: str
) -> None:
    year = daily_year(places[name])
    hour = np.arange(0, 24, 3)
    swing = np.cos(2 * np.pi * (hour - 15) / 24)
    mean, half = (year.t_max_c + year.t_min_c) / 2, (year.t_max_c - year.t_min_c) / 2
    right = (mean[:, None] + half[:, None] * swing).ravel().round(2)
    start = datetime(2012, 1, 1, tzinfo=UTC)
    assert read(file(start, 180, list(right)), near=places[name]).rejected == ()
    assert len(faults(file(start, 180, list(right * 1.8 + 32)))) == 1
    (fault,) = faults(file(start, 180, list(right)), unit="F")
    assert "right would be the unit C" in fault
    part = file(start + 3000 * HOUR, 180, list(right[1000:1160]))
    assert read(part, unit="F").rejected == ()
    (fault,) = faults(part, unit="F", near=places[name])
    assert f"right would be the unit C (near {name}" in fault


@pytest.mark.parametrize(
    ("head", "unit", "right"),
    [
        ("Temp (°F)", "C", "F"),
        ("Temp, °F", "tenths", "F"),
        ("Temperature [C]", "F", "C"),
        ("Temp (deg F)", "C", "F"),
    ],
)
def test_a_header_that_names_another_unit_is_believed(head: str, unit: Unit, right: str) -> None:
    (fault,) = faults(f'time,"{head}"\n2024-06-24 14:00,20\n', unit=unit)
    assert fault == f"mine.csv: {head} was declared as unit {unit}; right would be {right}"
