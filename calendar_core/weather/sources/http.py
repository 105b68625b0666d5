"""The one way to a weather service: few and polite requests, bounded in time and size, answers kept."""

from __future__ import annotations

import time
from dataclasses import dataclass, replace
from http import HTTPStatus
from typing import TYPE_CHECKING, Any, Literal, Protocol, TypeVar
from urllib.parse import urlsplit

import requests

from calendar_core.weather.sources import answers
from calendar_core.weather.sources.line import LedAway, Limits, Line, LineDown

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import datetime

    from calendar_core.weather.sources.answers import AnswerKind
    from calendar_core.weather.sources.line import Reply

T = TypeVar("T")
Keep = Literal["conditional", "for ever"]

RETRIES: dict[AnswerKind, int] = {"refused": 0, "busy": 2, "down": 2, "nonsense": 1}
"""At most so many new tries within a call; longer waiting is the schedule's work (common practice)."""

BACKOFF_S = (0.5, 1.0)
"""Waits before the new tries where the service names none (common practice)."""

SECRETS = frozenset({"apikey"})
"""Parameters that are sent but neither stored nor shown."""


class ServiceError(Exception):
    """A service gave no usable answer.

    ``kind`` is "refused" (asking again is of no use), "busy" (later: after ``wait_s`` seconds if the service
    said so), "down" (no answer) or "nonsense" (an answer that cannot be right). ``reason`` is the service's
    own wording, "" if it gave none.
    """

    def __init__(self, kind: AnswerKind, text: str, *, wait_s: float | None = None, reason: str = "") -> None:
        super().__init__(text)
        self.kind = kind
        self.wait_s = wait_s
        self.reason = reason


@dataclass(frozen=True, slots=True)
class KeptAnswer:
    """A stored answer. ``url`` has its parameters sorted; ``expires`` and ``fetched`` are UTC.

    ``fetched`` is when its body came: that it has not changed since makes it no younger.
    """

    url: str
    etag: str | None
    last_modified: str | None
    expires: datetime | None
    fetched: datetime
    body: bytes


class AnswerStore(Protocol):
    """Where answers are kept."""

    def get(self, url: str) -> KeptAnswer | None:
        """Return the stored answer of a URL."""

    def put(self, kept: KeptAnswer) -> None:
        """Store an answer in place of an older one of its URL."""


@dataclass(frozen=True, slots=True)
class _Question:
    key: str
    url: str
    headers: dict[str, str]
    kept: KeptAnswer | None


