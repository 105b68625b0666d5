"""The demo: an invented garden on real weather, planned from an empty folder."""

from __future__ import annotations

from contextlib import closing
from datetime import date, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from calendar_core.app.calendar.publishing import events_in, publish, timed_in
from calendar_core.app.first_day.commands.demo_pages import hint, pages
from calendar_core.app.garden.founding import found
from calendar_core.app.garden.garden_file import read_garden_file
from calendar_core.app.plan.season_chart import draw_season
from calendar_core.app.plan.season_rows import busiest
from calendar_core.app.plan.walks import review_plan
from calendar_core.app.review.sheet import review_sheet
from calendar_core.app.shell.clock import clock
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.files import CALENDAR, DATABASE, DRAWING, PAGE, PICTURE, look_first, write_whole
from calendar_core.app.shell.output import command, folded, line
from calendar_core.app.shell.session import Session, knowledge, open_database, open_session
from calendar_core.app.warnings.warning import judge_garden
from calendar_core.app.weather.measured import read_measured
from calendar_core.knowledge.profiles.bundled import folder
from calendar_core.publishing.sheets.page import page
from calendar_core.storage import gardens
from calendar_core.storage.calendar_files import CalendarFile
from calendar_core.storage.services import StoredForecast, StoredHours, put_forecast, put_forecast_hours
from calendar_core.weather.hours_from_days import hours_from_days
from calendar_core.wording.garden.demo_text import DEMO, written
from calendar_core.wording.plan.first_screen_text import WIDTH

if TYPE_CHECKING:
    from pathlib import Path

    from calendar_core.app.shell.clock import Clock
    from calendar_core.garden.model import Garden
    from calendar_core.storage.engine import Store
    from calendar_core.weather.daily import DailySeries

DAY = date(2015, 6, 25)  # the eve of a hot day, with work of several species ahead
LINES, END_LINES = 60, 5  # of all that is printed, and of the commands at its end
CREDIT = "NOAA station data for Seattle 2012-2015, as packaged in vega-datasets"
FORECAST = "the station's own days, as if foreseen"
GARDEN = "Harbour Lane bench"
ZONE = "America/Los_Angeles"
REVIEW_WEEKS = 26  # from the demo's day to the walks of its autumn
FILES = {
    "garden.db": DATABASE,
    "bench.ics": CALENDAR,
    "season.svg": DRAWING,
    "season.png": PICTURE,
    "garden.svg": DRAWING,
    "review.html": PAGE,
}
PAST, AHEAD = timedelta(days=2), timedelta(days=9)  # as a forecast comes


def run(out: Path, today: date | None) -> None:
    """Found the demo garden in ``out``, print what matters of it on one page, and write its calendar and charts."""
    day = today or DAY
    session = found_demo(out, day)
    judge_garden(session, session.clock.now)
    calendar = CalendarFile(str((out / "bench.ics").resolve()), "work")
    publication = publish(session, calendar, to=out / "bench.ics")
    walks = review_plan(session, REVIEW_WEEKS).round.walks
    events = len(events_in(publication, "work")) + len(timed_in(session, publication, "work"))
    told = folded(written(session.style, out, events, len(walks)), most=WIDTH)
    for text in pages(session, publication, LINES - len(told) - END_LINES):
        line(text)
    _draw(session, out)
    if walks:
        write_whole(out / "review.html", page(review_sheet(session, walks, "a4")).encode(), PAGE)
    for text in ("", *told, session.style.say(DEMO["further"])):
        line(text)
    command(*hint(session), "--db", str(out / "garden.db"), "--today", str(day))
    line(session.style.say(DEMO["own"]))
    command("start", "--lat 47.5 --lon -122.3 --trees '3 larch; satsuki'")


def _draw(session: Session, out: Path) -> None:
    """Draw the season of the tree with most kinds of work for a phone, that of the whole garden for a desk."""
    for ending in ("svg", "png"):
        draw_season(session, [busiest(session)], out / f"season.{ending}")
    draw_season(session, session.trees, out / "garden.svg", "desk")


def found_demo(out: Path, day: date) -> Session:
    """Make the demo garden anew in a folder."""
    demo = folder("demo")
    file = read_garden_file(demo / "garden.toml")
    database = out / "garden.db"
    _refuse_others(out)
    if not file.since or day < file.since:
        raise Refusal(
            f"--today {day}: the demo's weather runs from 2012 to 2015; right would be a day from {file.since}"
        )
    for old in (database, out / "garden.db-wal", out / "garden.db-shm"):
        old.unlink(missing_ok=True)
    at = clock(ZONE, day)
    store = open_database(str(database))
    days = read_measured(demo / "seattle-weather.csv", zone=ZoneInfo(ZONE), station="Seattle", credit=CREDIT)
    garden = found(store, file, knowledge(), at.today, at.now, days)
    _keep_forecast(store, garden, days.file.series, at)
    store.close()
    return open_session(str(database), garden.name, day)


def _refuse_others(out: Path) -> None:
    """Refuse a folder in which the demo would take the place of anything but an earlier one."""
    for name, kind in FILES.items():
        look_first(out / name, kind)
    database = out / "garden.db"
    if not database.exists():
        return
    with closing(open_database(str(database))) as store, store.read() as connection:
        others = [garden.name for garden in gardens.list_gardens(connection) if garden.name != GARDEN]
    if others:
        raise Refusal(
            f"{database}: holds '{others[0]}', not the demo's garden; right would be another folder"
        )


def _keep_forecast(store: Store, garden: Garden, series: DailySeries, at: Clock) -> None:
    """Store the days that really came, and hours made from them, in place of a forecast, so that there is one."""
    days = series.window(at.today - PAST, min(at.today + AHEAD, series.end))
    ahead = series.window(at.today, min(at.today + AHEAD, series.end))
    hours = hours_from_days(days, garden.latitude, garden.longitude, ZoneInfo(garden.zone))
    stored_hours = StoredHours(
        FORECAST, garden.latitude, garden.longitude, at.now, at.now, hours.start, hours.values, CREDIT, 0.0,
    )  # fmt: skip
    stored_days = StoredForecast(
        FORECAST, garden.latitude, garden.longitude, garden.zone, at.now, at.now, ahead.start,
        ahead.t_min_c[None, :], ahead.t_max_c[None, :], CREDIT, 0.0,
    )  # fmt: skip
    with store.begin() as connection:
        put_forecast(connection, stored_days)
        put_forecast_hours(connection, stored_hours)
