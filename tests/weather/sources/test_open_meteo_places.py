"""Places by name from Open-Meteo (https://open-meteo.com/en/docs/geocoding-api)."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from calendar_core.weather.sources.http import ServiceError
from calendar_core.weather.sources.open_meteo import PLACES_CREDIT, OpenMeteo
from calendar_core.weather.sources.protocol import Access, PlaceFound
from tests.weather.sources.asking import Asking, asked
from tests.weather.sources.payloads_open_meteo import answer, place, places

if TYPE_CHECKING:
    from pytest_httpserver import HTTPServer


def search(server: HTTPServer, said: object, name: str, **how: object) -> tuple[PlaceFound, ...]:
    server.expect_request("/v1/search", method="GET").respond_with_response(answer(said))
    open_meteo = OpenMeteo(Access(Asking().client(), server.url_for("")))
    return open_meteo.places(name, **how)  # type: ignore[arg-type]


def test_places(httpserver: HTTPServer) -> None:
    unknown = place(elevation=-9999.0, admin1=None, timezone=None, country=None, name="ᔨᕆᒃ")
    found = search(httpserver, places(place(), unknown), " Zürich, 上 ", count=2, language="de")
    query = {"name": "Zürich, 上", "count": "2", "language": "de", "format": "json"}
    assert asked(httpserver) == [("/v1/search", query)]
    assert found == (
        PlaceFound("Zürich", "Zurich", "Switzerland", 47.36667, 8.55, 429.0, "Europe/Zurich"),
        PlaceFound("ᔨᕆᒃ", "", "", 47.36667, 8.55, None, ""),
    )


def test_no_place_of_that_name(httpserver: HTTPServer) -> None:
    assert search(httpserver, places(), "Q") == ()
    assert asked(httpserver)[0][1] == {"name": "Q", "count": "10", "language": "en", "format": "json"}


@pytest.mark.parametrize(
    ("said", "found"),
    [
        ({"results": {}}, "results is {}; right would be a list of objects"),
        ({"results": [3]}, "results is [3]; right would be a list of objects"),
        (places(place(latitude=None)), "latitude is missing; right would be a number"),
    ],
)
def test_places_that_cannot_be(httpserver: HTTPServer, said: object, found: str) -> None:
    with pytest.raises(ServiceError) as caught:
        search(httpserver, said, "Zürich")
    assert (caught.value.kind, str(caught.value)) == ("nonsense", f"localhost: {found}")


def test_credit() -> None:
    """GeoNames is under CC BY 4.0, which asks for its name and both links."""
    assert "GeoNames (https://www.geonames.org/)" in PLACES_CREDIT
    assert "https://creativecommons.org/licenses/by/4.0/" in PLACES_CREDIT
