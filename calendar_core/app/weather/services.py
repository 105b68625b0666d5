"""Weather services as the environment sets them: which one, under what name, at which addresses."""

from __future__ import annotations

import os
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.version import program_version
from calendar_core.storage import services as kept
from calendar_core.weather.sources.http import AnswerStore, Client, KeptAnswer
from calendar_core.weather.sources.protocol import Access
from calendar_core.weather.sources.registry import SERVICES

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping
    from datetime import datetime

    from calendar_core.storage.engine import Store
    from calendar_core.weather.sources.protocol import ForecastSource, PastSource, PlaceSource, StationSource

T = TypeVar("T")


FORECASTS = {service.name: service for service in SERVICES if service.forecast is not None}


def _listed(names: Iterable[str], word: str) -> str:
    """Return names as they stand in a sentence, ``word`` before the last."""
    *first, last = names
    return f"{', '.join(first)} {word} {last}" if first else last


HELP = (
    f"Services are set in the environment: LEAFCLOCK_WEATHER is the forecast's ({_listed([*FORECASTS, 'off'], 'or')}), "
    "LEAFCLOCK_CONTACT an address they may write to "
    f"({_listed([service.name for service in SERVICES if service.wants_contact], 'and')} want one), "
    f"{_listed([service.address for service in SERVICES], 'and')} other base addresses, "
    f"{_listed([service.key for service in SERVICES if service.key], 'and')} a paid key."
)


@dataclass(frozen=True)
class Answers:
    """The stored answers of services in a database, each write by itself."""

    store: Store

    def get(self, url: str) -> KeptAnswer | None:
        """Return the stored answer of a URL."""
        with self.store.read() as connection:
            found = kept.get_answer(connection, url)
        if found is None:
            return None
        return KeptAnswer(
            found.url, found.etag, found.last_modified, found.expires, found.fetched, found.body
        )

    def put(self, answer: KeptAnswer) -> None:
        """Store an answer."""
        row = kept.Answer(
            answer.url, answer.etag, answer.last_modified, answer.expires, answer.fetched, answer.body
        )
        with self.store.begin() as connection:
            kept.put_answer(connection, row)


@dataclass(frozen=True)
class Services:
    """The services to ask: the forecast's is the one that is set; what it does not do, the first that does."""

    past: PastSource
    ahead: ForecastSource
    places: PlaceSource
    stations: StationSource


def source_set(environment: Mapping[str, str] = os.environ) -> str:
    """Return which source is set. Raises Refusal for one that is not known."""
    right = [*FORECASTS, "off"]
    found = environment.get("LEAFCLOCK_WEATHER", right[0])
    if found not in right:
        raise Refusal(f"LEAFCLOCK_WEATHER is '{found}'; right would be one of {', '.join(right)}")
    return found


def services(
    answers: AnswerStore | None, now: Callable[[], datetime], environment: Mapping[str, str] = os.environ
) -> Services:
    """Return the services that are set; ``answers`` keeps what they answer.

    Raises
    ------
    Refusal
        Where none is wanted, or the one that is wants a contact and none is set.
    """
    source, contact = source_set(environment), environment.get("LEAFCLOCK_CONTACT", "")
    if source == "off":
        raise Refusal(f"LEAFCLOCK_WEATHER is off; right would be {_listed(FORECASTS, 'or')}")
    chosen = FORECASTS[source]
    if chosen.wants_contact and not contact:
        raise Refusal(
            f"{source} wants to know whom to write to; right would be your address in LEAFCLOCK_CONTACT"
        )
    agent = f"leafclock/{program_version()} ({contact or 'private use'})"
    others = (
        service for service in SERVICES if service is not chosen and (contact or not service.wants_contact)
    )
    asked = (chosen, *others)
    # What a service does goes through one client, so that its requests keep their distance.
    reached = {
        service.name: Access(
            Client(agent, now, answers, pause_s=service.pause_s),
            environment.get(service.address),
            environment.get(service.key) if service.key else None,
        )
        for service in asked
    }

    def first(makes: Iterable[Callable[[Access], T] | None]) -> T:
        return next(make(reached[service.name]) for service, make in zip(asked, makes, strict=True) if make)

    return Services(
        first(service.past for service in asked),
        first(service.forecast for service in asked),
        first(service.places for service in asked),
        first(service.stations for service in asked),
    )
