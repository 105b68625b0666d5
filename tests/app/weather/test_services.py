"""Which service is asked for what, as the registry and the environment have it."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest

from calendar_core.app.shell.errors import Refusal
from calendar_core.app.weather import services as asked
from calendar_core.weather.sources.registry import SERVICES, Service

if TYPE_CHECKING:
    from calendar_core.weather.sources.protocol import Access, Forecast

CONTACT = {"LEAFCLOCK_CONTACT": "grower@example.org"}


class Almanac:
    """An invented service, as a new one would come in."""

    name = "almanac"

    def __init__(self, access: Access) -> None:
        self.access = access

    def forecast(self, latitude: float, longitude: float, elevation_m: float | None) -> Forecast:
        raise NotImplementedError

    hours_ahead = forecast


def now() -> datetime:
    return datetime(2026, 3, 1, tzinfo=UTC)


@pytest.mark.parametrize("name", list(asked.FORECASTS))
def test_what_a_service_does_not_do_the_first_that_does_is_asked_for(name: str) -> None:
    found = asked.services(None, now, {"LEAFCLOCK_WEATHER": name, **CONTACT})
    assert found.ahead.name == name
    assert found.past.name == "open-meteo"


def test_a_new_service_is_a_row_of_the_registry(monkeypatch: pytest.MonkeyPatch) -> None:
    row = Service(Almanac.name, "LEAFCLOCK_ALMANAC", 0.2, forecast=Almanac, wants_contact=True)
    monkeypatch.setattr(asked, "SERVICES", (*SERVICES, row))
    monkeypatch.setitem(asked.FORECASTS, row.name, row)
    told = {"LEAFCLOCK_WEATHER": "almanac", "LEAFCLOCK_ALMANAC": "http://localhost/almanac/"}
    with pytest.raises(Refusal, match="almanac wants to know whom to write to"):
        asked.services(None, now, told)
    found = asked.services(None, now, told | CONTACT).ahead
    assert isinstance(found, Almanac)
    assert found.access.url("https://example.org") == "http://localhost/almanac"


def test_names_and_settings_of_services_are_their_own() -> None:
    assert len({one.name for one in SERVICES}) == len({one.address for one in SERVICES}) == len(SERVICES)
