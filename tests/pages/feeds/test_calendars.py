"""Subscribed calendars over HTTP: RFC 9110 (8.8 validators, 12.5.3 codings, 13 conditions), read by programs not ours."""

from __future__ import annotations

import gzip
import json
import logging
import re
import subprocess
import sys
import time
from dataclasses import replace
from datetime import timedelta
from email.utils import format_datetime, parsedate_to_datetime
from typing import TYPE_CHECKING
from uuid import UUID

import pytest
import requests
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.datastructures import Headers

from calendar_core.app.calendar.addresses import hash_of
from calendar_core.pages.feeds.calendars import has_it, takes_gzip
from calendar_core.pages.shell import ready_calendars as ready
from calendar_core.pages.shell.no_secrets import NoSecrets
from calendar_core.planning.events import CalendarOf
from calendar_core.storage import calendar_addresses, calendar_texts
from calendar_core.storage.errors import StoreError
from tests.pages.feeds.conftest import GARDEN, NOW, running
from tests.publishing.test_feed import (
    CONFIRMED,
    JS,
    SUMMER,
    ical_js,
    plain,
    read_by_ical,
    read_by_icalendar,
    read_by_vobject,
    written,
)

if TYPE_CHECKING:
    from datetime import datetime

    from tests.pages.feeds.conftest import Bench

SECRET = "q3QJm8pX0hT6vY2sZ1bN4cD7eF9gH5kL"  # noqa: S105 - invented
PLAIN = {"Accept-Encoding": "identity"}


@pytest.fixture
def calendar(bench: Bench, service: str) -> str:
    """Give the address of a calendar of three events."""
    bench.put(written(*SUMMER))
    return service + bench.address(SECRET).path


def test_the_calendar_is_what_was_kept(calendar: str) -> None:
    got = requests.get(calendar, headers=PLAIN, timeout=10)
    assert (got.status_code, got.content) == (200, written(*SUMMER))
    assert got.headers["Content-Type"] == "text/calendar; charset=utf-8"
    assert got.headers["Cache-Control"] == "private, max-age=3600"
    assert got.headers["Content-Disposition"] == 'inline; filename="leafclock-work.ics"'
    assert got.headers["X-Robots-Tag"] == "noindex, nofollow"
    assert got.headers["Referrer-Policy"] == "no-referrer"
    assert got.headers["Vary"] == "Accept-Encoding"
    assert re.fullmatch(r'"[0-9a-f]{32}"', got.headers["ETag"])  # strong: without W/
    assert parsedate_to_datetime(got.headers["Last-Modified"]) == NOW + timedelta(minutes=1)


def test_programs_that_are_not_ours_read_it(calendar: str) -> None:
    data = requests.get(calendar, timeout=10).content
    for read in (read_by_ical, read_by_vobject):
        assert read(data) == read_by_icalendar(written(*SUMMER))


def test_ical_js_reads_it_over_http(calendar: str) -> None:
    module = ical_js()
    fetched = "const text = await (await fetch(process.argv[2])).text();"
    script = re.sub(r"let text = '';.*\n", f"{fetched}\n", JS)
    words = ["node", "--input-type=module", "-e", script, module.as_uri(), calendar]
    try:
        made = subprocess.run(words, capture_output=True, check=True)
    except FileNotFoundError:
        pytest.skip("node is not installed")
    found = [row[:2] for row in json.loads(made.stdout)]
    assert found == [[uid, summary] for uid, summary, *_ in read_by_icalendar(written(*SUMMER))]


def test_who_has_it_is_told_so_and_sent_nothing(calendar: str) -> None:
    got = requests.get(calendar, headers=PLAIN, timeout=10)
    tag, moment = got.headers["ETag"], got.headers["Last-Modified"]
    earlier = format_datetime(parsedate_to_datetime(moment) - timedelta(seconds=1), usegmt=True)
    for condition, status in (
        ({"If-None-Match": tag}, 304),
        ({"If-None-Match": f'"a", W/{tag}'}, 304),
        ({"If-None-Match": "*"}, 304),
        ({"If-None-Match": '"a"'}, 200),
        ({"If-Modified-Since": moment}, 304),
        ({"If-Modified-Since": earlier}, 200),
        ({"If-Modified-Since": "some day"}, 200),
        ({"If-Modified-Since": "01 Jan 99999999999999999999 00:00:00"}, 200),
        ({"If-None-Match": '"a"', "If-Modified-Since": moment}, 200),
    ):
        again = requests.get(calendar, headers={**PLAIN, **condition}, timeout=10)
        assert again.status_code == status, condition
        if status == 304:
            assert again.content == b""
            kept = {name: got.headers[name] for name in ("ETag", "Cache-Control", "Vary", "Last-Modified")}
            assert {name: again.headers[name] for name in kept} == kept


