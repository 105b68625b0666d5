"""A made-up garden lived day by day under real weather, the grower doing what the calendar's work says.

The weather is that of Seattle (NOAA station data, demo/seattle-weather.csv), told nine days ahead as it came; every tree
and date is made up. The bounds on what a calendar may ask of a phone are the project's own.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, Any
from uuid import UUID
from zoneinfo import ZoneInfo

from icalendar import Calendar

from calendar_core.app.calendar.publishing import calendar_bytes, publish
from calendar_core.app.first_day.commands.demo import _keep_forecast
from calendar_core.app.garden.founding import found
from calendar_core.app.garden.garden_file import GardenFile
from calendar_core.app.log.entries import entry, write
from calendar_core.app.plan.line_names import due_groups
from calendar_core.app.plan.walks import review_plan
from calendar_core.app.shell.clock import clock
from calendar_core.app.shell.session import Session, knowledge
from calendar_core.app.warnings.warning import judge_garden
from calendar_core.app.weather.measured import read_measured
from calendar_core.app.work.days import moved_by_the_hour
from calendar_core.garden.hours import free_minutes
from calendar_core.knowledge.profiles.bundled import folder
from calendar_core.planning.places.operations import INTO, OUT
from calendar_core.storage.engine import Store, open_store

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping
    from pathlib import Path

    from calendar_core.app.calendar.publishing import Publication
    from calendar_core.app.weather.measured import MeasuredDays
    from calendar_core.garden.model import EntryKind, Garden
    from calendar_core.planning.events import CalendarKind, TimedEvent
    from calendar_core.planning.items import Item
    from calendar_core.planning.rota.work_days import WorkDay

ZONE = "America/Los_Angeles"
DAY = timedelta(days=1)
FOUNDED = date(2013, 2, 1)
SPECIES = (
    "Japanese maple", "black pine", "satsuki", "Chinese elm", "trident maple", "Shimpaku juniper", "tropical fig",
    "European beech", "larch", "crabapple", "white pine", "hornbeam",
)  # fmt: skip
AIMS = ("ramification", "structure", "refinement", "trunk", "ramification")
SIZES = ("medium", "small", "large")
HOURS: dict[int, tuple[list[int], list[str | None]]] = {
    60: ([30, 30, 30, 30, 30, 300, 180], [None] * 5 + ["09:00", "10:00"]),
    300: ([300, 300, 300, 300, 300, 480, 0], ["08:00"] * 6 + [None]),
}
"""Free minutes of Monday to Sunday, and when they begin, of gardens larger than a usual week is for (made up)."""


@dataclass
class Seen:
    """What a phone showed of one calendar: events on each day, reminders, and events that changed by refresh."""

    shown: list[int] = field(default_factory=list)
    reminded: Counter[date] = field(default_factory=Counter)
    changed: list[int] = field(default_factory=list)
    longest: int = 0
    _rang: set[tuple[str, str]] = field(default_factory=set)
    _before: dict[str, str] = field(default_factory=dict)

    def look(self, data: bytes, today: date, *, first: bool) -> None:
        """Read a calendar as it is on a day."""
        now: dict[str, str] = {}
        here = 0
        events: list[Any] = Calendar.from_ical(data).walk("VEVENT")
        for event in events:
            start, end = (self._local(event[name].dt) for name in ("DTSTART", "DTEND"))
            last = max(start, end - DAY if not hasattr(event["DTEND"].dt, "hour") else end)
            self.longest = max(self.longest, (last - start).days + 1)
            here += start <= today <= last
            now[str(event["UID"])] = event.to_ical().decode()
            for alarm in event.walk("VALARM"):
                self._ring(str(alarm["UID"]), start, end, alarm, today)
        self.shown.append(here)
        if not first:
            same = {uid for uid in now.keys() & self._before.keys() if now[uid] == self._before[uid]}
            self.changed.append(len((now.keys() | self._before.keys()) - same))
        self._before = now

    def _local(self, moment: date) -> date:
        return moment.astimezone(ZoneInfo(ZONE)).date() if isinstance(moment, datetime) else moment

    def _ring(self, uid: str, start: date, end: date, alarm: Any, today: date) -> None:
        trigger = alarm["TRIGGER"]
        edge = end if trigger.params.get("RELATED") == "END" else start
        hours = trigger.dt.total_seconds() / 3600
        day = edge + timedelta(days=int(hours // 24))
        if day == today and (uid, day.isoformat()) not in self._rang:
            self._rang.add((uid, day.isoformat()))
            self.reminded[today] += 1

    def weekly(self, without: Iterable[date] = ()) -> list[int]:
        """Return the reminders of each week in which no day stands in ``without``."""
        weeks: dict[tuple[int, int], int] = {}
        skipped = {day.isocalendar()[:2] for day in without}
        first, days = min(self.reminded, default=None), len(self.shown)
        if first is None:
            return [0] * (days // 7)
        for day, number in self.reminded.items():
            weeks[day.isocalendar()[:2]] = weeks.get(day.isocalendar()[:2], 0) + number
        return [number for week, number in weeks.items() if week not in skipped]


@dataclass
class Lived:
    """A garden's days: what its calendars showed, and what should never be."""

    name: str
    seen: dict[str, Seen] = field(default_factory=lambda: {"work": Seen(), "windows": Seen()})
    untold: list[str] = field(
        default_factory=list
    )  # due work whose last safe day passed with no event before
    too_long: list[str] = field(default_factory=list)  # work days told above the free time
    moved_near: list[str] = field(
        default_factory=list
    )  # work of the next two days that changed for no reason
    danger: set[date] = field(default_factory=set)
    days: int = 0
    done: int = 0


