"""The windows of the season as spans of the calendar: those of the garden, and those of one tree."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING
from uuid import uuid5

from calendar_core.app.calendar.walk_events import walk_events, walked
from calendar_core.app.plan.card import cards_of
from calendar_core.app.shell.errors import Refusal
from calendar_core.planning.events import ComputedEvent
from calendar_core.planning.groups import (
    EventGroup,
    group_items,
    last_day_of,
    members,
    published_items,
    stands_until,
    waits_for_it,
)
from calendar_core.planning.places.operations import CHECK
from calendar_core.publishing.revise import DAMPING, Change, MassWithdrawalError, Revision, revise
from calendar_core.storage import published
from calendar_core.wording.plan.event_text import event_of
from calendar_core.wording.review.walk_text import WALK_GROUP

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence
    from uuid import UUID

    from sqlalchemy import Connection

    from calendar_core.app.plan.date_moves import LastMoves
    from calendar_core.app.shell.session import Session
    from calendar_core.planning.events import CalendarKind, PublishedEvent
    from calendar_core.planning.groups import Member
    from calendar_core.storage.published import Members

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


@dataclass(frozen=True)
class Told:
    """The events of one calendar as they are told now, those that left it, and what changed."""

    events: tuple[PublishedEvent, ...]
    removed: tuple[UUID, ...]
    changes: tuple[Change, ...]


def windows_told(
    session: Session, connection: Connection, moved: LastMoves, *, allow_many: bool
) -> tuple[Told, Members]:
    """Return the spans of the season as subscribers are told of them now, and which event each tree is in."""
    told = published.load(connection, session.garden.id)
    known = published.load_members(connection, session.garden.id)
    items = published_items(session.plan.items, known, session.knowledge, session.grove.states)
    groups = group_items(session.garden.id, items, known)
    walks = walk_events(session, told)
    gone = published.load_gone(connection, session.garden.id)
    done = walked(session, told, walks)
    spans = _told(session, told, known, groups, walks, done, gone, moved, allow_many=allow_many)
    return spans, members(groups)


def tree_told(session: Session, connection: Connection, tree: UUID, moved: LastMoves) -> Told:
    """Return the spans of one tree's season: each has an event of its own, the windows it stands in and no others."""
    told = [e for e in published.load(connection, session.garden.id, "tree") if e.tree_ids == (tree,)]
    gone = published.load_gone(connection, session.garden.id, "tree")
    in_windows = published.load_members(connection, session.garden.id)
    items = published_items(session.plan.items, in_windows, session.knowledge, session.grove.states)
    groups = [
        EventGroup(
            uuid5(item.id, "tree"), item.rule, item.cycle, item.opens.likely, last_day_of(item), (item,)
        )
        for item in items
        if item.tree_id == tree
    ]
    known = {(event.group, event.cycle, tree): event.uid for event in told} | members(groups)
    return _told(session, told, known, groups, [], set(), gone, moved, allow_many=True, calendar="tree")


def _told(
    session: Session,
    told: Sequence[PublishedEvent],
    known: Mapping[Member, UUID],
    groups: Sequence[EventGroup],
    walks: Sequence[ComputedEvent],
    walked_off: set[UUID],
    gone: Mapping[UUID, PublishedEvent],
    moved: LastMoves,
    *,
    allow_many: bool,
    calendar: CalendarKind = "windows",
) -> Told:
    # What was done, or is not wanted, leaves the calendar without being called off; a window that is over
    # ends there as it was told.
    answered = _whose_trees(session, told, known, (*ANSWERED, *STANDS)) | walked_off
    over = _whose_trees(session, told, known, (*ANSWERED, *STANDS, "over"))
    kept = [event for event in told if event.uid not in answered]
    ending = [as_told(event) for event in kept if event.uid in over]
    revision = _revised(
        session, kept, groups, [*ending, *walks], gone, moved, allow_many=allow_many, calendar=calendar
    )
    left = {event.uid for event in revision.events}
    removed = tuple(event.uid for event in told if event.uid not in left)
    changes = (*revision.changes, *(Change(uid, "removed") for uid in sorted(answered)))
    return Told(revision.events, removed, changes)


def _revised(
    session: Session,
    told: Sequence[PublishedEvent],
    groups: Sequence[EventGroup],
    ending: Sequence[ComputedEvent],
    gone: Mapping[UUID, PublishedEvent],
    moved: LastMoves,
    *,
    allow_many: bool,
    calendar: CalendarKind,
) -> Revision:
    basis = session.speaker.weather_short(session.weather.sky.traces.known)
    late = {group.uid: until for group in groups if (until := stands_until(group, session.today)) is not None}
    spans = [
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
    computed = [replace(event, calendar=calendar) for event in spans]
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


def as_told(event: PublishedEvent) -> ComputedEvent:
    """Return what was told of an event as if it were computed anew."""
    return ComputedEvent(**{field.name: getattr(event, field.name) for field in fields(ComputedEvent)})
