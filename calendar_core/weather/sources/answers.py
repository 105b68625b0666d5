"""What an HTTP answer says in its headers and its body, read without a network.

What cannot be right raises `Nonsense`, which the client turns into an error of the service.
"""

from __future__ import annotations

import gzip
import io
import json
import math
import re
import sys
import zlib
from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime
from http import HTTPStatus
from typing import TYPE_CHECKING, Any, Literal, TypeGuard

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping

    from calendar_core.weather.daily import FloatArray

AnswerKind = Literal["refused", "busy", "down", "nonsense"]
"""What the lack of a usable answer amounts to: asking again is of no use, later, no answer, a wrong answer."""

GZIP = b"\x1f\x8b"
_MARKUP = re.compile(r"(?is)<(style|script|head)\b.*?</\1>|<[^>]*>")
_PAGE = re.compile(rb"(?is)\s*<(!doctype\s+html|html|head|body)\b")
_MAX_AGE = re.compile(r"(?i)(?:^|[\s,])max-age\s*=\s*\"?(\d{1,9})")
_LONGEST_REASON = 200


class Nonsense(ValueError):  # noqa: N818 - reads as what it is where it is caught
    """An answer that cannot be right; says what was found and what would be right."""


def as_json(body: bytes) -> Any:
    """Return what a JSON body says.

    Raises
    ------
    Nonsense
        When it is not JSON, with what was found.
    """
    try:
        return json.loads(body)
    except json.JSONDecodeError as error:
        found = _is_page(body) or f"{len(body)} bytes that are no JSON from character {error.pos} on"
        raise Nonsense(f"{found}; right would be JSON") from error
    except (ValueError, RecursionError) as error:  # bytes of no encoding, endless digits or brackets
        raise Nonsense(f"{len(body)} bytes that are no JSON; right would be JSON") from error


def shown(value: object) -> str:
    """Show a value of an answer in a message, cut to a readable length."""
    return "missing" if value is None else f"{value!r:.60}"


def part(said: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    """Return the object of that name in an object. Raises `Nonsense` when it is none."""
    found = said.get(name)
    if not isinstance(found, dict):
        raise Nonsense(f"{name} is {shown(found)}; right would be an object")
    return found


def number(said: Mapping[str, Any], name: str) -> float:
    """Return the number of that name in an object. Raises `Nonsense` when it is none."""
    value = said.get(name)
    if not _is_number(value):
        raise Nonsense(f"{name} is {shown(value)}; right would be a number")
    return float(value)


def numbers(said: Mapping[str, Any], name: str, n: int) -> FloatArray:
    """Return the list of ``n`` numbers of that name, (n,), NaN for null. Raises `Nonsense` when it is none."""
    values = said.get(name)
    if not isinstance(values, list):
        raise Nonsense(f"{name} is {shown(values)}; right would be a list")
    if len(values) != n:
        raise Nonsense(f"{name} has {len(values)} values; right would be {n}, one for each time")
    odd = [value for value in values if value is not None and not _is_number(value)]
    if odd:
        raise Nonsense(f"{name} holds {shown(odd[0])}; right would be numbers or null")
    return np.array([math.nan if value is None else value for value in values], dtype=np.float64)


def as_text(body: bytes, most_bytes: int) -> str:
    """Return a body as text, unpacked if it is a gzip file; a stray byte becomes a replacement character.

    Raises
    ------
    Nonsense
        When it is a web page or cannot be unpacked.
    """
    plain = unpacked(body, most_bytes) if body.startswith(GZIP) else body
    if page := _is_page(plain):
        raise Nonsense(f"{page}; right would be the data")
    return plain.decode("utf-8-sig", errors="replace")


def unpacked(body: bytes, most_bytes: int) -> bytes:
    """Return what a gzip body holds. Raises `Nonsense` when it cannot be unpacked or is over ``most_bytes``."""
    try:
        plain = gzip.GzipFile(fileobj=io.BytesIO(body)).read(most_bytes + 1)
    except (EOFError, gzip.BadGzipFile, zlib.error) as error:
        raise Nonsense(f"{len(body)} bytes that cannot be unpacked; right would be gzip") from error
    if len(plain) > most_bytes:
        raise Nonsense(too_much(most_bytes))
    return plain


def too_much(most_bytes: int) -> str:
    """Say that a body is too large."""
    return f"more than {most_bytes} bytes; right would be fewer"


def expiry(headers: Mapping[str, str], now: datetime) -> datetime | None:
    """Return until when an answer may be used unasked (UTC). Source: RFC 9111, section 5.2.2.1 and 5.3."""
    if age := _MAX_AGE.search(headers.get("Cache-Control", "")):
        return now + timedelta(seconds=int(age[1]))
    return _moment(headers.get("Expires", ""))


def retry_after_s(headers: Mapping[str, str], now: datetime) -> float | None:
    """Return the seconds to wait that a service asks for. Source: RFC 9110, section 10.2.3."""
    text = headers.get("Retry-After", "").strip()
    if text.isascii() and text.isdecimal():
        return float(text) if math.isfinite(float(text)) else None
    moment = _moment(text)
    return None if moment is None else max(0.0, (moment - now).total_seconds())


def kind_of(status: int, wait_s: float | None) -> AnswerKind:
    """Return what a status other than success amounts to, with the wait it asks for if any."""
    if status == HTTPStatus.TOO_MANY_REQUESTS or (status >= 500 and wait_s is not None):
        return "busy"
    if status >= 500:
        return "down"
    return "refused" if status >= 400 else "nonsense"


def reason_given(body: bytes) -> str:
    """Return a service's own words for an error, on one line, "" if there are none.

    Open-Meteo writes ``reason``; problem details (RFC 9457), as api.weather.gov sends, have ``detail`` and
    ``title``; others send a page or a plain line.
    """
    try:
        said = json.loads(body)
    except (ValueError, RecursionError):
        text = _MARKUP.sub(" ", body[:20_000].decode("utf-8", errors="replace"))
    else:
        names = ("reason", "detail", "title") if isinstance(said, dict) else ()
        text = next((str(said[name]) for name in names if said.get(name)), "")
    line = " ".join("".join(c if c.isprintable() else " " for c in text).split())
    return line if len(line) <= _LONGEST_REASON else line[: _LONGEST_REASON - 1] + "…"


def _is_number(value: object) -> TypeGuard[float]:
    """Tell a number from true and false, "1.5", and what JSON does not have: NaN and infinity."""
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) <= sys.float_info.max


def _is_page(body: bytes) -> str:
    return "a web page" if _PAGE.match(body) else ""


def _moment(text: str) -> datetime | None:
    """Return an HTTP date as UTC, None if it is none, such as the customary ``Expires: 0``."""
    try:
        moment = parsedate_to_datetime(text)
        # Dates in the old asctime form have no zone; HTTP dates are UTC.
        return (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).astimezone(UTC)
    except (ValueError, OverflowError):
        return None
