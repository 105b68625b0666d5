"""Publishing: from the plan to what subscribers are told, and to the calendar file."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, fields, replace
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from calendar_core.app.calendar.walk_events import walk_events, walked
from calendar_core.app.plan.card import cards_of
from calendar_core.app.plan.date_moves import last_moves
from calendar_core.app.plan.snapshots import keep_snapshot
from calendar_core.app.plan.told_dates import tell_dates
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.files import write_whole
from calendar_core.app.warnings.stored_warnings import timed_events
from calendar_core.planning.events import ComputedEvent
from calendar_core.planning.groups import group_items, members, published_items, stands_until, waits_for_it
from calendar_core.planning.places.operations import CHECK, INTO
from calendar_core.publishing.feed import feed
from calendar_core.publishing.revise import DAMPING, Change, MassWithdrawalError, Revision, revise
from calendar_core.storage import published
from calendar_core.wording.plan.calendar_text import about
from calendar_core.wording.plan.event_text import event_of
from calendar_core.wording.review.walk_text import WALK_GROUP

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence
    from datetime import datetime
    from uuid import UUID

    from calendar_core.app.plan.date_moves import LastMoves
    from calendar_core.app.shell.session import Session
    from calendar_core.planning.events import PublishedEvent, TimedEvent
    from calendar_core.planning.groups import EventGroup, Member

ANSWERED = ("done", "dropped", "looked", "ended")
STANDS = (
    "moved",
    "stands_sheltered",
    "stands_open",
    "stands_elsewhere",
    "not_shaded",
    "shade_of_spot",
    "place_there",
)
"""Why a move is not planned that was made: its tree stands where it was to go."""
LONGER = DAMPING.dearest * DAMPING.later_band_d  # days by which damping keeps a last day too early at most
NEAR = timedelta(days=14)  # an early frost belongs to the winter's move if that is near (estimate)


@dataclass(frozen=True)
class Publication:
    """The published events, and what changed."""

    events: tuple[PublishedEvent, ...]
    changes: tuple[Change, ...]
    moves: tuple[TimedEvent, ...] = ()  # what the weather asks for by an hour

    def counts(self) -> dict[str, int]:
        """Return how many events changed, by kind of change."""
        return dict(Counter(change.kind for change in self.changes))


def publish(session: Session, *, to: Path | None = None, allow_many: bool = False) -> Publication:
    """Revise what subscribers were told by today's plan, store it, and write it as a calendar file.

    A file that cannot be written leaves what is stored as it was: it tells what subscribers can know.
    """
    with session.store.begin() as connection:
        told = published.load(connection, session.garden.id)
        known = published.load_members(connection, session.garden.id)
        items = published_items(session.plan.items, known, session.knowledge, session.grove.states)
        groups = group_items(session.garden.id, items, known)
        # What was done, or is not wanted, leaves the calendar without being called off; a window that is over
        # ends there as it was told.
        tell_dates(session, connection)
        moved = last_moves(session, connection)
        walks = walk_events(session, told)
        answered = _whose_trees(session, told, known, (*ANSWERED, *STANDS)) | walked(session, told, walks)
        over = _whose_trees(session, told, known, (*ANSWERED, *STANDS, "over"))
        kept = [event for event in told if event.uid not in answered]
        ending = [_as_told(event) for event in kept if event.uid in over]
        gone = published.load_gone(connection, session.garden.id)
        revision = _revised(session, kept, groups, [*ending, *walks], gone, moved, allow_many=allow_many)
        events, moves = lend(revision.events, timed_events(session, session.clock.now), session.clock.now)
        left = {event.uid for event in events}
        published.save(connection, session.garden.id, events, [e.uid for e in told if e.uid not in left])
        published.save_members(connection, session.garden.id, members(groups))
        keep_snapshot(session, connection)
        if to is not None:
            write_calendar(session, events, to, moves)
    changes = (*revision.changes, *(Change(uid, "removed") for uid in sorted(answered)))
    return Publication(events, changes, moves)


def _revised(
    session: Session,
    told: Sequence[PublishedEvent],
    groups: Sequence[EventGroup],
    ending: Sequence[ComputedEvent],
    gone: Mapping[UUID, PublishedEvent],
    moved: LastMoves,
    *,
    allow_many: bool,
) -> Revision:
    basis = session.speaker.weather_short(session.weather.sky.traces.known)
    late = {group.uid: until for group in groups if (until := stands_until(group, session.today)) is not None}
    computed = [
        event_of(
            replace(g, end=max(g.end, late.get(g.uid, g.end))),
            session.labels,
            session.knowledge,
            session.style,
            session.today,
            basis,
            cards_of(session, g.items),
            moved,
        )
        for g in groups
    ]
    shown = {event.uid for event in computed}
    computed += [event for event in ending if event.uid not in shown]
    edited = _edited(session, told, groups, computed)
    clock = session.clock
    try:
        return revise(
            told,
            computed,
            now=clock.now,
            today=clock.today,
            edited=edited,
            late=frozenset(late),
            gone=gone,
            allow_many=allow_many,
        )
    except MassWithdrawalError as error:
        raise Refusal(f"{error}; if that is right, say so with --many") from None


def _edited(
    session: Session,
    told: Sequence[PublishedEvent],
    groups: Sequence[EventGroup],
    computed: Sequence[ComputedEvent],
) -> frozenset[UUID]:
    """Return events that changed by what the grower did, or go on without an answer: nothing damps those."""
    by_uid = {group.uid: group for group in groups}
    trees = {event.uid: event.tree_ids for event in computed}
    waits = {group.uid: group.start for group in groups if waits_for_it(group)}
    edited = frozenset(
        e.uid
        for e in told
        if (e.uid in trees and set(trees[e.uid]) != set(e.tree_ids)) or waits.get(e.uid, e.start) != e.start
    )
    # A check moves on with each answer, and only then; a walk is what the grower has time for.
    edited |= {e.uid for e in told if e.group.startswith((CHECK, WALK_GROUP))}
    over = [e for e in told if e.end < session.today and e.uid in by_uid]
    return edited | {e.uid for e in over if _goes_on(e, by_uid[e.uid])}


def _goes_on(told: PublishedEvent, group: EventGroup) -> bool:
    """Tell whether an event goes on past the last day that was told: what waits for its answer, or a window far longer.

    A look, what is late and a tree that is not safe stay due until they are answered.
    """
    if (group.end - told.end).days > LONGER:
        return True
    codes = {reason.code for item in group.items for reason in item.reasons}
    return "overdue" in codes or any(item.label or item.protects for item in group.items)


def _whose_trees(
    session: Session, told: Sequence[PublishedEvent], known: Mapping[Member, UUID], codes: Collection[str]
) -> set[UUID]:
    """Return coming events all of whose trees are gone, or their items from the plan for one of these reasons."""
    closed = {
        (absent.rule, absent.cycle, absent.tree_id)
        for absent in session.plan.not_planned
        if any(reason.code in codes for reason in absent.reasons)
    }
    trees: dict[UUID, list[bool]] = {}
    for member, uid in known.items():
        trees.setdefault(uid, []).append(member in closed or member[2] in session.gone)
    return {event.uid for event in told if event.end >= session.today and all(trees.get(event.uid, [False]))}


def _as_told(event: PublishedEvent) -> ComputedEvent:
    return ComputedEvent(**{field.name: getattr(event, field.name) for field in fields(ComputedEvent)})


def lend(
    events: Sequence[PublishedEvent], timed: Sequence[TimedEvent], now: datetime
) -> tuple[tuple[PublishedEvent, ...], tuple[TimedEvent, ...]]:
    """Return the events with what stands in their place, and the moves by the hour, those under the event's id first.

    Within the forecast's reach a move that brings all trees of a season's event under cover takes its place, and gives
    it back; each change counts as one of the event, so that its sequence and stamp never fall (RFC 5545 3.8.7.2-4).
    """
    out: list[PublishedEvent] = []
    taken: dict[UUID, TimedEvent] = {}
    for event in events:
        move = next((move for move in timed if _is_same(event, move)), None)
        first = move is not None and move.uid not in taken  # another event's trees may go by the same move
        mark = "" if move is None else f"{move.start.isoformat()} {move.sequence} {move.uid}"
        told = event if mark == event.lent else _lent(event, mark, now)
        out.append(told)
        if move is not None and first:
            taken[move.uid] = replace(move, uid=told.uid, sequence=told.sequence, revised_at=told.revised_at)
    return tuple(out), (*taken.values(), *(move for move in timed if move.uid not in taken))


def _lent(event: PublishedEvent, mark: str, now: datetime) -> PublishedEvent:
    stamp = max(now, event.revised_at + timedelta(seconds=1))
    return replace(event, lent=mark, sequence=event.sequence + 1, revised_at=stamp)


def calendar_bytes(
    session: Session, events: Sequence[PublishedEvent], moves: Sequence[TimedEvent] = ()
) -> bytes:
    """Return the published events as an iCalendar object, with the moves that the weather asks for by an hour."""
    return feed(
        [event for event in events if not event.lent],
        timed=moves,
        name=session.garden.name,
        description=about(session.style, session.garden.name, session.weather.credit),
        zone=ZoneInfo(session.garden.zone),
    )


def _is_same(event: PublishedEvent, move: TimedEvent) -> bool:
    """Tell whether a move within the forecast's reach is the season's event of bringing the same trees in."""
    if event.status == "CANCELLED" or move.to is None or move.at:  # a way back is no move in
        return False
    near = event.start - NEAR <= move.start.date() <= event.end + NEAR
    return near and event.group.startswith(INTO) and set(event.tree_ids) <= set(move.tree_ids)


def write_calendar(
    session: Session, events: Sequence[PublishedEvent], path: Path, moves: Sequence[TimedEvent] = ()
) -> None:
    """Write the calendar file in one step: a reader sees the old one or the new one, never half."""
    write_whole(path, calendar_bytes(session, events, moves))
