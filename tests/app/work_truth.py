"""The calendar of work by days, held against the rota, what is due and what is not to be done."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, timedelta
from typing import TYPE_CHECKING

from calendar_core.app.calendar.publishing import events_in, timed_in
from calendar_core.app.plan.line_names import due_groups
from calendar_core.app.work.rota import rota_data
from calendar_core.knowledge.forms.operations import is_feeding
from calendar_core.planning.places.operations import INTO, OUT
from calendar_core.planning.rota.work_days import END_AHEAD
from calendar_core.planning.waits import WAITS, late_since, wait_end
from calendar_core.wording.plan.day_text import OPENING_GROUP, WORK_GROUP
from calendar_core.wording.review.walk_text import WALK_GROUP
from tests.app.screens import ROTA_WEEKS

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from uuid import UUID

    from calendar_core.planning.events import PublishedEvent, TimedEvent
    from calendar_core.planning.groups import EventGroup
    from calendar_core.planning.items import Item
    from calendar_core.planning.rota.work_days import RotaLine, WorkDay
    from tests.app.screens import Check, Finding, Screens

DAY = timedelta(days=1)
LONGEST = timedelta(days=3)  # nothing in the calendar of work spans more
SPAN = timedelta(days=10)  # an opening's first and last tree lie no further apart, and drift as far at most


# -- the same work on the same days ----------------------------------------------------------------------------------


def same_work(screens: Screens) -> Iterator[Finding]:
    """Yield days up to three weeks whose work is not the rota's, and events of work that are of no such day."""
    spared = _by_the_hour(screens)
    rota = {
        day["day"]: {
            (line["rule"], tree): line["minutes"]
            for line in day["work"]
            for tree in line["tree_ids"]
            if line["operation"] != INTO or tree not in spared
        }
        for day in rota_data(screens.session, screens.rota_told)["days"]  # type: ignore[attr-defined]
    }
    told = {work.day: work for work in screens.calendar.work.days}
    for day in sorted(rota.keys() | told.keys()):
        jobs, work = rota.get(day, {}) if day <= screens.calendar.work.until else {}, told.get(day)
        lines = work.lines if work else ()
        has = {(item.rule, item.tree_id): line.minutes for line in lines for item in line.items}
        for rule, tree in jobs.keys() ^ has.keys():
            where = "the rota" if (rule, tree) in jobs else "the calendar"
            yield screens.finding(tree, "work calendar / rota", f"{rule} on {day} is in {where} alone")
        for rule, tree in jobs.keys() & has.keys():
            if jobs[rule, tree] != has[rule, tree]:
                says = f"{rule} on {day} takes {has[rule, tree]} min, by the rota {jobs[rule, tree]}"
                yield screens.finding(tree, "work calendar / rota", says)
    yield from _events_of_days(screens, told)


def _events_of_days(screens: Screens, days: dict[date, WorkDay]) -> Iterator[Finding]:
    events = {event.start: event for event in told_events(screens, WORK_GROUP)}
    for day in sorted(events.keys() ^ days.keys()):
        says = f"an event on {day} without work" if day in events else f"work on {day} without an event"
        yield screens.finding(None, "work calendar", says)
    for day in events.keys() & days.keys():
        event, work = events[day], days[day]
        if set(event.tree_ids) != {item.tree_id for item in work.items}:
            yield screens.finding(
                None, "work calendar", f"the event of {day} names other trees than its work"
            )
        if event.minutes != work.minutes:
            says = f"the event of {day} takes {event.minutes} min, its work {work.minutes}"
            yield screens.finding(None, "work calendar", says)
        time = screens.session.style.minutes(work.minutes)
        if work.lines and not event.summary.endswith(f", {time}"):
            says = f"the event of {day} is called '{event.summary}', its work takes {time}"
            yield screens.finding(None, "work calendar", says)


def short_events(screens: Screens) -> Iterator[Finding]:
    """Yield events of the calendar of work that span more than three days."""
    for event in events_in(screens.calendar, "work"):
        if event.end - event.start >= LONGEST:
            yield screens.finding(None, "work calendar", f"'{event.summary}' is {event.start} to {event.end}")
    for move in timed_in(screens.session, screens.calendar, "work"):
        if move.end - move.start >= LONGEST:
            yield screens.finding(None, "work calendar", f"'{move.summary}' is {move.start} to {move.end}")


def once_a_day(screens: Screens) -> Iterator[Finding]:
    """Yield trees that the calendar of work asks for one work twice on a day, or by the hour and by the day."""
    named: defaultdict[tuple[date, UUID, str], list[str]] = defaultdict(list)
    for day, tree, told, where in (*_named_by_days(screens), *_named_by_events(screens)):
        named[day, tree, told].append(where)
    for (day, tree, told), places in named.items():
        if len(places) > 1:
            yield screens.finding(tree, "work calendar", f"{told} on {day} stands in {', '.join(places)}")
    spared = _by_the_hour(screens)
    for work in screens.calendar.work.days:
        for item in work.items:
            if item.operation == INTO and item.tree_id in spared:
                says = f"{item.operation} stands on {work.day}, and by the hour"
                yield screens.finding(item.tree_id, "work calendar", says)


def _named_by_days(screens: Screens) -> Iterator[tuple[date, UUID, str, str]]:
    operations, name = screens.session.knowledge.operations, screens.session.speaker.name
    for work in screens.calendar.work.days:
        for where, lines in (("work", work.lines), ("ends", work.ends)):
            for item in (item for line in lines for task in line.tasks for item in task.items):
                told = operations[item.operation].counts_as or name(item)
                yield work.day, item.tree_id, f"{told} {item.part}".strip(), where