def test_what_is_packed_has_a_tag_of_its_own(calendar: str) -> None:
    packed = requests.get(calendar, headers={"Accept-Encoding": "gzip"}, stream=True, timeout=10)
    raw = packed.raw.read(decode_content=False)
    assert packed.headers["Content-Encoding"] == "gzip"
    assert int(packed.headers["Content-Length"]) == len(raw)
    assert gzip.decompress(raw) == written(*SUMMER)
    tag = packed.headers["ETag"]
    as_it_is = requests.get(calendar, headers={**PLAIN, "If-None-Match": tag}, timeout=10)
    assert (as_it_is.status_code, as_it_is.headers["ETag"] != tag) == (200, True)
    again = requests.get(calendar, headers={"Accept-Encoding": "gzip", "If-None-Match": tag}, timeout=10)
    assert (again.status_code, again.headers["ETag"]) == (304, tag)


def test_head_tells_all_of_it_but_the_body(calendar: str) -> None:
    got, head = (requests.request(how, calendar, headers=PLAIN, timeout=10) for how in ("GET", "HEAD"))
    assert (head.status_code, head.content) == (200, b"")
    assert {**head.headers, "date": ""} == {**got.headers, "date": ""}


def test_an_unknown_secret_and_a_revoked_address_are_told_apart(bench: Bench, calendar: str) -> None:
    other = bench.address("another")
    base = calendar.partition("/calendar/")[0]
    unknown = [requests.get(f"{base}/calendar/{guess}.ics", timeout=10) for guess in ("x", "y" * 5000, "%2e")]
    assert {(one.status_code, one.text) for one in unknown} == {
        (404, "There is no calendar at this address.\n")
    }
    assert requests.get(base + other.path, timeout=10).status_code == 200
    with bench.store.begin() as connection:
        calendar_addresses.revoke_address(connection, other.address.id, NOW)
    bench.calendars.forget()
    assert requests.get(base + other.path, timeout=10).status_code == 410
    assert requests.get(calendar, timeout=10).status_code == 200


