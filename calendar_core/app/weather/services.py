"""Weather services as the environment sets them: which one, under what name, at which addresses."""

from __future__ import annotations

import os
from dataclasses import dataclass
from typing import TYPE_CHECKING

from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.version import program_version
from calendar_core.storage import services as kept
from calendar_core.weather.sources.ghcn import Ghcn
from calendar_core.weather.sources.http import Client, Kept
from calendar_core.weather.sources.http import Store as AnswerStore
from calendar_core.weather.sources.met_norway import MetNorway
from calendar_core.weather.sources.nws import Nws
from calendar_core.weather.sources.open_meteo import OpenMeteo

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import datetime

    from calendar_core.storage.engine import Store
    from calendar_core.weather.sources.protocol import ForecastSource

SOURCES = ("open-meteo", "nws", "met-norway", "off")
CONTACT_WANTED = ("nws", "met-norway")
HELP = (
    "Services are set in the environment: LEAFCLOCK_WEATHER is the forecast's (open-meteo, nws, met-norway or off), "
    "LEAFCLOCK_CONTACT an address they may write to (nws and met-norway want one), LEAFCLOCK_OPEN_METEO, "
    "LEAFCLOCK_NWS, LEAFCLOCK_MET_NORWAY and LEAFCLOCK_GHCN other base addresses, LEAFCLOCK_OPEN_METEO_KEY a paid key."
)


@dataclass(frozen=True)
class Answers:
    """The stored answers of services in a database, each write by itself."""

    store: Store

    def get(self, url: str) -> Kept | None:
        """Return the stored answer of a URL."""
        with self.store.read() as connection:
            found = kept.get_answer(connection, url)
        if found is None:
            return None
        return Kept(found.url, found.etag, found.last_modified, found.expires, found.fetched, found.body)

    def put(self, answer: Kept) -> None:
        """Store an answer."""
        row = kept.Answer(
            answer.url, answer.etag, answer.last_modified, answer.expires, answer.fetched, answer.body
        )
        with self.store.begin() as connection:
            kept.put_answer(connection, row)


@dataclass(frozen=True)
class Services:
    """The services to ask: past hours and places always of one, the forecast of the source that is set."""

    history: OpenMeteo
    ahead: ForecastSource
    stations: Ghcn


def source_set(environment: Mapping[str, str] = os.environ) -> str:
    """Return which source is set. Raises Refusal for one that is not known."""
    found = environment.get("LEAFCLOCK_WEATHER", SOURCES[0])
    if found not in SOURCES:
        raise Refusal(f"LEAFCLOCK_WEATHER is '{found}'; right would be one of {', '.join(SOURCES)}")
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
        raise Refusal("LEAFCLOCK_WEATHER is off; right would be open-meteo, nws or met-norway")
    if source in CONTACT_WANTED and not contact:
        raise Refusal(
            f"{source} wants to know whom to write to; right would be your address in LEAFCLOCK_CONTACT"
        )
    client = Client(f"leafclock/{program_version()} ({contact or 'private use'})", now, answers)
    base = environment.get("LEAFCLOCK_OPEN_METEO")
    urls = (
        {f"{part}_url": f"{base}/v1/{path}" for part, path in _PATHS.items()} if base else {}
    )  # one host of your own stands for all four
    history = OpenMeteo(client, **urls, api_key=environment.get("LEAFCLOCK_OPEN_METEO_KEY"))
    stations = Ghcn(client, **_base(environment.get("LEAFCLOCK_GHCN")))
    return Services(history, _ahead(source, client, history, environment), stations)


_PATHS = {"forecast": "forecast", "archive": "archive", "ensemble": "ensemble", "geocoding": "search"}


def _ahead(source: str, client: Client, history: OpenMeteo, environment: Mapping[str, str]) -> ForecastSource:
    if source == "nws":
        return Nws(client, **_base(environment.get("LEAFCLOCK_NWS")))
    if source == "met-norway":
        return MetNorway(client, **_base(environment.get("LEAFCLOCK_MET_NORWAY")))
    return history


def _base(url: str | None) -> dict[str, str]:
    return {"base_url": url} if url else {}