def _named_by_events(screens: Screens) -> Iterator[tuple[date, UUID, str, str]]:
    for event in told_events(screens, OPENING_GROUP):
        for tree in event.tree_ids:
            work_told = event.summary.partition(":")[0].removesuffix(" opens")
            yield event.start, tree, work_told, "an opening"
    for move in screens.calendar.moves:
        for tree in move.tree_ids if move.to is not None or move.at else ():
            yield _local_day(screens, move), tree, OUT if move.at else INTO, "a move by the hour"
    for event in events_in(screens.calendar, "work"):
        if event.group.startswith(WALK_GROUP) and event.status != "CANCELLED":
            for tree in event.tree_ids:
                yield event.start, tree, WALK_GROUP, "a walk"


def _local_day(screens: Screens, move: TimedEvent) -> date:
    return move.start.astimezone(screens.session.zone).date()


def _by_the_hour(screens: Screens) -> set[UUID]:
    """Return the trees that a warning asks under cover by an hour."""
    return {
        tree
        for move in screens.calendar.moves
        if move.to is not None and not move.at
        for tree in move.tree_ids
    }


def told_events(screens: Screens, group: str) -> list[PublishedEvent]:
    """Return the events of work of a kind that stand and are not over."""
    events = screens.calendar.told["work"].events
    some = [event for event in events if event.group.startswith(group) and event.status != "CANCELLED"]
    return [event for event in some if event.end >= screens.session.today]


# -- what is due, and what is not to be done -------------------------------------------------------------------------


def told_in_time(screens: Screens) -> Iterator[Finding]:
    """Yield due work without a day in the rota that no day's event tells by its last safe day; and what has both."""
    session, tasks = screens.session, screens.rota_told.tasks
    today, spared = session.today, _by_the_hour(screens)
    rota: defaultdict[UUID, set[date]] = defaultdict(set)
    for job, day in screens.rota_told.rota.days.items():
        for item in tasks[job].items:
            rota[item.id].add(day)
    ends = {item.id: work.day for work in screens.calendar.work.days for item in items_of(work.ends)}
    for group in due_groups(session):
        reached = group.start < today + timedelta(weeks=ROTA_WEEKS)
        # What is late was told before, by its last safe day; what saves a tree goes on.
        was_told = late_since(group.items) is not None and not any(item.protects for item in group.items)
        if was_told or not (reached and today <= group.end <= today + END_AHEAD):
            continue
        for item in group.items:
            timed = any(day <= group.end for day in rota[item.id])
            end = ends.get(item.id)
            if timed and end is not None:
                says = f"{screens.name(item)} has a day and is told to have none on {end}"
                yield screens.finding(item.tree_id, "work calendar / rota", says)
            if timed or (item.operation == INTO and item.tree_id in spared) or _pauses(screens, item, group):
                continue
            if end is None or not today <= end <= group.end:
                told = "in no event" if end is None else f"told for {end}"
                says = f"{screens.name(item)} is due by {group.end}, has no day and is {told}"
                yield screens.finding(item.tree_id, "work calendar / due", says)


def _pauses(screens: Screens, item: Item, group: EventGroup) -> bool:
    """Tell whether a tree gets no fertilizer on the last day of its window, so that there is no day to tell."""
    if not is_feeding(item.operation, screens.session.knowledge.operations):
        return False
    steps = [step.feeding for step in screens.fertilize[item.tree_id].steps]
    return any(step.hold and step.day <= group.end for step in steps)


def not_to_be_done(screens: Screens) -> Iterator[Finding]:
    """Yield what an event of work asks for though it is held, put off, answered, or not planned."""
    items = {item.id: item for item in screens.items}
    for work in screens.calendar.work.days:
        for item in work.items:
            for against in _against(screens, items.get(item.id), item, work.day):
                yield screens.finding(item.tree_id, "work calendar / why", f"{screens.name(item)} {against}")
    for event in told_events(screens, OPENING_GROUP):
        key = event.group.removeprefix(OPENING_GROUP)
        for tree in event.tree_ids:
            if not any(_opens(item, event) for item in items.values() if item.tree_id == tree):
                says = f"{key} opens {event.start} by an event, and by no item of the plan"
                yield screens.finding(tree, "work calendar / plan", says)


def _against(screens: Screens, planned: Item | None, item: Item, day: date) -> Iterator[str]:
    if planned is None:
        yield f"on {day} is not planned"
        return
    for reason in planned.reasons:
        if reason.code in WAITS and wait_end(reason) > day:
            yield f"on {day}: {reason.code} after {reason.subject} until {wait_end(reason)}"
    for one in screens.session.plan.not_planned:
        if (one.tree_id, one.rule, one.cycle) == (item.tree_id, item.rule, item.cycle):
            yield f"on {day} is not planned: {', '.join(reason.code for reason in one.reasons)}"
    if planned.opens.likely > day:
        yield f"on {day} opens only on {planned.opens.likely}"


def _opens(item: Item, event: PublishedEvent) -> bool:
    key = event.group.removeprefix(OPENING_GROUP)
    return (item.label or item.operation) == key and abs(item.opens.likely - event.start) <= SPAN + SPAN


def items_of(lines: Iterable[RotaLine]) -> list[Item]:
    return [item for line in lines for item in line.items]


WORK_CHECKS: tuple[Check, ...] = (same_work, short_events, once_a_day, told_in_time, not_to_be_done)
