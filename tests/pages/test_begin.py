"""A garden founded on the phone: at once, whatever its weather does."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
import requests

from calendar_core.storage import gardens
from calendar_core.storage.engine import open_store
from tests.app.weather_service import WeatherService
from tests.pages.serving import serving

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from playwright.sync_api import Browser
    from pytest_httpserver import HTTPServer

    from calendar_core.garden.model import Garden
    from tests.pages.serving import Reader, Served

TOKEN = re.compile(r'name="token" value="([0-9a-f]{64})"')
TREES = "3 Japanese maple; black pine large; satsuki azalea"


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "new.db"


@pytest.fixture
def empty(file: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Served]:
    """Serve a database without a garden, and no weather service."""
    monkeypatch.setenv("LEAFCLOCK_WEATHER", "off")
    with serving(file) as found:
        yield found


def sent(reader: Reader, **form: str) -> requests.Response:
    token = TOKEN.search(reader.get("/begin").text)
    assert token is not None
    return reader.line.post(f"{reader.url}/begin", data={"token": token[1], **form}, timeout=120)


def garden_in(file: Path) -> tuple[Garden | None, list[str]]:
    store = open_store(file)
    with store.read() as connection:
        found = next(iter(gardens.list_gardens(connection)), None)
        trees = [] if found is None else [tree.label for tree in gardens.list_trees(connection, found.id)]
    store.close()
    return found, trees


def test_every_page_leads_there_until_there_is_a_garden(empty: Served) -> None:
    assert empty.reader().get("/").url == f"{empty.url}/begin"


def test_today_is_there_at_once(empty: Served, file: Path) -> None:
    reader = empty.reader()
    answer = sent(reader, name="Yard", place="Kyoto", trees=TREES)
    assert answer.url == f"{empty.url}/"
    assert "Founded: Yard, Kyoto" in answer.text
    garden, trees = garden_in(file)
    assert garden is not None
    assert (garden.name, garden.zone) == ("Yard", "Asia/Tokyo")
    assert len(trees) == 5
    assert reader.get("/begin").url == f"{empty.url}/"


@pytest.mark.parametrize(
    ("latitude", "longitude", "zone"),
    [("43,1", "141,4", "Asia/Tokyo"), ("-37.8", "144.9", "Australia/Melbourne")],
)
def test_by_two_numbers_in_north_and_south(
    empty: Served, file: Path, latitude: str, longitude: str, zone: str
) -> None:
    sent(empty.reader(), latitude=latitude, longitude=longitude, units="us")
    garden, trees = garden_in(file)
    assert garden is not None
    assert (garden.zone, garden.units, garden.name) == (zone, "us", "My garden")
    assert trees == []


@pytest.mark.parametrize(
    ("form", "told"),
    [
        ({}, "no place is given; right would be a town"),
        ({"place": "Nowhere at all"}, "right would be latitude and longitude"),
        ({"latitude": "60.17", "longitude": "24.94", "trees": "larch"}, "no weather service is asked"),
        ({"latitude": "91", "longitude": "0"}, "Latitude"),
        ({"latitude": "north", "longitude": "0"}, "Latitude"),
        ({"latitude": "47"}, "go together"),
        ({"place": "Kyoto", "trees": "3 plastic palm"}, "plastic palm"),
        ({"place": "Kyoto", "trees": "99999 Japanese maple"}, "right would be"),
        ({"place": "Kyoto", "name": "x" * 61}, "Name"),
        ({"place": "Kyoto", "units": "stone"}, "Units"),
    ],
)
def test_what_cannot_be_comes_back_with_what_was_entered(
    empty: Served, file: Path, form: dict[str, str], told: str
) -> None:
    entered = {"trees": "2 larch & <pine>", **form}
    answer = sent(empty.reader(), **entered)
    assert answer.status_code == 422
    assert told in answer.text
    assert "--" not in re.sub(r"<[^>]+>", "", answer.text)
    for value in form.values():
        assert value in answer.text or value == "stone"
    assert "<pine>" not in answer.text
    assert garden_in(file) == (None, [])


def test_who_sends_twice_founds_one(empty: Served, file: Path) -> None:
    reader = empty.reader()
    token = TOKEN.search(reader.get("/begin").text)
    assert token is not None
    for name in ("Yard", "Roof"):
        form = {"token": token[1], "place": "Kyoto", "name": name}
        assert reader.line.post(f"{empty.url}/begin", data=form, timeout=120).status_code == 200
    garden, _ = garden_in(file)
    assert garden is not None
    assert garden.name == "Yard"


def test_nobody_founds_one_from_outside(empty: Served, file: Path) -> None:
    answer = requests.get(f"{empty.url}/begin", headers={"X-Forwarded-For": "203.0.113.7"}, timeout=60)
    assert answer.url == f"{empty.url}/enter"
    form = {"place": "Kyoto", "token": "0" * 64}
    assert requests.post(f"{empty.url}/begin", data=form, timeout=60).status_code == 403
    assert garden_in(file)[0] is None


@pytest.fixture
def service(httpserver: HTTPServer, monkeypatch: pytest.MonkeyPatch) -> WeatherService:
    from calendar_core.app.shell.clock import utc_now
    from calendar_core.weather.sources.http import Client

    monkeypatch.setitem(Client.__init__.__kwdefaults__ or {}, "sleep", lambda _s: None)
    made = WeatherService(httpserver, utc_now().date(), town="Matsumoto")
    monkeypatch.setenv("LEAFCLOCK_WEATHER", "open-meteo")
    monkeypatch.setenv("LEAFCLOCK_OPEN_METEO", made.base)
    return made


def test_a_town_is_chosen_and_its_years_come_behind_it(service: WeatherService, file: Path) -> None:
    with serving(file) as served:
        reader = served.reader()
        asked = sent(reader, place="Matsumoto", trees=TREES, name="Yard")
        places = re.findall(r'name="at" value="([^"]+)">([^<]+)', asked.text)
        assert [words for _, words in places] == [
            "Matsumoto, Nagano, Japan (36.65, 138.18)",
            "Matsumoto, Chiba, Japan (35.50, 140.10)",
        ]
        assert garden_in(file)[0] is None
        answer = sent(reader, place="Matsumoto", trees=TREES, name="Yard", at=places[1][0])
        assert "past years of its weather are being fetched" in answer.text
        served.site.fetching.wait(240)
        assert served.site.fetching.faults == ()
    garden, trees = garden_in(file)
    assert garden is not None
    assert (garden.latitude, garden.place, garden.elevation_m) == (35.5, "Matsumoto", 420.0)
    assert garden.service_series is not None
    assert len(trees) == 5


def test_a_service_that_is_down_holds_up_nothing(service: WeatherService, file: Path) -> None:
    service.down_after = 0
    with serving(file) as served:
        reader = served.reader()
        assert "latitude and longitude" in sent(reader, place="Matsumoto").text
        answer = sent(reader, latitude="36.65", longitude="138.18", place="Matsumoto")
        assert answer.url == f"{served.url}/"
        served.site.fetching.wait(240)
        assert any("503" in line or "overloaded" in line for line in served.site.fetching.faults)
    assert garden_in(file)[0] is not None


def test_far_from_any_known_climate_it_waits_for_its_own_years(service: WeatherService, file: Path) -> None:
    """At 60 N in Europe no bundled place is near: the page says so and goes on by itself."""
    with serving(file) as served:
        reader = served.reader()
        waits = sent(reader, latitude="60.17", longitude="24.94", place="Helsinki", trees=TREES)
        assert waits.url == f"{served.url}/begin"
        served.site.fetching.wait(240)
        assert served.site.fetching.faults == ()
        assert "Founded: My garden, Helsinki" in reader.get("/begin").text
    garden, trees = garden_in(file)
    assert garden is not None
    assert garden.zone == "Europe/Helsinki"
    assert len(trees) == 5


def test_far_from_any_and_the_service_down_it_comes_back_with_what_was_entered(
    service: WeatherService, file: Path
) -> None:
    service.down_after = 0
    with serving(file) as served:
        reader = served.reader()
        sent(reader, latitude="60.17", longitude="24.94", trees=TREES)
        served.site.fetching.wait(240)
        page = reader.get("/begin").text
    assert "right would be to try again" in page
    assert 'value="60.17"' in page
    assert garden_in(file)[0] is None


@pytest.mark.parametrize("width", [320, 390])
def test_with_a_phone_that_tells_where_it_is(browser: Browser, empty: Served, file: Path, width: int) -> None:
    context = browser.new_context(
        viewport={"width": width, "height": 844},
        base_url=empty.url,
        geolocation={"latitude": 35.0116, "longitude": 135.7681},
        permissions=["geolocation"],
    )
    page = context.new_page()
    page.goto("/")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.get_by_role("button", name="Here").click()
    page.get_by_text("Filled in").wait_for()
    page.get_by_label("Trees").fill(TREES)
    page.get_by_role("button", name="Founded").click()
    page.get_by_text("Founded:").wait_for(timeout=60_000)
    context.close()
    garden, trees = garden_in(file)
    assert garden is not None
    assert (garden.latitude, garden.longitude) == (35.01, 135.77)  # to a kilometre
    assert len(trees) == 5
