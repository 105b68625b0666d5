"""GHCN-Daily: its three file forms, its flags, its hours of observation.

Forms after the archive's own readme files (NOAA NCEI, readme.txt and readme-by_station.txt); values invented.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.weather.sources.csv_table import BadWeatherFile
from calendar_core.weather.sources.ghcn import (
    FLAGS,
    parse_by_station,
    parse_dly,
    parse_wide,
)

if TYPE_CHECKING:
    from calendar_core.weather.sources.protocol import StationRecord

STATION = "CA001100120"
HEADER = "ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME"


def line(day: str, element: str, value: int, *, m: str = "", q: str = "", hour: str = "") -> str:
    return f"{STATION},{day},{element},{value},{m},{q},7,{hour}"


def record(*lines: str, shift_maximum: bool = True) -> StationRecord:
    return parse_by_station("\n".join(lines) + "\n", shift_maximum=shift_maximum)


def faults(*lines: str) -> tuple[str, ...]:
    with pytest.raises(BadWeatherFile) as refused:
        record(*lines)
    return refused.value.lines


DAYS = (
    line("20240131", "TMAX", 61),
    line("20240131", "TMIN", -15),
    line("20240131", "SNWD", 120),
    line("20240201", "TMAX", 74),
    line("20240201", "TMIN", -9999),
    line("20240201", "PRCP", 127),
    line("20240203", "TMAX", 82),
    line("20240203", "TMIN", 3),
    line("20240203", "PRCP", 0, m="T"),
)


@pytest.mark.parametrize("head", [(), (HEADER,)])
def test_a_station_is_read_with_and_without_header(head: tuple[str, ...]) -> None:
    found = record(*head, *DAYS)
    nan = float("nan")
    assert (found.station, found.series.start) == (STATION, date(2024, 1, 31))
    np.testing.assert_array_equal(found.series.t_max_c, [6.1, 7.4, nan, 8.2])
    np.testing.assert_array_equal(found.series.t_min_c, [-1.5, nan, nan, 0.3])
    np.testing.assert_array_equal(found.precipitation_mm, [nan, 12.7, nan, 0.0])
    assert (found.rejected, found.notes) == ((), ())


def test_the_wide_form_says_the_same() -> None:
    # Values are padded and in tenths, flags follow in one cell each.
    text = (
        '"STATION","DATE","LATITUDE","LONGITUDE","ELEVATION","NAME","PRCP","PRCP_ATTRIBUTES",'
        '"SNWD","SNWD_ATTRIBUTES","TMAX","TMAX_ATTRIBUTES","TMIN","TMIN_ATTRIBUTES"\n'
        f'"{STATION}","2024-01-31","48.4","-123.5","20.0","GARDEN HILL, XX",,,"  120",",,C","   61",",,C","  -15",",,C"\n'
        f'"{STATION}","2024-02-01","48.4","-123.5","20.0","GARDEN HILL, XX","  127",",,C",,,"   74",",,C",,\n'
        f'"{STATION}","2024-02-03","48.4","-123.5","20.0","GARDEN HILL, XX","    0","T,,C",,,"   82",",,C","    3",",,C"\n'
    )
    same_as_by_station(parse_wide("\ufeff" + text))


def test_the_dly_form_says_the_same() -> None:
    # ID 1-11, year 12-15, month 16-17, element 18-21, then 31 times value (5) and M, Q, S (1 each).
    def month(of: str, element: str, values: dict[int, tuple[int, str]]) -> str:
        days = (values.get(day, (-9999, "   ")) for day in range(1, 32))
        return f"{STATION}{of}{element}" + "".join(f"{value:5}{flags}" for value, flags in days)

    text = "\n".join(
        (
            month("202401", "TMAX", {31: (61, "  C")}),
            month("202401", "TMIN", {31: (-15, "  C")}),
            month("202401", "SNWD", {31: (120, "  C")}),
            month("202402", "TMAX", {1: (74, "  C"), 3: (82, "  C")}),
            month("202402", "TMIN", {3: (3, "  C")}),
            month("202402", "PRCP", {1: (127, "  C"), 3: (0, "T C")}).rstrip(),
        )
    )
    same_as_by_station(parse_dly(text))


def same_as_by_station(found: StationRecord) -> None:
    expected = record(*DAYS)
    assert (found.station, found.series.start) == (expected.station, expected.series.start)
    np.testing.assert_array_equal(found.series.t_max_c, expected.series.t_max_c)
    np.testing.assert_array_equal(found.series.t_min_c, expected.series.t_min_c)
    np.testing.assert_array_equal(found.precipitation_mm, expected.precipitation_mm)


# -- what is left out --------------------------------------------------------------------------------------


def test_each_flag_of_the_archive_is_told_in_words() -> None:
    # The fourteen letters of QFLAG1 in the archive's readme.txt.
    assert set(FLAGS) == set("DGIKLMNORSTWXZ")


@pytest.mark.parametrize("flag", [*FLAGS, "Y"])
def test_any_flagged_value_is_left_out_with_its_reason(flag: str) -> None:
    found = record(*DAYS, line("20240204", "TMAX", 310, q=flag), line("20240204", "TMIN", 12))
    (left_out,) = found.rejected
    assert (left_out.when, left_out.column, left_out.value) == (date(2024, 2, 4), "t_max", 31.0)
    assert left_out.reason == f"flag {flag}: {FLAGS.get(flag, 'fails a check of the archive')}"
    assert np.isnan(found.series.t_max_c[-1])
    assert found.series.t_min_c[-1] == 1.2
    assert found.notes == ("values left out: 1 by the archive's checks, 0 by ours",)


def test_flags_of_the_wide_and_the_dly_form_count_too() -> None:
    wide = parse_wide(
        f'"STATION","DATE","TMIN","TMIN_ATTRIBUTES"\n"{STATION}","2024-02-01","  -50",",S,E"\n'
        f'"{STATION}","2024-02-02","  -40",",,E"\n'
    )
    dly = parse_dly(f"{STATION}202402TMIN  -50 SE  -40  E")
    for found in (wide, dly):
        assert [(value.value, value.reason) for value in found.rejected] == [(-5.0, f"flag S: {FLAGS['S']}")]
        np.testing.assert_array_equal(found.series.t_min_c, [np.nan, -4.0])


def test_a_presumed_zero_is_no_measured_one() -> None:
    found = record(*DAYS, line("20240204", "PRCP", 0, m="P"))
    assert np.isnan(found.precipitation_mm[-1])
    assert [(value.column, value.value) for value in found.rejected] == [("precipitation", 0.0)]


def test_what_our_own_gate_refuses_is_a_gap_not_the_end() -> None:
    found = record(*DAYS, line("20240204", "TMAX", 20), line("20240204", "TMIN", 80))
    assert {(value.column, value.value) for value in found.rejected} == {("t_max", 2.0), ("t_min", 8.0)}
    assert found.notes == ("values left out: 0 by the archive's checks, 2 by ours",)


# -- hours of observation ----------------------------------------------------------------------------------


def morning(n: int, hour: str = "0700") -> list[str]:
    first = date(2024, 5, 1)
    days = [f"{first + timedelta(days=k):%Y%m%d}" for k in range(n)]
    return [
        text
        for k, day in enumerate(days)
        for text in (line(day, "TMAX", 200 + k, hour=hour), line(day, "TMIN", 80 + k, hour=hour))
    ]


@pytest.mark.parametrize(
    ("hour", "shifted"), [("0700", True), ("1159", True), ("1200", False), ("2400", False)]
)
def test_a_maximum_read_in_the_morning_is_that_of_the_day_before(hour: str, shifted: bool) -> None:
    found = record(*morning(3, hour))
    if not shifted:
        assert found.series.start == date(2024, 5, 1)
        np.testing.assert_array_equal(found.series.t_max_c, [20.0, 20.1, 20.2])
        assert found.notes == ()
        return
    nan = float("nan")
    assert found.series.start == date(2024, 4, 30)
    np.testing.assert_array_equal(found.series.t_max_c, [20.0, 20.1, 20.2, nan])
    np.testing.assert_array_equal(found.series.t_min_c, [nan, 8.0, 8.1, 8.2])
    booked = "maxima read before noon of the day they are booked on: 3"
    assert found.notes == (f"{booked}, counted for the day before (common practice)",)


def test_the_shift_can_be_switched_off() -> None:
    found = record(*morning(3), shift_maximum=False)
    assert found.series.start == date(2024, 5, 1)
    np.testing.assert_array_equal(found.series.t_max_c, [20.0, 20.1, 20.2])
    assert found.notes == ("maxima read before noon of the day they are booked on: 3, left on that day",)


def test_the_wide_form_may_tell_the_hour_as_fourth_attribute() -> None:
    found = parse_wide(
        f'"STATION","DATE","TMAX","TMAX_ATTRIBUTES"\n"{STATION}","2024-05-01","  200",",,7,0700"\n'
    )
    assert found.series.start == date(2024, 4, 30)
    assert found.series.t_max_c[0] == 20.0


def test_where_the_hour_changes_the_day_keeps_its_own_maximum() -> None:
    # Read at 17:00 up to the 2nd, at 07:00 from the 3rd on: both tell of the afternoon of the 2nd.
    found = record(
        line("20240501", "TMAX", 201, hour="1700"),
        line("20240503", "TMAX", 195, hour="0700"),
        line("20240502", "TMAX", 205, hour="1700"),
        line("20240504", "TMAX", 210, hour="0700"),
    )
    np.testing.assert_array_equal(found.series.t_max_c[:3], [20.1, 20.5, 21.0])
    assert [(value.when, value.value) for value in found.rejected] == [(date(2024, 5, 2), 19.5)]
    assert found.rejected[0].reason.startswith("double")


@given(
    st.dates(date(1880, 1, 1), date(2030, 1, 1)),
    st.lists(st.tuples(st.integers(-300, 250), st.booleans()), min_size=1, max_size=12),
    st.sampled_from(["", "0800", "1800"]),
    st.randoms(use_true_random=False),
)
def test_no_value_is_lost_in_any_order(
    start: date, days: list[tuple[int, bool]], hour: str, random: object
) -> None:
    lines = []
    for k, (tenths, flagged) in enumerate(days):
        day = f"{start + timedelta(days=k):%Y%m%d}"
        lines.append(line(day, "TMAX", tenths // 4, q="O" if flagged else "", hour=hour))
    random.shuffle(lines)  # type: ignore[attr-defined]
    found = record(*lines)
    shift = timedelta(days=hour == "0800")
    kept = {
        found.series.start + timedelta(days=int(at)): round(float(found.series.t_max_c[at]) * 10)
        for at in np.flatnonzero(~np.isnan(found.series.t_max_c))
    }
    by_flag = {value.when: round(value.value * 10) for value in found.rejected}
    expected = {start + timedelta(days=k) - shift: tenths // 4 for k, (tenths, _) in enumerate(days)}
    assert kept | by_flag == expected
    assert kept.keys().isdisjoint(by_flag)


# -- bad files ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        ((f"{STATION},20240101,TMAX,5",), "GHCN-Daily line 1: has 4 fields; right would be 8"),
        ((line("20240230", "TMAX", 5),), "'20240230' is no day"),
        ((line("2024", "TMAX", 5),), "'2024' is no day"),
        ((f"{STATION},20240101,TMAX,25.6,,,7,",), "TMAX '25.6' is no whole number; right would be tenths"),
        ((DAYS[0], DAYS[0]), "line 2: t_max of 2024-01-31 comes again; right would be once"),
        (
            (DAYS[0], DAYS[1].replace(STATION, "CA001100121")),
            "CA001100120 and CA001100121; right would be one",
        ),
        ((line("20240101", "SNWD", 5),), "holds no TMIN, TMAX, PRCP"),
        ((HEADER,), "holds no TMIN, TMAX, PRCP"),
    ],
)
def test_a_bad_file_is_refused_in_one_line(lines: tuple[str, ...], expected: str) -> None:
    (fault,) = faults(*lines)
    assert expected in fault
    assert "; right would be" in fault


def test_faults_are_told_together() -> None:
    found = faults(*(f"{STATION},2024010{k},TMAX,x,,,7," for k in range(1, 10)), *["a,b"] * 20)
    assert len(found) == 21
    assert found[-1] == "and 9 more"


@pytest.mark.parametrize("text", ["", "date,t_min\n2024-01-01,5\n", '"STATION","DATE","SNOW"\n'])
def test_another_table_is_not_the_wide_form(text: str) -> None:
    with pytest.raises(BadWeatherFile, match="right would be STATION, DATE, TMAX"):
        parse_wide(text)
