"""Every weather service this program knows: what it does, how it is reached, and how often it may be asked.

A new service is a file of its own beside this one, and a row here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from calendar_core.weather.sources.ghcn import Ghcn
from calendar_core.weather.sources.met_norway import MetNorway
from calendar_core.weather.sources.nws import Nws
from calendar_core.weather.sources.open_meteo import OpenMeteo

if TYPE_CHECKING:
    from collections.abc import Callable

    from calendar_core.weather.sources.protocol import (
        Access,
        ForecastSource,
        PastSource,
        PlaceSource,
        StationSource,
    )


@dataclass(frozen=True, slots=True)
class Service:
    """A service: what makes each source it can be, None for what it does not do.

    ``address`` is the setting of another base address, ``key`` that of a paid key; requests are ``pause_s``
    apart; with ``wants_contact`` its terms ask for an address that it may write to.
    """

    name: str
    address: str
    pause_s: float
    forecast: Callable[[Access], ForecastSource] | None = None
    past: Callable[[Access], PastSource] | None = None
    places: Callable[[Access], PlaceSource] | None = None
    stations: Callable[[Access], StationSource] | None = None
    wants_contact: bool = False
    key: str | None = None


# Five requests a second are below what Open-Meteo (600 a minute) and MET Norway (20 a second) allow; the others
# name no rate, and get the same (common practice). Where several do the same, the first is asked.
SERVICES = (
    Service(
        OpenMeteo.name, "LEAFCLOCK_OPEN_METEO", 0.2, forecast=OpenMeteo, past=OpenMeteo, places=OpenMeteo, key="LEAFCLOCK_OPEN_METEO_KEY"
    ),
    Service(Nws.name, "LEAFCLOCK_NWS", 0.2, forecast=Nws, wants_contact=True),
    Service(MetNorway.name, "LEAFCLOCK_MET_NORWAY", 0.2, forecast=MetNorway, wants_contact=True),
    Service(Ghcn.name, "LEAFCLOCK_GHCN", 0.2, stations=Ghcn),
)  # fmt: skip
