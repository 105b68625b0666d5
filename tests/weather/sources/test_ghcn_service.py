"""The request for a station of GHCN-Daily, at a real server. Path: the archive's readme-by_station.txt."""

from __future__ import annotations

import gzip
from datetime import date
from typing import TYPE_CHECKING

import pytest
from werkzeug import Response

from calendar_core.weather.sources.ghcn import CREDIT, Ghcn
from calendar_core.weather.sources.http import ServiceError
from calendar_core.weather.sources.protocol import Access
from tests.weather.sources.asking import Asking

if TYPE_CHECKING:
    from pytest_httpserver import HTTPServer

STATION = "CA001100120"
DAY = f"{STATION},20240131,TMAX,61,,,7,0700"


def packed(*lines: str) -> Response:
    body = gzip.compress(("\n".join(lines) + "\n").encode())
    return Response(body, 200, {"ETag": '"a1"'}, content_type="application/gzip")


def test_a_station_is_asked_for_as_the_archive_files_it(httpserver: HTTPServer) -> None:
    asking = Asking()
    path = f"/pub/daily/by_station/{STATION}.csv.gz"
    httpserver.expect_request(path, query_string="").respond_with_response(packed(DAY))
    ghcn = Ghcn(Access(asking.client(), httpserver.url_for("/pub/daily/")))
    assert ghcn.station(STATION).series.t_max_c[0] == 6.1
    ((request, _),) = httpserver.log
    assert (request.method, request.path, request.query_string) == ("GET", path, b"")
    assert (ghcn.name, ghcn.credit) == ("GHCN-Daily", CREDIT)


def test_a_record_that_has_not_changed_is_not_sent_again(httpserver: HTTPServer) -> None:
    asking = Asking()
    path = f"/by_station/{STATION}.csv.gz"
    httpserver.expect_ordered_request(path).respond_with_response(packed(DAY))
    httpserver.expect_ordered_request(path, headers={"If-None-Match": '"a1"'}).respond_with_response(
        Response(status=304)
    )
    ghcn = Ghcn(Access(asking.client(), httpserver.url_for("")))
    assert ghcn.station(STATION).series.start == date(2024, 1, 30)
    assert ghcn.station(STATION, shift_maximum=False).series.start == date(2024, 1, 31)
    assert len(httpserver.log) == 2
    httpserver.check_assertions()


@pytest.mark.parametrize("station", ["", "USW0009472", "usw00094728", "../etc/passw", "USW00094728X"])
def test_what_is_no_station_is_not_asked_for(httpserver: HTTPServer, station: str) -> None:
    ghcn = Ghcn(Access(Asking().client(), httpserver.url_for("")))
    with pytest.raises(ServiceError, match="right would be 11 characters") as caught:
        ghcn.station(station)
    assert caught.value.kind == "refused"
    assert httpserver.log == []


@pytest.mark.parametrize(
    ("reply", "kind", "expected"),
    [
        (Response("gone", 404), "refused", "404"),
        (Response("<html><body>maintenance</body></html>", 200), "nonsense", "a web page"),
        (Response(gzip.compress(b"x" * 5000)[:-12], 200), "nonsense", "cannot be unpacked"),
        (packed("a,b,c"), "nonsense", "has 3 fields; right would be 8"),
        (
            packed(DAY.replace(STATION, "CA001100121")),
            "nonsense",
            f"CA001100121; right would be {STATION}",
        ),
    ],
)
def test_no_usable_answer_is_one_line(
    httpserver: HTTPServer, reply: Response, kind: str, expected: str
) -> None:
    asking = Asking()
    httpserver.expect_request(f"/by_station/{STATION}.csv.gz").respond_with_response(reply)
    with pytest.raises(ServiceError) as caught:
        Ghcn(Access(asking.client(), httpserver.url_for(""))).station(STATION)
    assert caught.value.kind == kind
    assert expected in str(caught.value)
    assert "\n" not in str(caught.value)
    assert asking.shelf == {}