def garden_of(n_trees: int) -> GardenFile:
    """Return a made-up garden of some trees, repotted in turns."""
    trees = [
        {
            "species": SPECIES[number % len(SPECIES)],
            "label": f"Tree {number + 1}",
            "aim": AIMS[number % len(AIMS)],
            "vigour": 3 + number % 3,
            "size": SIZES[number % len(SIZES)],
            "spot": "bench",
            "last_repot": date(2010 + number % 3, 3, 10),
        }
        for number in range(n_trees)
    ]
    spots = [
        {"name": "bench", "sun_from": time(8), "sun_to": time(18)},
        {"name": "shade house", "cloth_percent": 50},
        {"name": "frame", "profile": "cold frame", "roof": True},
        {"name": "room", "profile": "heated", "roof": True},
    ]
    place = {"name": f"{n_trees} trees", "latitude": 47.5, "longitude": -122.3, "zone": ZONE}
    return GardenFile.model_validate({"garden": place, "since": FOUNDED, "spot": spots, "tree": trees})


def founded(database: Path, n_trees: int, first: date) -> tuple[Store, Garden, MeasuredDays]:
    """Found a garden in a new database."""
    store, at = open_store(database), clock(ZONE, first)
    days = read_measured(folder("demo") / "seattle-weather.csv", zone=ZoneInfo(ZONE), station="Seattle")
    garden = found(store, garden_of(n_trees), knowledge(), at.today, at.now, days)
    if n_trees in HOURS:
        minutes, begins = HOURS[n_trees]
        session = Session(store, garden, at)
        write(session, entry(session, [], "hours", {"weekly": minutes, "begins": begins}, first))
    return store, garden, days


