"""Headers and bodies alone. Sources: RFC 9110, RFC 9111, RFC 9457, RFC 8259."""

from __future__ import annotations

import gzip
import json
import tracemalloc
from datetime import UTC, datetime, timedelta

import pytest

from calendar_core.weather.sources import answers

NOW = datetime(1994, 11, 6, 8, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("headers", "expires"),
    [
        # The three forms of a date: RFC 9110, section 5.6.7.
        ({"Expires": "Sun, 06 Nov 1994 08:49:37 GMT"}, NOW + timedelta(minutes=49, seconds=37)),
        ({"Expires": "Sunday, 06-Nov-94 08:49:37 GMT"}, NOW + timedelta(minutes=49, seconds=37)),
        ({"Expires": "Sun Nov  6 08:49:37 1994"}, NOW + timedelta(minutes=49, seconds=37)),
        # max-age comes before Expires: RFC 9111, section 5.3; s-maxage is for shared caches.
        (
            {"Expires": "Sun, 06 Nov 1994 08:49:37 GMT", "Cache-Control": "public, max-age=60"},
            NOW + timedelta(seconds=60),
        ),
        ({"Cache-Control": "s-maxage=60"}, None),
        # "0" and other dates that are none mean the past: RFC 9111, section 5.3.
        ({"Expires": "0"}, None),
        ({}, None),
    ],
)
def test_expiry(headers: dict[str, str], expires: datetime | None) -> None:
    assert answers.expiry(headers, NOW) == expires


def test_retry_after() -> None:
    """The examples of RFC 9110, section 10.2.3; a moment that is past means now."""
    before = datetime(1999, 12, 31, 23, 58, 59, tzinfo=UTC)
    assert answers.retry_after_s({"Retry-After": "120"}, before) == 120
    assert answers.retry_after_s({"Retry-After": "Fri, 31 Dec 1999 23:59:59 GMT"}, before) == 60
    assert answers.retry_after_s({"Retry-After": "Sun, 06 Nov 1994 08:49:37 GMT"}, before) == 0


def test_reasons() -> None:
    """Problem details as in RFC 9457, section 3; a page without its style; one readable line."""
    problem = {
        "type": "https://example.com/probs/out-of-credit",
        "title": "No credit.",
        "detail": "It is 30.",
    }
    assert answers.reason_given(json.dumps(problem).encode()) == "It is 30."
    page = b"<html><head><title>x</title></head><body><p>Missing\r\n  user agent</p>\x1b[31m</body></html>"
    assert answers.reason_given(page) == "Missing user agent [31m"
    assert answers.reason_given(b"[1, 2]") == ""
    assert len(answers.reason_given(b"ab " * 1000)) == 200


@pytest.mark.parametrize("odd", ["true", '"1.5"', "NaN", "Infinity", "1e999", "9" * 400, "[]"])
def test_what_is_no_number(odd: str) -> None:
    said = answers.as_json(f'{{"one": {odd}, "list": [null, 1, {odd}]}}'.encode())
    with pytest.raises(answers.Nonsense, match=r"^one is .{1,60}; right would be a number$"):
        answers.number(said, "one")
    with pytest.raises(answers.Nonsense, match=r"^list holds .{1,60}; right would be numbers or null$"):
        answers.numbers(said, "list", 3)


def test_a_small_file_that_unpacks_to_a_large_one_takes_no_memory() -> None:
    packed = gzip.compress(bytes(50_000_000), 1)
    tracemalloc.start()
    try:
        with pytest.raises(answers.Nonsense, match="more than 1000 bytes"):
            answers.as_text(packed, 1000)
        assert tracemalloc.get_traced_memory()[1] < 5_000_000
    finally:
        tracemalloc.stop()
