"""The calendar of work: what is done on which day, and what opens or ends beyond the days that have their work."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

from calendar_core.app.calendar.lasting import LastingUids
from calendar_core.app.calendar.windows import Told, as_told
from calendar_core.app.plan.card import cards_of
from calendar_core.app.plan.line_names import due_groups
from calendar_core.app.work.days import ROTA_WEEKS, days_of_work, moved_by_the_hour, told_until
from calendar_core.app.work.rota import levelled
from calendar_core.garden.hours import begins
from calendar_core.planning.events import MOVES, ToldWork
from calendar_core.planning.items import item_id
from calendar_core.planning.rota.openings import openings
from calendar_core.planning.rota.told_days import SETTLED_DAYS
from calendar_core.publishing.revise import DAMPING, Change, revise
from calendar_core.storage import published
from calendar_core.wording.plan.day_text import OPENING_GROUP, WORK_GROUP, DaySpeaker, moves_event

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence
    from datetime import date, datetime, time

    from sqlalchemy import Connection

    from calendar_core.app.plan.date_moves import LastMoves
    from calendar_core.app.shell.session import Session
    from calendar_core.app.work.rota import Levelled
    from calendar_core.planning.events import ComputedEvent, PublishedEvent, TimedEvent
    from calendar_core.planning.rota.work_days import WorkDay

SOONER = timedelta(days=DAMPING.band_d)  # by so much sooner a last safe day is told anew


@dataclass(frozen=True)
class WorkTold:
    """The calendar of work as it is told now, with the work of its days; ``until`` is the last day that has its work.

    ``later`` is work of days after that: no event tells of it, and the next rota goes on from it, else it would be another.
    """

    told: Told
    days: tuple[WorkDay, ...]
    work: tuple[ToldWork, ...]
    until: date
    later: tuple[ToldWork, ...] = ()


def work_told(
    session: Session, connection: Connection, moves: Sequence[TimedEvent], moved: LastMoves
) -> WorkTold:
    """Return the work of the coming days and what opens beyond; ``moves`` have their hour, and no other event."""
    told = published.load(connection, session.garden.id, "work")
    before = published.load_work(connection, session.garden.id, session.today)
    rota, until = levelled(session, ROTA_WEEKS), told_until(session.today)
    days = days_of_work(session, moves, rota)
    now = _told_now(session, days)
    by_hour = _moves(session, moves)
    computed = [*_days(session, days, moved), *by_hour, *_openings(session, days, moves, told, moved)]
    shown = {event.uid for event in computed}
    left = [event for event in told if event.uid not in shown and event.end >= session.today]
    changed = {
        item_id(session.garden.id, WORK_GROUP, day.isoformat(), day.year) for day in changed_days(before, now)
    }
    timed = {event.uid: (event.begins, event.minutes) for event in computed}
    edited = frozenset(
        event.uid
        for event in told
        if event.uid in changed or timed.get(event.uid, ()) != (event.begins, event.minutes)
    )
    trees = {event.uid: event.tree_ids for event in computed}
    edited |= {event.uid for event in by_hour}
    edited |= {
        event.uid for event in told if set(trees.get(event.uid, event.tree_ids)) != set(event.tree_ids)
    }
    settled = session.today + timedelta(days=SETTLED_DAYS)
    # Before a day is one of the next, which change for few reasons alone, it tells all as it is known.
    edited |= {e.uid for e in told if e.group == WORK_GROUP and e.start == settled + timedelta(days=1)}
    steady = {
        e.uid: as_told(e)
        for e in told
        if e.group == WORK_GROUP and e.uid not in edited and e.start <= settled
    }
    revision = revise(
        [event for event in told if event not in left],
        [steady.get(event.uid, event) for event in computed],
        now=session.clock.now,
        today=session.today,
        edited=edited,
        gone=published.load_gone(connection, session.garden.id, "work"),
        allow_many=True,
    )
    kept = {event.uid for event in revision.events}
    changes = (*revision.changes, *(Change(event.uid, "removed") for event in left))
    removed = tuple(event.uid for event in told if event.uid not in kept)
    texts = {event.uid: event.description for event in told if event.group == WORK_GROUP}
    as_before = {event.start for event in revision.events if texts.get(event.uid) == event.description}
    now = _safe_as_told(before, now, as_before)
    later = _later(session, rota, until)
    return WorkTold(Told(revision.events, removed, changes), days, now, until, later)


def changed_days(before: Sequence[ToldWork], now: Sequence[ToldWork]) -> set[date]:
    """Return the days of which other work is told, or work that closes sooner than it was told to."""
    had, has = ({(work.day, work.item_id, work.fits): work.safe for work in some} for some in (before, now))
    sooner = {key[0] for key in had.keys() & has.keys() if has[key] <= had[key] - SOONER}
    return sooner | {key[0] for key in had.keys() ^ has.keys()}


def _safe_as_told(
    before: Sequence[ToldWork], now: Sequence[ToldWork], steady: Collection[date]
) -> tuple[ToldWork, ...]:
    """Return work with the last safe day that the text of its day tells, where that stays: else it could creep sooner untold."""
    safe = {(work.day, work.item_id): work.safe for work in before if work.day in steady}
    return tuple(replace(work, safe=safe.get((work.day, work.item_id), work.safe)) for work in now)


def _told_now(session: Session, days: Sequence[WorkDay]) -> tuple[ToldWork, ...]:
    return tuple(
        ToldWork(item.id, work.day, task.safe, session.clock.now, fits)
        for work in days
        for fits, lines in ((True, work.lines), (False, work.ends))
        for line in lines
        for task in line.tasks
        for item in task.items
    )


def _later(session: Session, found: Levelled, until: date) -> tuple[ToldWork, ...]:
    """Return the work that the rota puts on days after those that are told."""
    return tuple(
        ToldWork(item.id, day, found.tasks[job].safe, session.clock.now)
        for job, day in found.rota.days.items()
        if day > until
        for item in found.tasks[job].items
    )


def _days(session: Session, days: Sequence[WorkDay], moved: LastMoves) -> list[ComputedEvent]:
    tells = DaySpeaker(session.speaker, session.labels, session.knowledge, moved)
    times: Sequence[time | None] = begins(session.entries, session.today)
    return [
        tells.event(
            item_id(session.garden.id, WORK_GROUP, work.day.isoformat(), work.day.year),
            work,
            times[work.day.weekday()] if work.lines else None,
            cards_of(session, work.items),
        )
        for work in days
    ]


def _moves(session: Session, moves: Sequence[TimedEvent]) -> list[ComputedEvent]:
    """Return the moves that warnings ask for, those of one hour in one event: a phone shows a day's few at a glance."""
    hours: dict[datetime, list[TimedEvent]] = {}
    for move in sorted(moves, key=lambda move: (move.start, str(move.uid))):
        hours.setdefault(move.start.astimezone(session.zone), []).append(move)
    return [
        moves_event(
            session.style, item_id(session.garden.id, MOVES, start.isoformat(), start.year), start, some
        )
        for start, some in hours.items()
    ]


def _openings(
    session: Session,
    days: Sequence[WorkDay],
    moves: Sequence[TimedEvent],
    told: Sequence[PublishedEvent],
    moved: LastMoves,
) -> list[ComputedEvent]:
    due = [item for group in due_groups(session) for item in group.items]
    has_day = {item.id for work in days for line in work.lines for item in line.items}
    has_day |= moved_by_the_hour(due, moves)
    tells = DaySpeaker(session.speaker, session.labels, session.knowledge, moved)
    uids, out = LastingUids(session, tuple(told), session.today), []
    for opening in openings(due, session.knowledge.operations, has_day, session.today):
        trees = {item.tree_id for item in opening.items}
        group = f"{OPENING_GROUP}{opening.key}"
        uid = uids.uid(group, opening.cycle, trees, opening.day)
        out.append(tells.opening(uid, opening))
    return out
