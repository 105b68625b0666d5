"""Moves for the weather of several warnings together: each tree is asked in once, and out once."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from alerts.telling.events import for_trees, left_of
from calendar_core.app.plan.kept_plan import coming_items
from calendar_core.app.warnings.voices import voice_of
from calendar_core.planning.places.operations import OUT

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime
    from uuid import UUID

    from alerts.telling.voice import Voice
    from calendar_core.app.shell.session import Session
    from calendar_core.app.warnings.judging import Judged
    from calendar_core.planning.events import TimedEvent

DAY = timedelta(days=1)


def asked_once(voice: Voice, events: Iterable[TimedEvent]) -> list[TimedEvent]:
    """Return events without the trees that another asked before to the same spot, and for up to a day before it."""
    out: list[TimedEvent] = []
    for event in sorted(events, key=lambda event: event.start):
        asked = {
            tree
            for other in out
            if event.to is not None and other.to == event.to and goes_before(other, event.start)
            for tree in other.tree_ids
        }
        if not asked.issuperset(event.tree_ids):
            out.append(left_of(voice, event, asked))
    return out


def goes_before(move: TimedEvent, by: datetime) -> bool:
    """Tell whether a move is made by an hour, and undone no sooner than a day before it: one stay then does for both."""
    return move.start <= by <= move.end + DAY


def one_way(voice: Voice, ways: Sequence[Sequence[TimedEvent]]) -> list[TimedEvent]:
    """Return the steps back of each tree by the warning that keeps it longest; ``ways`` are the steps of each warning.

    Steps to one spot at one hour are one, under the id of the first.
    """
    last: dict[UUID, tuple[float, int]] = {}
    for n, steps in enumerate(ways):
        for step in steps:
            for tree in step.tree_ids:
                last[tree] = max(last.get(tree, (0.0, 0)), (step.start.timestamp(), -n))
    met: defaultdict[tuple[object, ...], list[TimedEvent]] = defaultdict(list)
    for n, steps in enumerate(ways):
        for step in steps:
            others = {tree for tree in step.tree_ids if last[tree][1] != -n}
            if not others.issuperset(step.tree_ids):
                met[step.start, step.to, step.at].append(left_of(voice, step, others))
    return [_joined(voice, alike) for alike in met.values()]


def _joined(voice: Voice, steps: Sequence[TimedEvent]) -> TimedEvent:
    trees = tuple(dict.fromkeys(tree for step in steps for tree in step.tree_ids))
    return steps[0] if len(steps) == 1 else for_trees(voice, steps[0], trees)


def wanted_out(session: Session, steps: Sequence[TimedEvent]) -> list[TimedEvent]:
    """Return steps back without the trees that the season keeps under cover.

    The plan brings nothing out sooner than two weeks after it went in: where it does so no later than that, the
    season would have let it stand outside.
    """
    if not any(_comes_out(session, step) for step in steps):
        return list(steps)
    stay = timedelta(days=session.knowledge.places.stay_days.value)
    opens = {
        item.tree_id: item.opens.likely for item in coming_items(session, stay.days) if item.operation == OUT
    }
    seasonal = {tree.id for tree in session.trees if session.knowledge.profiles[tree.species].shelter}
    out = []
    for step in steps:
        until = step.revised_at.astimezone(ZoneInfo(session.garden.zone)).date() + stay
        due = {tree for tree, day in opens.items() if day <= until}
        kept = seasonal.difference(due) if _comes_out(session, step) else set()
        if not kept.issuperset(step.tree_ids):
            out.append(left_of(voice_of(session), step, kept))
    return out


def held_back(session: Session, judged: Judged, step: TimedEvent, now: datetime) -> TimedEvent:
    """Return a step out of cover put off until no night within a day of it would call its trees in again."""
    if step.to is None or not _comes_out(session, step):
        return step
    nights = judged.nights_at(session, step.tree_ids, step.to)
    until = step.start
    for night in sorted(nights, key=lambda night: night.begins):
        if night.begins <= until + DAY:
            until = max(until, night.ends)
    if until == step.start:
        return step
    until = until.astimezone(step.start.tzinfo)
    return replace(
        step, start=until, end=until + (step.end - step.start), sequence=step.sequence + 1, revised_at=now
    )


def _comes_out(session: Session, step: TimedEvent) -> bool:
    """Tell whether a step leads from under cover into the open."""
    spots = session.spots
    return step.to is not None and spots[step.to].profile == "open" != spots[step.at[0]].profile
