"""Getting all of a new garden's weather while its grower reads on: the newest first, then ever older years."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from calendar_core.app.shell.clock import clock, utc_now
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.session import Session
from calendar_core.app.weather.fetch_with_progress import each_tried, fetched, forecast_of, hours_of
from calendar_core.app.weather.fetching import YEARS_WANTED, missing_years
from calendar_core.app.weather.services import Answers, services
from calendar_core.garden.cycle import cycle_days
from calendar_core.storage import gardens

if TYPE_CHECKING:
    from collections.abc import Callable

    from calendar_core.app.weather.services import Services
    from calendar_core.garden.model import Garden
    from calendar_core.storage.engine import Store

ENOUGH = 10  # years that tell on which days the cycles of a place begin, as a new garden's own do


def fetch_all(
    store: Store, name: str, asked: Services | None = None, enough: Callable[[], None] = lambda: None
) -> list[str]:
    """Fetch a garden's forecast, its hours and the past years that are missing; return what was refused.

    Once there are ten years, the days on which its cycles begin are those of its own weather, and ``enough`` is told.
    """
    try:
        asked = asked or services(Answers(store), utc_now)
    except Refusal as refusal:
        return list(refusal.lines)
    session = _session(store, name)
    faults = each_tried(lambda: forecast_of(session, asked), lambda: hours_of(session, asked))
    for years in (ENOUGH, YEARS_WANTED):
        session = _session(store, name)
        wanted = missing_years(store, session.garden, session.today, years)
        faults += each_tried(lambda: list(fetched(session, asked, wanted, quiet=True)))  # noqa: B023 - done at once
        if faults:
            break
        if years == ENOUGH:
            _settle(_session(store, name))
            enough()
    return list(dict.fromkeys(faults))


def _session(store: Store, name: str) -> Session:
    with store.read() as connection:
        garden: Garden = gardens.get_garden(connection, name)
    return Session(store, garden, clock(garden.zone))


def _settle(session: Session) -> None:
    """Begin the cycles of a garden on the days that its own mean year gives."""
    leaf_fall, coldest = cycle_days(session.weather.mean_year.t_mean_c, session.garden.latitude)
    if (leaf_fall, coldest) != (session.garden.leaf_fall, session.garden.coldest):
        with session.store.begin() as connection:
            now = gardens.get_garden(connection, session.garden.name)
            gardens.update_garden(connection, replace(now, leaf_fall=leaf_fall, coldest=coldest))