class Grower:
    """Does what the day's work says, but in every fifth week nothing."""

    def __init__(self, lived: Lived, first: date) -> None:
        self.lived, self.first = lived, first

    def is_away(self, day: date) -> bool:
        """Tell whether a day's week is one that is missed."""
        return ((day - self.first).days // 7) % 5 == 4

    def work(self, session: Session, publication: Publication) -> None:
        """Do and write down the work of today, and the moves by the hour."""
        if self.is_away(session.today):
            return
        for move in publication.moves:
            if move.to is not None and move.start <= session.clock.now + DAY:
                self._move(session, move)
        for day in publication.work.days:
            if day.day == session.today:
                for line in day.lines:
                    for item in line.items:
                        self._do(session, item)
                        self.lived.done += 1
        self._walk(session)

    def _move(self, session: Session, move: TimedEvent) -> None:
        trees = [tree for tree in session.trees if tree.id in move.tree_ids]
        write(session, entry(session, trees, "state", {"spot": str(move.to)}, session.today))

    def _walk(self, session: Session) -> None:
        labels = {tree.id: tree for tree in session.trees}
        for walk in review_plan(session).pressing:
            if walk.on != session.today:
                continue
            for stop in walk.stops:
                data = {
                    "round": stop.window.round, "cycle": stop.window.cycle, "depth": stop.depth, "minutes": stop.minutes,
                }  # fmt: skip
                write(session, entry(session, [labels[stop.tree_id]], "review", data, walk.on))

    def _do(self, session: Session, item: Item) -> None:
        if item.operation in (INTO, OUT):
            if item.to is not None:
                self._write(session, item, "state", {"spot": str(item.to)})
        elif item.follows is not None:
            data = {"rule": item.follows.rule, "of": str(item.follows.entry), "went": "well"}
            self._write(session, item, "look", data, item.follows.part)
        else:
            self._write(session, item, "work", {"operation": item.operation}, item.part_id)

    def _write(
        self,
        session: Session,
        item: Item,
        kind: EntryKind,
        data: Mapping[str, object],
        part: UUID | None = None,
    ) -> None:
        tree = next(tree for tree in session.trees if tree.id == item.tree_id)
        parts = () if part is None else (part,)
        write(session, entry(session, [tree], kind, dict(data), session.today, parts=parts))


def lived(
    database: Path,
    n_trees: int,
    first: date,
    days: int,
    kinds: tuple[CalendarKind, ...] = ("work", "windows"),
) -> Iterator[Lived]:
    """Yield a garden's life after each of so many days."""
    store, garden, weather = founded(database, n_trees, first)
    out = Lived(garden.name)
    grower, due, told = Grower(out, first), dict[UUID, tuple[date, str]](), dict[UUID, set[date]]()
    for place in range(days):
        today = first + place * DAY
        _keep_forecast(store, garden, weather.file.series, clock(ZONE, today))
        session = Session(store, garden, clock(ZONE, today))
        verdict = judge_garden(session, session.clock.now)
        if verdict.standing:
            out.danger |= {today, today + DAY}
        publication = publish(session, allow_many=True)
        for kind in kinds:
            out.seen[kind].look(calendar_bytes(session, publication, kind), today, first=not place)
        for work in publication.work.work:
            told.setdefault(work.item_id, set()).add(work.day)
        by_hour = moved_by_the_hour(session.plan.items, publication.moves)
        for item in by_hour:
            told.setdefault(item, set()).add(today)
        _check_days(session, publication.work.days, out)
        due = _check_due(session, due, told, out)
        grower.work(session, publication)
        out.days += 1
        yield out
    store.close()


def _check_days(session: Session, days: Iterable[WorkDay], out: Lived) -> None:
    """Note work days that are longer than what is free."""
    free = free_minutes(session.entries, session.today, 22)
    for day in days:
        if day.lines:
            minutes = int(free[(day.day - session.today).days])
            if day.minutes > 1.15 * minutes:
                out.too_long.append(f"{session.today}: {day.minutes} of {minutes} min on {day.day}")


def _check_due(
    session: Session, before: dict[UUID, tuple[date, str]], told: dict[UUID, set[date]], out: Lived
) -> dict[UUID, tuple[date, str]]:
    """Note work that is past its last safe day and had no event up to it; return the last safe days of today."""
    now: dict[UUID, tuple[date, str]] = {}
    for group in due_groups(session):
        for item in group.items:
            now[item.id] = group.end, f"{session.labels[item.tree_id]} {item.rule} {item.cycle}"
    for known, (safe, name) in before.items():
        over = safe == session.today - DAY and (known not in now or now[known][0] < session.today)
        if over and not any(day <= safe for day in told.get(known, ())):
            out.untold.append(f"{safe}: {name}")
    return now
