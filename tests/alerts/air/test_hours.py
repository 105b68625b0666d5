"""Hours and their days: shapes, clock changes, and what is filled in where a service does not tell it."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from alerts.air.hours import Place, clock
from alerts.air.reading import GUST_FACTOR, USUAL_WIND_MS, hours_of
from calendar_core.science.hour.humidity import saturation_kpa
from calendar_core.weather.hourly import HourlySeries
from tests.alerts.hazards.gardens import GREENSBORO, NEW_YORK, made, year_hours

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

START = datetime(2024, 7, 1, 4, tzinfo=UTC)  # midnight in New York


def series(t_c: ArrayLike, **columns: ArrayLike) -> HourlySeries:
    values: Any = {name: np.asarray(of, dtype=np.float64) for name, of in {"t_c": t_c, **columns}.items()}
    return HourlySeries(START, values)


@pytest.mark.parametrize(
    ("day", "zone", "hours"),
    [
        ("2024-03-31", "Europe/Berlin", 23),
        ("2024-10-27", "Europe/Berlin", 25),
        ("2024-03-10", "America/New_York", 23),
        ("2024-11-03", "America/New_York", 25),
        ("2024-04-07", "Australia/Melbourne", 25),
        ("2024-06-01", "Europe/Berlin", 24),
    ],
)
def test_days_are_as_long_as_the_clock_makes_them(day: str, zone: str, hours: int) -> None:
    place = Place(50.0, 10.0, 0.0, ZoneInfo(zone))
    wanted = date.fromisoformat(day)
    start = datetime.combine(wanted, datetime.min.time(), ZoneInfo(zone)).astimezone(UTC)
    found = clock(made(start, t_c=np.zeros((1, 48))), place)
    assert (found.days[0], int(found.first[1])) == (wanted, hours)
    assert float(found.hour[found.first[1]]) == 0.0


def test_nights_begin_at_noon_and_belong_to_the_morning() -> None:
    found = clock(made(START, t_c=np.zeros((1, 40))), NEW_YORK, from_noon=True)
    assert found.days == (date(2024, 7, 1), date(2024, 7, 2), date(2024, 7, 3))
    assert found.first.tolist() == [0, 12, 36]


def test_wrong_shapes_and_unknown_hours_are_refused() -> None:
    with pytest.raises(ValueError, match=r"rain_mm has shape \(2, 5\); right would be \(1, 5\) or \(1, 5\)"):
        made(START, t_c=np.zeros((1, 5)), rain_mm=np.zeros((2, 5)))
    with pytest.raises(ValueError, match="cloud_percent has unknown hours"):
        made(START, t_c=np.zeros((1, 2)), cloud_percent=np.array([[np.nan, 1.0]]))


def test_a_part_keeps_its_instants() -> None:
    hours = made(START, t_c=np.arange(48.0)[None])
    cut = hours.part(START + timedelta(hours=5), START + timedelta(hours=30))
    assert (cut.start, len(cut), float(cut.t_c[0, 0])) == (START + timedelta(hours=5), 25, 5.0)
    assert cut.rain_mm.shape == (1, 25)
    assert len(hours.part(START - timedelta(hours=9), START + timedelta(days=9))) == 48
    assert len(hours.part(START + timedelta(days=9), START + timedelta(days=10))) == 0


def test_instants_become_means_and_the_hour_that_ends_stays() -> None:
    found = hours_of(
        series(
            [10.0, 12.0, 16.0],
            dew_point_c=[8.0, 8.0, 8.0],
            wind_ms=[1.0, 3.0, 3.0],
            gust_ms=[9.0, 5.0, 6.0],
            cloud_percent=[0.0, 50.0, 100.0],
            radiation_w_m2=[9.0, 100.0, 200.0],
            precipitation_mm=[9.0, 0.0, 1.0],
        ),
        START,
        NEW_YORK,
    )
    assert found.start == START
    assert found.t_c.tolist() == [[11.0, 14.0]]
    assert found.vapour_kpa == pytest.approx(np.full((1, 2), float(saturation_kpa(8.0))))
    assert found.wind_10m_ms.tolist() == [[2.0, 3.0]]
    assert found.gust_ms.tolist() == [[5.0, 6.0]]
    assert found.cloud_percent.tolist() == [[25.0, 75.0]]
    assert found.sunlight_w_m2.tolist() == [[100.0, 200.0]]
    assert found.rain_mm.tolist() == [[0.0, 1.0]]


def test_what_is_not_told_is_filled() -> None:
    t = 24.0 - 6.0 * np.cos(2.0 * np.pi * (np.arange(49) - 4) / 24.0)
    found = hours_of(series(t), START, NEW_YORK)
    assert found.wind_10m_ms == pytest.approx(USUAL_WIND_MS)
    assert found.gust_ms == pytest.approx(GUST_FACTOR * USUAL_WIND_MS)
    assert found.vapour_kpa[0, 12] == pytest.approx(
        float(saturation_kpa(18.0))
    )  # FAO-56: dew point = minimum
    assert not found.rain_mm.any()
    assert not found.hail.any()
    assert found.cloud_percent == pytest.approx(0.0)
    # Clear in July at 41 N: 25 to 30 MJ (FAO-56 table 2.6 and eq. 37).
    assert 25.0 <= found.sunlight_w_m2[0, :24].sum() * 0.0036 <= 31.0


def test_cloud_and_sunlight_stand_for_each_other() -> None:
    t = np.full(25, 20.0)
    cloud = np.full(25, 80.0)
    by_cloud = hours_of(series(t, cloud_percent=cloud), START, NEW_YORK)
    told = np.concatenate([[0.0], by_cloud.sunlight_w_m2[0]])
    by_light = hours_of(series(t, radiation_w_m2=told), START, NEW_YORK)
    assert by_light.cloud_percent == pytest.approx(80.0, abs=0.1)
    assert by_light.sunlight_w_m2 == pytest.approx(by_cloud.sunlight_w_m2)


def test_hail_is_read_from_the_code_of_the_weather() -> None:
    # WMO table 4677: 95 thunderstorm without hail, 96 and 99 with it.
    found = hours_of(series(np.full(5, 20.0), weather_code=[99, 95, 96, np.nan, 99]), START, NEW_YORK)
    assert found.hail.tolist() == [[False, True, False, True]]


def test_humidity_serves_where_there_is_no_dew_point() -> None:
    found = hours_of(series(np.full(3, 20.0), humidity_percent=np.full(3, 50.0)), START, NEW_YORK)
    assert found.vapour_kpa == pytest.approx(1.169, abs=0.001)  # half of 2.338 kPa (FAO-56 table 2.3)


def test_short_gaps_are_bridged_and_of_a_long_one_nothing_is_known() -> None:
    t = np.arange(30.0)
    t[[0, 3, 4, *range(9, 19), *range(23, 29)]] = np.nan
    found = hours_of(series(t), START, NEW_YORK)
    assert found.start == START + timedelta(hours=1)
    assert found.t_c[0] == pytest.approx(np.arange(1.5, 22.0))
    assert np.flatnonzero(~found.known[0]).tolist() == list(range(7, 18))  # from 08:00 to 19:00
    for nothing in (np.full(5, np.nan), np.array([1.0, np.nan]), np.array([1.0]), np.empty(0)):
        with pytest.raises(ValueError, match="no two hours in a row"):
            hours_of(series(nothing), START, NEW_YORK)


def test_hours_tell_of_what_spans_they_know_nothing() -> None:
    t = np.arange(30.0)
    t[9:19] = np.nan
    hours, hour = hours_of(series(t), START, NEW_YORK), timedelta(hours=1)
    gap, end = (START + 8 * hour, START + 19 * hour), START + 29 * hour
    assert hours.unknown(START, end) == (gap,)
    assert hours.unknown(START - hour, end + hour) == ((START - hour, START), gap, (end, end + hour))
    assert hours.unknown(START + 10 * hour, START + 12 * hour) == ((START + 10 * hour, START + 12 * hour),)
    assert hours.unknown(START, START + 8 * hour) == ()
    assert hours.unknown(end + hour, end + 2 * hour) == ((end + hour, end + 2 * hour),)


def test_filled_humidity_and_light_are_near_a_real_july() -> None:
    """What FAO-56 calls good enough for a missing dew point; the measured year is that of the National Solar Radiation Data Base."""
    real = year_hours(GREENSBORO, 7, 1, 31)
    ends = np.append(real.t_c[0], real.t_c[0, -1])
    cloud = np.append(real.cloud_percent[0], real.cloud_percent[0, -1])
    told = HourlySeries(real.start, {"t_c": ends, "cloud_percent": cloud})
    found = hours_of(told, real.start, GREENSBORO)
    assert float((found.vapour_kpa / real.vapour_kpa).mean()) == pytest.approx(1.0, abs=0.1)
    assert found.sunlight_w_m2.mean() == pytest.approx(real.sunlight_w_m2.mean(), rel=0.2)
