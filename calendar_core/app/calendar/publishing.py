"""Publishing: from the plan to what subscribers of each calendar are told, and to a calendar file."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

from calendar_core.app.calendar.helper import helper_told
from calendar_core.app.calendar.lending import lend
from calendar_core.app.calendar.windows import Told, tree_told, windows_told
from calendar_core.app.calendar.work import work_told
from calendar_core.app.plan.date_moves import by_item
from calendar_core.app.plan.snapshots import keep_snapshot
from calendar_core.app.plan.told_dates import save_telling, tell_dates
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.files import CALENDAR, write_whole
from calendar_core.app.warnings.stored_warnings import tellers_now, timed_events
from calendar_core.app.work.told import TOLD_AT, TOLD_UNTIL
from calendar_core.planning.events import CalendarOf, TimedEvent
from calendar_core.publishing.feed import Reminders, feed
from calendar_core.storage import calendar_files, calendar_texts, published, told_dates
from calendar_core.storage.services import latest_snapshot
from calendar_core.wording.plan.calendar_text import about
from calendar_core.wording.review.walk_text import WALK_GROUP

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping
    from pathlib import Path
    from uuid import UUID

    from sqlalchemy import Connection

    from calendar_core.app.calendar.work import WorkTold
    from calendar_core.app.plan.told_dates import TellingDates
    from calendar_core.app.shell.session import Session
    from calendar_core.planning.events import CalendarKind, PublishedEvent
    from calendar_core.publishing.revise import Change
    from calendar_core.storage.calendar_files import CalendarFile
    from calendar_core.storage.published import Members


@dataclass(frozen=True)
class Publication:
    """The published events of each calendar, and what changed in it.

    ``windows`` hold those in whose place a move by the hour stands; ``lent`` are the moves, those under the id of such an
    event first, ``moves`` under their own. ``trees`` are the seasons of single trees that were asked for.
    """

    told: Mapping[CalendarKind, Told]
    work: WorkTold
    moves: tuple[TimedEvent, ...]
    lent: tuple[TimedEvent, ...]
    trees: Mapping[UUID, Told] = field(default_factory=dict)

    @property
    def events(self) -> tuple[PublishedEvent, ...]:
        """The spans of the season."""
        return self.told["windows"].events

    def of(self, kind: CalendarKind, tree: UUID | None = None) -> Told | None:
        """Return the events of whole days of a calendar; None of one that has none."""
        return self.told.get(kind) if tree is None else self.trees.get(tree)

    def changes(self, kind: CalendarKind, tree: UUID | None = None) -> tuple[Change, ...]:
        """Return what changed in a calendar."""
        told = self.of(kind, tree)
        return () if told is None else told.changes

    def counts(self, kind: CalendarKind, tree: UUID | None = None) -> dict[str, int]:
        """Return how many events of a calendar changed, by kind of change."""
        return dict(Counter(change.kind for change in self.changes(kind, tree)))


def publish(
    session: Session,
    file: CalendarFile | None = None,
    *,
    to: Path | None = None,
    allow_many: bool = False,
    keep: Collection[CalendarOf] = (),
    made_from: str = "",
) -> Publication:
    """Revise what subscribers were told by today's plan, store it, and write a calendar as a file.

    The season's windows and the work of days are always told; ``file`` says which calendar is written to ``to``, ``keep``
    which are kept for those who ask for them, as made from what ``made_from`` marks. A file that cannot be written leaves
    what is stored as it was: it tells what subscribers can know.
    """
    asked = {*keep, *([file.of] if file is not None else [])}
    while True:  # planning may take seconds, in which others write: storing alone has the database to itself
        with session.store.read() as connection:
            draft = _drafted(session, connection, asked, allow_many=allow_many)
        publication = draft.publication
        data = b"" if file is None else calendar_bytes(session, publication, file.kind, file.tree_id)
        kept = {of: calendar_bytes(session, publication, of.kind, of.tree_id) for of in keep}
        with session.store.begin() as connection:
            if _told_so_far(session, connection) != draft.rests_on:
                session = replace(session)  # which reads anew: another process has told subscribers something
                continue
            _store(session, connection, draft)
            calendar_texts.put_texts(connection, session.garden.id, kept, made_from, session.clock.now)
            if file is not None and to is not None:
                calendar_files.put_file(connection, session.garden.id, file)
                write_whole(to, data, CALENDAR)
            return publication


@dataclass(frozen=True)
class _Draft:
    """A publication with what is to be stored beside it, and what subscribers had been told when it was made."""

    publication: Publication
    dates: TellingDates
    members: Members
    rests_on: object


def _told_so_far(session: Session, connection: Connection) -> object:
    """Return what a publication goes on from."""
    garden_id = session.garden.id
    return (
        published.load(connection, garden_id, None),
        published.load_work(connection, garden_id, session.today),
        told_dates.load_dates(connection, garden_id),
        latest_snapshot(connection, garden_id, date.max),
    )


def _drafted(
    session: Session, connection: Connection, asked: Collection[CalendarOf], *, allow_many: bool
) -> _Draft:
    """Return what subscribers are told now; nothing is stored."""
    now, rests_on = session.clock.now, _told_so_far(session, connection)
    _refuse_the_past(session, connection, allow_many=allow_many)
    dates = tell_dates(session, connection)
    moved, moves = by_item(dates.last), timed_events(session, now)
    windows, members = windows_told(session, connection, moved, allow_many=allow_many)
    work = work_told(session, connection, moves, moved)
    events, lent = lend(windows.events, moves, now)
    told: dict[CalendarKind, Told] = {"windows": replace(windows, events=events), "work": work.told}
    if CalendarOf("helper") in asked:
        told["helper"] = helper_told(session, connection)
    trees = {of.tree_id for of in asked if of.tree_id is not None}
    seasons = {tree: tree_told(session, connection, tree, moved) for tree in trees}
    return _Draft(Publication(told, work, moves, lent, seasons), dates, members, rests_on)


def _store(session: Session, connection: Connection, draft: _Draft) -> None:
    garden_id, work = session.garden.id, draft.publication.work
    save_telling(connection, garden_id, draft.dates)
    for each in (*draft.publication.told.values(), *draft.publication.trees.values()):
        published.save(connection, garden_id, each.events, each.removed)
    published.save_members(connection, garden_id, draft.members)
    published.save_work(connection, garden_id, (*work.work, *work.later), session.today)
    told = {TOLD_UNTIL: work.until.isoformat(), TOLD_AT: session.clock.now.isoformat()}
    keep_snapshot(session, connection, told)


def _refuse_the_past(session: Session, connection: Connection, *, allow_many: bool) -> None:
    """Refuse a day before the one on which subscribers were told last: they would be told its past as their future."""
    last = latest_snapshot(connection, session.garden.id, date.max)
    if last is not None and last[0] > session.today and not allow_many:
        raise Refusal(
            f"today is {session.today}, and subscribers were told of {last[0]} already; right would be a day from then on, "
            "or --many to tell all anew"
        )


def calendar_bytes(
    session: Session, publication: Publication, kind: CalendarKind, tree: UUID | None = None
) -> bytes:
    """Return the calendar of a kind as an iCalendar object; ``tree`` is whose it is, of a kind that is of one tree."""
    events, timed = events_in(publication, kind, tree), timed_in(session, publication, kind)
    return _written(session, CalendarOf(kind, tree), events, timed)


def moves_bytes(session: Session) -> bytes:
    """Return the calendar of moves as it is now: it needs no publication."""
    timed = [*timed_events(session, session.clock.now), *_warnings(session)]
    return _written(session, CalendarOf("moves"), (), timed)


def _written(
    session: Session, of: CalendarOf, events: Collection[PublishedEvent], timed: Collection[TimedEvent]
) -> bytes:
    return feed(
        events,
        timed=timed,
        name=session.garden.name,
        description=about(session.style, session.garden.name, session.weather.credit, of.kind),
        zone=session.zone,
        reminders=REMINDERS[of.kind],
        holds=str(of),
    )


REMINDERS: Mapping[CalendarKind, Reminders] = {
    "work": "eve",
    "windows": "opening and last day",
    "moves": "none",
    "tree": "opening and last day",
    "helper": "none",
}
"""When a calendar's events of whole days remind; a move by the hour has its own."""