def test_another_process_is_heeded_once_the_memory_is_old(
    bench: Bench, calendar: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(ready, "LOOKED_S", 0.0)
    before = requests.get(calendar, headers=PLAIN, timeout=10)
    bench.put(written(CONFIRMED))
    after = requests.get(calendar, headers=PLAIN, timeout=10)
    assert after.content == written(CONFIRMED)
    assert after.headers["ETag"] != before.headers["ETag"]
    moments = [parsedate_to_datetime(one.headers["Last-Modified"]) for one in (before, after)]
    assert moments[0] < moments[1]


def test_a_revocation_by_another_process_is_heeded_within_seconds(bench: Bench, calendar: str) -> None:
    assert requests.get(calendar, timeout=10).status_code == 200
    words = ("address", "revoke", "phone", "--db", bench.store.name)
    subprocess.run([sys.executable, "-m", "calendar_core", *words], check=True, capture_output=True)
    ends = time.monotonic() + 30
    while (status := requests.get(calendar, timeout=10).status_code) == 200 and time.monotonic() < ends:
        time.sleep(0.2)
    assert status == 410


def test_a_database_that_fails_leaves_the_last_good_copy(
    bench: Bench, calendar: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(ready, "LOOKED_S", 0.0)
    late = bench.address("late")
    assert requests.get(calendar, timeout=10).status_code == 200

    def fails(*_words: object) -> None:
        raise StoreError("garden.db: disk I/O error")

    monkeypatch.setattr(calendar_addresses, "find_address", fails)
    assert requests.get(calendar, timeout=10).content == written(*SUMMER)
    refused = requests.get(calendar.partition("/calendar/")[0] + late.path, timeout=10)
    assert (refused.status_code, refused.headers["Retry-After"]) == (503, "300")
    assert b"VCALENDAR" not in refused.content


def test_the_first_who_asks_waits_until_it_is_made(bench: Bench, service: str) -> None:
    got = requests.get(service + bench.address(SECRET, CalendarOf("moves")).path, timeout=60)
    assert got.status_code == 200
    assert read_by_ical(got.content) == []
    with bench.store.read() as connection:
        kept = calendar_texts.get_text(connection, GARDEN.id, CalendarOf("moves"))
    assert kept is not None
    assert kept.data == got.content


def test_use_is_noted_once_a_day(bench: Bench) -> None:
    bench.put(written())
    bench.address(SECRET)
    calendars = bench.calendars
    for hours, noted in ((0, 0), (5, 0), (25, 25)):
        bench.moment = NOW + timedelta(hours=hours)
        known = calendars.look(hash_of(SECRET))
        assert known is not None
        calendars.note_use(known)
        assert last_used(bench) == NOW + timedelta(hours=noted)


def test_who_reads_it_over_http_uses_it(bench: Bench, calendar: str) -> None:
    requests.get(calendar, timeout=10)
    ends = time.monotonic() + 30
    while last_used(bench) is None and time.monotonic() < ends:  # it is noted after the answer
        time.sleep(0.05)
    assert last_used(bench) == NOW


def last_used(bench: Bench) -> datetime | None:
    with bench.store.read() as connection:
        found = calendar_addresses.find_address(connection, hash_of(SECRET))
    assert found is not None
    return found.last_used


def test_five_thousand_events_come_whole(bench: Bench, service: str) -> None:
    events = [
        replace(CONFIRMED, uid=UUID(int=n), summary=f"Wire off: pine {n}", start=CONFIRMED.start + timedelta(days=n % 300), end=CONFIRMED.end + timedelta(days=n % 300))
        for n in range(5000)
    ]  # fmt: skip
    bench.put(written(*events))
    got = requests.get(service + bench.address(SECRET).path, timeout=60)
    assert [(row[0], row[1]) for row in read_by_ical(got.content)] == [
        (str(event.uid), event.summary) for event in events
    ]


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None, max_examples=25)
@given(text=st.text(max_size=60))
def test_any_text_comes_through(bench: Bench, service: str, text: str) -> None:
    event = replace(CONFIRMED, summary=f"x{text}", description=f"x{text}x")
    bench.put(written(event))
    secret = f"{SECRET}{bench.minutes}"
    got = requests.get(service + bench.address(secret).path, timeout=10)
    assert [(row[1], row[2]) for row in read_by_ical(got.content)] == [
        (" ".join(plain(event.summary).split()), plain(event.description))
    ]


def test_secrets_stay_out_of_the_log(bench: Bench, caplog: pytest.LogCaptureFixture) -> None:
    access = logging.getLogger("uvicorn.access")
    keeps = NoSecrets()
    access.addFilter(keeps)
    path = bench.address(SECRET).path
    bench.put(written())
    try:
        with caplog.at_level(logging.DEBUG), running(bench.app, access_log=True) as where:
            for url in (where + path, f"{where}{path}?{SECRET}", f"{where}/calendar/{SECRET}x.ics"):
                requests.get(url, timeout=10)
    finally:
        access.removeFilter(keeps)
    logged = [record.getMessage() for record in caplog.records if record.name.startswith("uvicorn.access")]
    assert len(logged) == 3
    assert not [line for line in logged if SECRET in line]


def test_search_engines_are_asked_to_stay_away(service: str) -> None:
    assert requests.get(f"{service}/robots.txt", timeout=10).text == "User-agent: *\nDisallow: /calendar/\n"


def test_addresses_are_no_part_of_the_description(service: str) -> None:
    assert "/calendar/" not in requests.get(f"{service}/openapi.json", timeout=10).text


@given(header=st.text(st.characters(codec="latin-1"), max_size=80))
def test_no_header_is_a_fault(header: str) -> None:
    sent = Headers({"if-none-match": header})
    assert has_it(sent, '"t"', NOW) == (header.strip() == "*" or '"t"' in header)
    assert takes_gzip(header) in (True, False)
    has_it(Headers({"if-modified-since": header}), '"t"', NOW)