class Client:
    """Asks services on behalf of ``user_agent``, which must name the application and a contact.

    Each try connects and reads within ``timeouts``; a call with all its tries ends after ``deadline_s`` and
    the waits a service asks for, of which none over ``longest_wait_s`` is sat out. Bodies over ``most_bytes``,
    unpacked, are given up. Requests to one host are ``pause_s`` apart. Not for several threads at once.

    After each call ``last`` is the answer used, ``stale`` tells that it is an old one because the service is
    down, ``deprecated`` that the service announced its end (status 203, as MET Norway uses it).
    """

    def __init__(
        self,
        user_agent: str,
        now: Callable[[], datetime],
        store: AnswerStore | None = None,
        *,
        pause_s: float,
        timeouts: tuple[float, float] = (3.05, 10.0),
        deadline_s: float = 60.0,
        most_bytes: int = 20_000_000,
        longest_wait_s: float = 60.0,
        sleep: Callable[[float], None] = time.sleep,
        monotonic: Callable[[], float] = time.monotonic,
    ) -> None:
        if not user_agent.strip():
            raise ValueError("user_agent is empty; right would be the application's name and a contact")
        self.now = now
        self.last: KeptAnswer | None = None
        self.stale = self.deprecated = False
        self._store, self._sleep, self._monotonic = store, sleep, monotonic
        self._deadline_s, self._longest_wait_s, self._most_bytes = deadline_s, longest_wait_s, most_bytes
        limits = Limits(timeouts, deadline_s, most_bytes, pause_s)
        self._line = Line(user_agent, limits, sleep=sleep, monotonic=monotonic)

    def json(
        self,
        url: str,
        params: Mapping[str, str] | None = None,
        *,
        keep: Keep | None = None,
        headers: Mapping[str, str] | None = None,
    ) -> Any:
        """Return what the JSON at a URL says. Raises `ServiceError`."""
        return self.ask(url, params, answers.as_json, keep=keep, headers=headers)

    def text(
        self,
        url: str,
        params: Mapping[str, str] | None = None,
        *,
        keep: Keep | None = None,
        headers: Mapping[str, str] | None = None,
    ) -> str:
        """Return the text at a URL, unpacked if it is a gzip file. Raises `ServiceError`."""
        return self.ask(
            url, params, lambda body: answers.as_text(body, self._most_bytes), keep=keep, headers=headers
        )

    def ask(
        self,
        url: str,
        params: Mapping[str, str] | None,
        read: Callable[[bytes], T],
        *,
        keep: Keep | None = None,
        headers: Mapping[str, str] | None = None,
        worth_keeping: Callable[[T], bool] = lambda _: True,
    ) -> T:
        """Return what ``read`` makes of the body; where it raises ValueError the answer is nonsense.

        With ``keep`` an answer that is no nonsense is stored. "for ever": it is not asked again.
        "conditional": not before it expires, then only for what is newer; if the service is down the stored
        answer stands in.

        Raises
        ------
        ServiceError
            When there is no usable answer.
        """
        self.stale = self.deprecated = False
        named = sorted((params or {}).items())
        key = _full(url, [(name, value) for name, value in named if name not in SECRETS])
        known = self._known(key, read) if keep else None
        if known and (keep == "for ever" or (known[0].expires and self.now() < known[0].expires)):
            self.last, value = known
            return value
        kept = known[0] if known else None
        sent = {**(headers or {}), **_conditions(kept)}
        try:
            self.last, value = self._answer(_Question(key, _full(url, named), sent, kept), read)
        except ServiceError as error:
            if known is None or error.kind != "down":
                raise
            (self.last, value), self.stale = known, True
            return value
        if keep and self._store is not None and worth_keeping(value):
            self._store.put(self.last)
        return value

    @property
    def expires(self) -> datetime | None:
        """Until when the last answer stands (UTC), None if its service does not say."""
        return self.last.expires if self.last else None

    def _known(self, key: str, read: Callable[[bytes], T]) -> tuple[KeptAnswer, T] | None:
        kept = None if self._store is None else self._store.get(key)
        try:
            return (kept, read(kept.body)) if kept else None
        except ValueError:  # stored under older rules: asked for anew
            return None

    def _answer(self, question: _Question, read: Callable[[bytes], T]) -> tuple[KeptAnswer, T]:
        """Ask, and ask again where that may help and there is time for it."""
        until = self._monotonic() + self._deadline_s
        tries = 0
        while True:
            try:
                return self._once(question, read, until)
            except ServiceError as error:
                wait = error.wait_s if error.wait_s is not None else BACKOFF_S[min(tries, 1)]
                until += error.wait_s or 0.0
                no_time = wait > self._longest_wait_s or self._monotonic() + wait >= until
                # A busy service that names no time is left alone: the next try would count against us.
                if no_time or tries >= RETRIES[error.kind] or (error.kind == "busy" and error.wait_s is None):
                    raise
            tries += 1
            self._sleep(wait)

    def _once(self, question: _Question, read: Callable[[bytes], T], until: float) -> tuple[KeptAnswer, T]:
        host = urlsplit(question.key).hostname
        try:
            answer = self._received(question, self._line.get(question.url, question.headers, until))
            return answer, read(answer.body)
        except LineDown as error:
            raise ServiceError("down", f"{host} {error}") from error
        except LedAway as error:
            raise ServiceError("refused", f"{host} {error}") from error
        except ValueError as error:
            raise ServiceError("nonsense", f"{host}: {error}") from error

    def _received(self, question: _Question, reply: Reply) -> KeptAnswer:
        """Return the answer that a reply is, or raise what it amounts to."""
        status, head, body, now = reply.status, reply.headers, reply.body, self.now()
        self.deprecated = status == HTTPStatus.NON_AUTHORITATIVE_INFORMATION
        expires, modified = answers.expiry(head, now), head.get("Last-Modified")
        if status == HTTPStatus.NOT_MODIFIED and (kept := question.kept):
            return replace(kept, expires=expires, last_modified=modified or kept.last_modified)
        if status == HTTPStatus.OK or self.deprecated:
            return KeptAnswer(question.key, head.get("ETag"), modified, expires, now, body)
        reason, wait_s = answers.reason_given(body), answers.retry_after_s(head, now)
        said = f"{status} {reply.reason}" + (f": {reason}" if reason else "; right would be 200 OK")
        text = f"{urlsplit(question.key).hostname} answers {said}"
        raise ServiceError(answers.kind_of(status, wait_s), text, wait_s=wait_s, reason=reason)


def _full(url: str, params: list[tuple[str, str]]) -> str:
    """Return the address with its parameters. Raises `ServiceError` when it is none of the web."""
    try:
        full = str(requests.Request("GET", url, params=params).prepare().url)
    except requests.RequestException:
        full = ""
    if urlsplit(full).scheme not in {"http", "https"}:
        raise ServiceError("refused", f"{url!r} cannot be asked; right would be a web address")
    return full


def _conditions(kept: KeptAnswer | None) -> dict[str, str]:
    """Return the headers that ask for what is newer, with the date exactly as it was received."""
    asked = {"If-Modified-Since": kept.last_modified, "If-None-Match": kept.etag} if kept else {}
    return {name: value for name, value in asked.items() if value}