def events_in(publication: Publication, kind: CalendarKind, tree: UUID | None = None) -> list[PublishedEvent]:
    """Return the events of a kind of calendar, but those that have their hour."""
    if kind == "work":
        walks = [event for event in publication.events if event.group.startswith(WALK_GROUP)]
        return [*publication.told["work"].events, *(replace(event, reminder="") for event in walks)]
    if kind == "windows":
        return [event for event in publication.events if not event.lent]
    told = publication.of(kind, tree)
    return [] if told is None else list(told.events)


def timed_in(session: Session, publication: Publication, kind: CalendarKind) -> list[TimedEvent]:
    """Return what has its hour in a kind of calendar: moves, and in that of moves the warnings too."""
    if kind in ("tree", "helper"):
        return []
    if kind == "windows":
        return list(publication.lent)
    if kind == "moves":
        return [*publication.moves, *_warnings(session)]
    return []  # in that of work they are events of their own, those of one hour together


def _warnings(session: Session) -> list[TimedEvent]:
    """Return the warnings that hold, from their first hour to their last."""
    return [
        TimedEvent(
            warning.id, (), warning.onset, warning.expires, str(warning.data["subject"]), str(warning.data["text"]),
            "", warning.revision, warning.made_at + timedelta(seconds=warning.revision),
        )
        for warning in tellers_now(session, session.clock.now)
    ]  # fmt: skip
