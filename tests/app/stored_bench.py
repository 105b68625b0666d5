"""A made-up garden of the tests of planning, stored in a database as the program would, under its own weather."""

from __future__ import annotations

from contextlib import closing
from dataclasses import replace
from typing import TYPE_CHECKING
from uuid import uuid4

from calendar_core.app.shell import plan_weather
from calendar_core.app.shell.plan_weather import WeatherAt
from calendar_core.app.shell.session import Session, open_session
from calendar_core.planning.planner import axis_of
from calendar_core.storage import gardens, log
from calendar_core.storage.engine import open_store
from calendar_core.storage.gardens import OWNER
from calendar_core.weather.normals import daily_year
from calendar_core.weather.traces import with_forecast
from tests.databases import migrated
from tests.planning.made_up import bundled_places

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from tests.planning.made_up import Bench


def keep(bench: Bench, database: Path, name: str) -> None:
    """Store a bench as a garden of that name in a new database."""
    garden = replace(bench.garden, name=name)
    with closing(open_store(migrated(database))) as store, store.begin() as connection:
        gardens.add_garden(connection, garden)
        gardens.add_person(connection, gardens.Person(uuid4(), garden.id, OWNER, "owner"))
        for spot in bench.spots.values():
            gardens.add_spot(connection, spot)
        gardens.add_trees(connection, bench.trees)
        log.append(connection, bench.entries)


def opened(bench: Bench, database: Path, today: date) -> Session:
    """Return a session of a stored bench on a day; its weather is the bench's, its forecast the one that is stored."""
    session = open_session(str(database), None, today)
    year = daily_year(next(iter(bundled_places().values())))  # a mean year that no screen here reads
    sky = bench.sky_on(today, axis_of(session.garden, today))
    stored = plan_weather._forecast(session.store, session.garden, today)
    ahead = None if stored is None else plan_weather._as_days(stored)
    traces = with_forecast(sky.traces, ahead, None, today, range(len(sky.traces.t_min_c)))
    session.__dict__["weather"] = WeatherAt(replace(sky, traces=traces), None, year, "", forecast=stored)
    return session
