"""Weather from a service on this machine: start, fetch, check, status, place; offline and after a break."""

from __future__ import annotations

import gzip
import json
import shutil
import time
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from calendar_core.app.shell.clock import utc_now
from calendar_core.app.shell.session import open_session
from calendar_core.storage.engine import open_store
from calendar_core.storage.services import StoredForecast, get_forecast_hours, put_forecast
from tests.app.conftest import TREES, run
from tests.app.weather_service import WeatherService, temperature
from tests.weather.sources import payloads_met_norway as met_norway

if TYPE_CHECKING:
    from pytest_httpserver import HTTPServer

    from tests.app.conftest import Program

pytestmark = pytest.mark.slow

DAY = "2020-05-10"
HERE = ("start", "--lat", "36.66", "--lon", "138.19", "--elevation", "420", "--trees", TREES)


@pytest.fixture
def service(httpserver: HTTPServer, monkeypatch: pytest.MonkeyPatch, no_pauses: None) -> WeatherService:
    made = WeatherService(httpserver, date.fromisoformat(DAY))
    monkeypatch.setenv("LEAFCLOCK_WEATHER", "open-meteo")
    monkeypatch.setenv("LEAFCLOCK_OPEN_METEO", made.base)
    return made


@pytest.fixture(scope="module")
def database_here(make_httpserver: HTTPServer, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the database of a garden with its service's weather of DAY; it is copied, never changed."""
    database = tmp_path_factory.mktemp("here") / "garden.db"
    made = WeatherService(make_httpserver, date.fromisoformat(DAY))
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("LEAFCLOCK_WEATHER", "open-meteo")
        patch.setenv("LEAFCLOCK_OPEN_METEO", made.base)
        assert run(*HERE, "--today", DAY, "--db", str(database)).status == 0
    make_httpserver.clear()
    return database


@pytest.fixture
def founded_here(database_here: Path, folder: Path, leafclock: Program, service: WeatherService) -> Program:
    shutil.copy(database_here, folder / "garden.db")
    return leafclock


def test_start_gets_real_weather_in_one_go(leafclock: Program, service: WeatherService) -> None:
    service.today = utc_now().date()
    made = leafclock(*HERE, "--years", "10")
    assert (made.status, made.err) == (0, "")
    assert "past years of weather are known" in made.out
    assert "Weather data by Open-Meteo.com" in made.out
    years = {one["start_date"][:4] for one in service.asked if one["path"] == "/v1/archive"}
    assert len(years) >= 10
    assert [one["path"] for one in service.asked][-2:] == ["/v1/ensemble", "/v1/forecast"]


def test_start_leaves_the_years_before_to_a_process_behind_it(
    leafclock: Program, service: WeatherService
) -> None:
    service.today = utc_now().date()
    made = leafclock(*HERE, "--years", "12")
    assert made.status == 0
    assert "2 more years of past weather are being fetched behind this" in made.err
    known = {}
    for _ in range(600):
        known = json.loads(leafclock("weather", "status", "--json").out)
        if service.today.year - 12 not in known["years_missing"]:
            break
        time.sleep(0.1)
    assert known["known"]["years"] >= 11


def test_only_rounded_coordinates_are_asked_for(founded_here: Program, service: WeatherService) -> None:
    founded_here("weather", "fetch", "--years", "1", "--today", DAY)
    assert {(one["latitude"], one["longitude"]) for one in service.asked} == {("36.66", "138.19")}


def test_a_second_fetch_asks_only_for_what_is_missing(founded_here: Program, service: WeatherService) -> None:
    first = founded_here("weather", "fetch", "--years", "3", "--today", DAY)
    assert first.status == 0, first.err
    assert "4 years of past days in, from 2017 to 2020." in first.out
    before = len([one for one in service.asked if one["path"] == "/v1/archive"])
    again = founded_here("weather", "fetch", "--years", "3", "--today", DAY)
    after = [one for one in service.asked if one["path"] == "/v1/archive"][before:]
    assert {one["start_date"][:4] for one in after} <= {"2020", "2019"}  # this year is still growing
    assert again.status == 0


def test_a_service_that_breaks_off_loses_nothing_and_is_resumed(
    founded_here: Program, service: WeatherService
) -> None:
    service.down_after = 4
    broken = founded_here("weather", "fetch", "--years", "5", "--today", DAY)
    assert broken.status == 2
    assert "years are in; go on later with: leafclock weather fetch" in broken.err
    assert founded_here("plan", "--today", DAY).status == 0
    service.down_after = 10_000
    whole = founded_here("weather", "fetch", "--years", "5", "--today", DAY)
    assert whole.status == 0
    assert json.loads(founded_here("weather", "status", "--json", "--today", DAY).out)["known"]["years"] >= 4


def test_offline_the_plan_stands_and_says_how_old_its_weather_is(
    founded_here: Program, service: WeatherService
) -> None:
    founded_here("weather", "fetch", "--years", "3", "--today", DAY)
    later = "2020-05-20"
    status = founded_here("weather", "status", "--today", later).out
    assert "Forecast of 10 May from open-meteo, 5 members" in status
    assert "days old; newer: leafclock weather fetch" in status
    assert founded_here("plan", "--today", later).status == 0


def test_start_goes_on_without_a_service_that_is_down(leafclock: Program, service: WeatherService) -> None:
    service.down_after = 0
    made = leafclock(*HERE)
    assert made.status == 0
    assert "The plan rests on what is known without it" in made.err
    assert "leafclock weather fetch" in made.err
    assert "monthly normals of Nagano" in made.out


def test_start_offline_asks_nobody(leafclock: Program, service: WeatherService) -> None:
    assert leafclock(*HERE, "--offline").status == 0
    assert service.asked == []


def test_a_value_that_cannot_be_is_left_out_and_shown(founded_here: Program, service: WeatherService) -> None:
    service.spike = datetime(2019, 7, 1, 3, tzinfo=UTC)
    fetched = founded_here("weather", "fetch", "--years", "2", "--today", DAY)
    assert "2019: 1 value not believed; see: leafclock weather check" in fetched.out
    shown = founded_here("weather", "check", "--today", DAY).out
    assert "2019-07-01 03:00 UTC  t_c  -40  spike: right would be" in shown
    days = json.loads(founded_here("weather", "check", "--json", "--today", DAY).out)
    assert [(one["day"], one["hour"], one["value"]) for one in days] == [("2019-07-01", "03:00", -40.0)]


def test_days_and_hours_to_come_are_fetched_and_told(founded_here: Program, service: WeatherService) -> None:
    told = founded_here("weather", "fetch", "--years", "0", "--today", DAY).out
    assert "Forecast of 10 May from open-meteo, 5 members" in told
    # The run's last hour is 23:00 UTC of its tenth day: 8:00 of the day after in Japan.
    assert "Hour by hour from open-meteo single run, less than an hour old, to 20 May 8:00." in told
    assert told.count("Credit: ") == 1
    later = founded_here("weather", "status", "--today", "2020-05-12").out
    assert "Hour by hour from open-meteo single run, 48 hours old, to 20 May 8:00." in later
    data = json.loads(founded_here("weather", "status", "--json", "--today", DAY).out)
    assert data["hours_to"] == "2020-05-19T23:00:00+00:00"
    before = json.loads(founded_here("weather", "status", "--json", "--today", "2020-05-09").out)
    assert before["hours_to"] is None  # what came later was not known then


@pytest.mark.parametrize(
    ("down", "there", "missing"),
    [("forecast", "Forecast of 10 May", "Hour by hour"), ("ensemble", "Hour by hour", "Forecast of 10 May")],
)
def test_days_and_hours_fail_each_by_itself(
    founded_here: Program, service: WeatherService, down: str, there: str, missing: str
) -> None:
    service.down = frozenset({f"/v1/{down}"})
    broken = founded_here("weather", "fetch", "--years", "0", "--today", DAY)
    assert broken.status == 2
    assert there in broken.out
    assert missing not in broken.out
    (line,) = broken.err.splitlines()
    assert "The service is overloaded" in line
    assert there in founded_here("weather", "status", "--today", DAY).out or down == "ensemble"


def test_a_new_year_of_which_the_archive_has_no_day_yet_locks_nothing(
    founded_here: Program, service: WeatherService
) -> None:
    """The archive is about five days behind (https://open-meteo.com/en/docs/historical-weather-api)."""
    service.today, day = date(2021, 1, 3), ("--today", "2021-01-03")
    fetch = ("weather", "fetch", "--years", "0")
    made = founded_here(*fetch, *day)
    assert (made.status, made.err) == (0, "")
    assert "Forecast of 3 January" in made.out
    assert founded_here(*fetch, *day).status == 0
    for words in (
        ("plan",),
        ("due",),
        ("weather", "status"),
        ("weather", "check"),
        ("calendar", "bench.ics"),
    ):
        told = founded_here(*words, *day)
        assert (told.status, told.err) == (0, ""), words
    assert founded_here("export", "whole", "--exact").status == 0
    assert founded_here("import", "whole", "--db", "other.db").status == 0
    assert founded_here("plan", "--db", "other.db", *day).status == 0
    rows = "".join(f"2020-12-{n:02d},{-2 - n % 3},{6 + n % 5}\n" for n in range(1, 32))
    Path("own.csv").write_text(f"date,t_min,t_max\n{rows}", encoding="utf-8")
    assert founded_here("weather", "import", "own.csv", *day).status == 0
    service.today = date(2021, 1, 20)
    assert founded_here(*fetch, "--today", "2021-01-20").status == 0
    assert (
        "14 days from 2021-01-01 to 2021-01-14"
        in founded_here("weather", "status", "--today", "2021-01-20").out
    )


@pytest.mark.parametrize(
    "height", [("--elevation", "420"), ()], ids=["of a known height", "of no known height"]
)
def test_an_archive_that_is_down_leaves_the_forecast_to_be_asked(
    leafclock: Program, service: WeatherService, height: tuple[str, ...]
) -> None:
    service.down = frozenset({"/v1/archive"})
    here = ("start", "--lat", "36.66", "--lon", "138.19", *height, "--trees", TREES)
    assert leafclock(*here, "--today", DAY).status == 0
    made = leafclock("weather", "fetch", "--years", "3", "--today", DAY)
    assert made.status == 2
    assert "Forecast of 10 May" in made.out
    assert "Hour by hour" in made.out
    assert "past days" not in made.out
    (line,) = made.err.splitlines()
    assert "0 of 4 years are in; go on later with: leafclock weather fetch" in line
    assert {one.get("elevation") for one in service.asked} == ({"420"} if height else {None})


def test_start_asks_for_the_forecast_where_the_archive_is_down(
    leafclock: Program, service: WeatherService
) -> None:
    service.today, service.down = utc_now().date(), frozenset({"/v1/archive"})
    made = leafclock(*HERE)
    assert made.status == 0
    assert "no local weather yet" in made.err
    status = leafclock("weather", "status").out
    assert "from open-meteo, 5 members" in status
    assert "Hour by hour from open-meteo single run" in status


def test_the_hours_of_a_service_that_has_no_run_of_its_own_for_them(
    founded_here: Program, httpserver: HTTPServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    """MET Norway's one run is both the days and the hours; at 920 m it is 500 m above the garden."""
    said = met_norway.forecast(met_norway.hourly(0, [10.0] * 60), coordinates=(138.19, 36.66, 920))
    reply = met_norway.answer(said)
    httpserver.expect_request("/norway/complete").respond_with_response(reply)
    monkeypatch.setenv("LEAFCLOCK_WEATHER", "met-norway")
    monkeypatch.setenv("LEAFCLOCK_CONTACT", "grower@example.org")
    monkeypatch.setenv("LEAFCLOCK_MET_NORWAY", httpserver.url_for("/norway"))
    told = founded_here("weather", "fetch", "--years", "0", "--today", "2026-05-01").out
    assert "Hour by hour from met-norway, 2 hours old" in told
    with closing(open_store("garden.db")) as store, store.read() as connection:
        hours = get_forecast_hours(connection, 36.66, 138.19)
    assert hours is not None
    assert hours.series["t_c"][:60] == pytest.approx(10.0 + 500 * 0.0065)  # ISO 2533: 6.5 degC a kilometre


def test_places_are_listed_with_what_start_wants(leafclock: Program, service: WeatherService) -> None:
    found = leafclock("place", "Nagano")
    assert found.status == 0
    assert "--lat 36.65 --lon 138.18" in found.out
    assert "Chiba, Japan" in found.out
    assert "GeoNames" in found.out
    none = leafclock("place", "Nowhere")
    assert (none.status, none.out) == (2, "")


@pytest.mark.parametrize(
    ("name", "value", "line"),
    [
        ("LEAFCLOCK_WEATHER", "crystal", "LEAFCLOCK_WEATHER is 'crystal'; right would be one of open-meteo, nws, met-norway, off"),
        ("LEAFCLOCK_WEATHER", "off", "LEAFCLOCK_WEATHER is off; right would be open-meteo, nws or met-norway"),
        ("LEAFCLOCK_WEATHER", "nws", "nws wants to know whom to write to; right would be your address in LEAFCLOCK_CONTACT"),
    ],
)  # fmt: skip
def test_settings_that_do_not_fit_are_refused(
    founded_here: Program, monkeypatch: pytest.MonkeyPatch, name: str, value: str, line: str
) -> None:
    monkeypatch.setenv(name, value)
    refused = founded_here("weather", "fetch", "--today", DAY)
    assert (refused.status, refused.err) == (2, f"leafclock: {line}\n")


@pytest.mark.usefixtures("garden")
@pytest.mark.parametrize(
    ("issued", "known"),
    [
        ("2015-07-10T23:30", True),  # 16:30 in Seattle, by Pacific Daylight Time (UTC-7)
        ("2015-07-11T00:30", True),  # 17:30 of the same day there, and of the next in UTC
        ("2015-07-11T06:59", True),
        ("2015-07-11T07:01", False),  # a minute after midnight there
    ],
)
def test_a_run_of_this_evening_is_of_today_wherever_the_garden_is(
    leafclock: Program, issued: str, known: bool
) -> None:
    day, at = date(2015, 7, 10), datetime.fromisoformat(issued).replace(tzinfo=UTC)
    before = open_session("garden.db", None, day)
    assert before.garden.zone == "America/Los_Angeles"
    low = np.full((3, 10), 12.0)
    run = StoredForecast(
        "invented", before.garden.latitude, before.garden.longitude, before.garden.zone, at, at, day, low, low + 10,
        "", 0.0,
    )  # fmt: skip
    with before.store.begin() as connection:
        put_forecast(connection, run)
    traces = open_session("garden.db", None, day).weather.sky.traces
    assert (traces.known.forecast is not None) == known
    told = leafclock("weather", "status", "--today", "2015-07-10").out
    assert ("Forecast of 10 July from invented" in told) == known


def test_what_a_published_date_was_made_from_can_be_told_later(
    founded_here: Program, service: WeatherService
) -> None:
    founded_here("weather", "fetch", "--years", "3", "--today", DAY)
    assert founded_here("calendar", "bench.ics", "--today", DAY).status == 0
    told = founded_here("weather", "behind", "2020-06-01", "--today", "2020-07-01")
    assert "Published on 10 May by version" in told.out
    assert "Forecast: open-meteo, issued 2020-05-10" in told.out
    assert "5 members, to 2020-05-2" in told.out
    early = founded_here("weather", "behind", "2020-05-09", "--today", "2020-07-01")
    assert (early.status, early.out) == (2, "")
    assert "nothing was published by 2020-05-09" in early.err


def test_an_old_run_given_again_and_again_gets_old(founded_here: Program, service: WeatherService) -> None:
    """The service answers each day of a week with the run of the first."""
    known = {}
    for days in range(8):
        day = f"{date.fromisoformat(DAY) + timedelta(days=days)}"
        told = founded_here("weather", "fetch", "--years", "1", "--today", day)
        assert told.status == 0, told.err
        known[days] = json.loads(founded_here("warn", "--json", "--today", day).out)
    assert not known[0]["cannot_judge"]
    assert {days for days, found in known.items() if found["cannot_judge"]} >= {2, 3, 4, 5, 6, 7}
    assert known[7]["forecast_at"] == f"{DAY}T23:59:59+00:00"


def test_an_ensemble_that_is_over_is_refused(founded_here: Program, service: WeatherService) -> None:
    before = json.loads(founded_here("weather", "status", "--json", "--today", DAY).out)
    service.today -= timedelta(days=3650)
    answer = founded_here("weather", "fetch", "--years", "1", "--today", DAY)
    assert answer.status == 2
    assert "open-meteo: its forecast ends on 2010-05-2" in answer.err
    assert "right would be days to come" in answer.err
    assert json.loads(founded_here("weather", "status", "--json", "--today", DAY).out) == before


def test_years_without_a_value_are_refused(
    leafclock: Program, service: WeatherService, monkeypatch: pytest.MonkeyPatch
) -> None:
    where = ("--place", "Nagano", "--trees", "black pine", "--offline", "--today", DAY)
    assert leafclock("start", *where).status == 0
    service.today = date(2000, 1, 1)  # the archive ends there: of all later days it has null
    answer = leafclock("weather", "fetch", "--years", "2", "--today", DAY)
    assert answer.status == 2
    assert "open-meteo: not one value from 2020-01-01 to 2020-05-09 can be believed" in answer.err
    assert json.loads(leafclock("weather", "status", "--json", "--today", DAY).out)["known"]["years"] == 0


def test_the_calendar_names_whose_weather_it_rests_on(founded_here: Program, service: WeatherService) -> None:
    """The licences ask for the credit wherever the data are shown."""
    founded_here("weather", "fetch", "--years", "3", "--today", DAY)
    founded_here("calendar", "bench.ics", "--today", DAY)
    unfolded = Path("bench.ics").read_text(encoding="utf-8").replace("\r\n ", "").replace("\n ", "")
    assert "Weather data by Open-Meteo.com" in unfolded
    assert "36.66" not in unfolded


def test_start_works_far_from_any_bundled_climate(leafclock: Program, service: WeatherService) -> None:
    """The nearest bundled place to Tashkent is over 4,000 km away: without the service it would be refused."""
    service.today = utc_now().date()
    words = ("start", "--lat", "41.3", "--lon", "69.2", "--trees", TREES)
    assert leafclock(*words, "--offline").status == 2
    made = leafclock(*words, "--years", "10")
    assert (made.status, made.err) == (0, "")
    assert "past years of weather are known" in made.out


def test_start_finds_a_town_that_is_not_bundled(leafclock: Program, service: WeatherService) -> None:
    service.today, service.town = utc_now().date(), "Matsumoto"
    made = leafclock("start", "--place", "Matsumoto", "--trees", TREES, "--years", "10")
    assert made.status == 0
    assert made.err.startswith("leafclock: Matsumoto, Nagano, Japan: 36.65, 138.18; another?")
    assert "My garden, Matsumoto." in made.out
    unknown = leafclock("start", "--place", "Nowhere", "--trees", TREES, "--name", "Other")
    assert unknown.status == 2
    assert "no place 'Nowhere' was found; right would be a town nearby, or --lat and --lon" in unknown.err


def test_own_days_are_held_against_the_service_and_its_days_moved_to_their_level(
    founded_here: Program, service: WeatherService
) -> None:
    founded_here("weather", "fetch", "--years", "3", "--today", DAY)
    known = json.loads(founded_here("weather", "status", "--json", "--today", DAY).out)
    lines = ["date,t_min,t_max"]
    for n in range(60):
        day = date(2019, 6, 1) + timedelta(days=n)
        hours = datetime(day.year, day.month, day.day, tzinfo=UTC).timestamp() / 3600 - 9 + np.arange(24.0)
        t = temperature(hours)
        lines.append(f"{day},{t.min() + 2:.1f},{t.max() + 2 + (20 if n == 30 else 0):.1f}")
    Path("own.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    told = founded_here("weather", "import", "own.csv", "--today", DAY)
    assert told.status == 0, told.err
    assert "far from what the weather service has" in told.out
    assert "2019-07-01  t_max" in founded_here("weather", "check", "--today", DAY).out
    after = json.loads(founded_here("weather", "status", "--json", "--today", DAY).out)
    assert after["level"]["t_min_c"] == pytest.approx(2.0, abs=0.1)
    assert after["known"]["years"] == known["known"]["years"]
    early = json.loads(founded_here("weather", "status", "--json", "--today", "2019-07-15").out)
    assert (early["level"]["days"], after["level"]["days"]) == (
        44,
        59,
    )  # days measured later were not known, one is odd
    assert "Your own days read +2.0 °C (nights)" in founded_here("weather", "status", "--today", DAY).out
    off = founded_here("weather", "level", "off", "--today", DAY)
    assert off.out == "Days of the service are taken as they come.\n"
    assert "leafclock weather level on" in founded_here("weather", "status", "--today", DAY).out
    assert founded_here("weather", "level", "maybe").status == 2


def test_a_station_of_the_archive_can_be_planned_from(
    founded_here: Program, httpserver: HTTPServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    days = [date(2017, 1, 1) + timedelta(days=n) for n in range(1200)]
    rows = [
        f"JA000047610,{day:%Y%m%d},{element},{round(120 - 120 * np.cos(2 * np.pi * (n - 25) / 365.25)) + off},,{'G' if n == 700 else ''},C,"
        for n, day in enumerate(days)
        for element, off in (("TMAX", 50), ("TMIN", -50))
    ]
    body = gzip.compress(("\n".join(rows) + "\n").encode())
    httpserver.expect_request("/daily/by_station/JA000047610.csv.gz").respond_with_data(body)
    monkeypatch.setenv("LEAFCLOCK_WEATHER", "open-meteo")
    monkeypatch.setenv("LEAFCLOCK_GHCN", httpserver.url_for("/daily"))
    made = founded_here("weather", "fetch", "--station", "JA000047610", "--today", DAY)
    assert made.status == 0, made.err
    assert made.out.startswith("In: 1199 days, from 2017-01-01 to 2020-04-14.")
    assert "flag G: lies far off" in founded_here("weather", "check", "--today", DAY).out
    status = founded_here("weather", "status", "--today", DAY).out
    assert "JA000047610" in status
    assert "Menne et al. 2012" in " ".join(status.split())
    missing = founded_here("weather", "fetch", "--station", "JA000047611", "--today", DAY)
    assert (missing.status, missing.out) == (2, "")


def test_the_readings_of_a_logger_are_imported(founded_here: Program) -> None:
    start = datetime(2019, 4, 1)  # noqa: DTZ001 - as a logger writes it, at the garden's clock
    rows = [f"{start + timedelta(minutes=30 * n):%d.%m.%Y %H:%M};{15 - 5 * np.cos(n / 48 * 2 * np.pi):.1f}" for n in range(48 * 40)]  # fmt: skip
    Path("balcony.csv").write_text("time;temperature\n" + "\n".join(rows) + "\n", encoding="utf-8")
    told = founded_here("weather", "import", "balcony.csv", "--today", DAY)
    assert told.status == 0, told.err
    assert told.out.startswith("In: 40 days, from 2019-04-01 to 2019-05-10.")
