"""The calendar of work by days, held against the rota, what is due and what is not to be done."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from calendar_core.app.calendar.publishing import events_in, timed_in
from calendar_core.app.plan.line_names import due_groups
from calendar_core.app.work.rota import rota_data
from calendar_core.knowledge.forms.operations import is_feeding
from calendar_core.planning.places.operations import INTO, OUT
from calendar_core.planning.rota.work_days import END_AHEAD
from calendar_core.planning.waits import WAITS, late_since, wait_end
from calendar_core.publishing.revise import DAMPING
from calendar_core.wording.plan.day_text import OPENING_GROUP, WORK_GROUP
from calendar_core.wording.review.walk_text import WALK_GROUP
from tests.app.screens import ROTA_WEEKS

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from uuid import UUID

    from calendar_core.app.work.rota import Levelled
    from calendar_core.planning.events import CalendarKind, PublishedEvent, TimedEvent
    from calendar_core.planning.groups import EventGroup
    from calendar_core.planning.items import Item
    from calendar_core.planning.rota.work_days import RotaLine, WorkDay
    from tests.app.screens import Check, Finding, Screens

DAY = timedelta(days=1)
SETTLED = timedelta(days=2)  # so long after today a grower has laid out tools
LONGEST = timedelta(days=3)  # nothing in the calendar of work spans more
SPAN = timedelta(days=10)  # an opening's first and last tree lie no further apart, and drift as far at most
STEADY = DAY  # a last safe day may be told so much too late: what comes sooner by more is told at once
EARLY = timedelta(days=DAMPING.dearest * DAMPING.later_band_d)  # and so much too early, with which nothing is lost


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
    events = {event.start: event for event in _told(screens, WORK_GROUP)}
    for day in sorted(events.keys() ^ days.keys()):
        says = f"an event on {day} without work" if day in events else f"work on {day} without an event"
        yield screens.finding(None, "work calendar", says)
    for day in events.keys() & days.keys():
        event, work = events[day], days[day]
        if set(event.tree_ids) != {item.tree_id for item in work.items}:
            yield screens.finding(None, "work calendar", f"the event of {day} names other trees than its work")
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
    for day, tree, work, where in _named(screens):
        named[day, tree, work].append(where)
    for (day, tree, work), where in named.items():
        if len(where) > 1:
            yield screens.finding(tree, "work calendar", f"{work} on {day} stands in {', '.join(where)}")
    spared = _by_the_hour(screens)
    for work in screens.calendar.work.days:
        for item in work.items:
            if item.operation == INTO and item.tree_id in spared:
                says = f"{item.operation} stands on {work.day}, and by the hour"
                yield screens.finding(item.tree_id, "work calendar", says)


def _named(screens: Screens) -> Iterator[tuple[date, UUID, str, str]]:
    operations, name = screens.session.knowledge.operations, screens.session.speaker.name
    for work in screens.calendar.work.days:
        for where, lines in (("work", work.lines), ("ends", work.ends)):
            for item in (item for line in lines for task in line.tasks for item in task.items):
                told = operations[item.operation].counts_as or name(item)
                yield work.day, item.tree_id, f"{told} {item.part}".strip(), where
    for event in _told(screens, OPENING_GROUP):
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


def _told(screens: Screens, group: str) -> list[PublishedEvent]:
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
    ends = {item.id: work.day for work in screens.calendar.work.days for item in _items(work.ends)}
    for group in due_groups(session):
        reached = group.start < today + timedelta(weeks=ROTA_WEEKS)
        if not (reached and today <= group.end <= today + END_AHEAD):
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
    for event in _told(screens, OPENING_GROUP):
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


def _items(lines: Iterable[RotaLine]) -> list[Item]:
    return [item for line in lines for item in line.items]


# -- what a day's event says in words --------------------------------------------------------------------------------

JOB = re.compile(
    r"^- (?P<work>[^:]+): [^;]+; (?:(?:until|by) (?P<until>[^;]+)|late since (?P<since>[^;]+)|overdue); ", re.MULTILINE
)


def last_days(screens: Screens) -> Iterator[Finding]:
    """Yield last days, and days since when work is late, that a day's event tells otherwise than the plan has them."""
    days = {work.day: work for work in screens.calendar.work.days}
    ends = {item.id: group.end for group in due_groups(screens.session) for item in group.items}
    for event in _told(screens, WORK_GROUP):
        lines = [] if event.start not in days else days[event.start].lines
        told = {found["work"]: found for found in JOB.finditer(event.description)}
        for work in {screens.session.speaker.name(item) for item in _items(lines)}:
            some = [line for line in lines if screens.session.speaker.name(line.items[0]) == work]
            if work not in told:
                yield screens.finding(None, "work calendar text", f"{event.start} does not tell of {work}")
            else:
                yield from _told_otherwise(screens, event, _items(some), told[work], ends)


def _told_otherwise(
    screens: Screens, event: PublishedEvent, items: list[Item], told: re.Match[str], ends: dict[UUID, date]
) -> Iterator[Finding]:
    since, last = late_since(items), min(ends.get(item.id, event.start) for item in items)
    said = told["until"] or told["since"]
    day = None if said is None else read_day(said, event.start)
    again = any(_comes_again(screens, item) or item.protects for item in items)
    fresh = event.text_changed == screens.session.today
    early = 0 * DAY if fresh else EARLY
    if told["until"] and day is not None:
        wrong = since is not None or day > last + STEADY or day < event.start or (day < last - early and not again)
    else:
        wrong = (since is None and last >= screens.session.today) or (since is not None and day != since)
    if wrong:
        plan = f"late since {since}" if since else f"until {last}"
        words = told[0].split("; ")[1]
        says = f"the event of {event.start} says of {told['work']} '{words}', by the plan {plan}"
        yield screens.finding(None, "work calendar text / plan", says)


def _comes_again(screens: Screens, item: Item) -> bool:
    return screens.session.knowledge.operations[item.operation].again_weeks is not None and not item.once


def read_day(text: str, near: date) -> date:
    """Return a day as texts write it, without its year if that is the one of their event."""
    dated = (text if re.search(r"\d{4}$", text) else f"{text} {near.year}").replace(",", "")
    form = "%d %B %Y" if dated[0].isdigit() else "%B %d %Y"
    return datetime.strptime(dated, form).date()  # noqa: DTZ007 - a day has no zone


# -- told once, and kept ---------------------------------------------------------------------------------------------


def told_again(screens: Screens) -> Iterator[Finding]:
    """Yield what changes by being told twice on a day, and days of work that are others once they were told."""
    before = _rota_days(screens, screens.rota)
    first, again = screens.calendar, screens.calendar_of_helper
    kinds: tuple[CalendarKind, ...] = ("work", "windows")
    for kind in kinds:
        titles = {event.uid: event.summary for event in (*first.told[kind].events, *again.told[kind].events)}
        for change in again.changes(kind):
            says = f"told again it is {change.kind}: {titles.get(change.uid, change.uid)}"
            yield screens.finding(None, f"calendar of {kind}", says)
    after = _rota_days(screens, screens.rota_told)
    for name, day in sorted(before ^ after):
        where = "before" if (name, day) in before else "after"
        yield screens.finding(None, "rota / work calendar", f"{name} on {day} only {where} it was told")


def _rota_days(screens: Screens, found: Levelled) -> set[tuple[str, date]]:
    return {
        (f"{screens.session.labels[item.tree_id]} {screens.name(item)}", day)
        for job, day in found.rota.days.items()
        for item in found.tasks[job].items
    }


def unsettled(before: Screens, after: Screens) -> Iterator[Finding]:
    """Yield work of today and the next two days that changed since the day before, and nothing that happened says why."""
    today = after.session.today
    if len(after.session.entries) > len(before.session.entries) or _standing(before) != _standing(after):
        return
    had, has = (_told_by_day(one, today, today + SETTLED) for one in (before, after))
    items = {item.id: item for one in (before, after) for item in one.session.plan.items}
    may = {item for _, item in had ^ has if _may_change(before, after, items[item])}
    # What may come takes the time of what was told; so does a walk that was missed.
    fuller = {day for day, item in has - had if item in may} | _walks(before) ^ _walks(after)
    for day, item in sorted(had ^ has, key=str):
        gone = (day, item) in had
        if item in may or (gone and day in fuller):
            continue
        says = f"{after.name(items[item])} is {'gone from' if gone else 'new on'} {day} since yesterday"
        yield after.finding(items[item].tree_id, "work calendar of two days", says)


def _may_change(before: Screens, after: Screens, item: Item) -> bool:
    """Tell whether work may change its day: it saves a tree, closes, went by undone, or is put off by the weather to come."""
    today = after.session.today
    went_by = {told.item_id for told in before.calendar.work.work if told.day < today}
    safe = [told.safe for one in (before, after) for told in one.calendar.work.work if told.item_id == item.id]
    closes = min(safe) <= today + SETTLED
    weather = [[_foretold(i) for i in one.items if i.id == item.id] for one in (before, after)]
    return item.protects or closes or item.id in went_by or weather[0] != weather[1]


def _walks(screens: Screens) -> set[date]:
    return {walk.on for walk in screens.rota_told.walks}


def _told_by_day(screens: Screens, first: date, last: date) -> set[tuple[date, UUID]]:
    work = screens.calendar.work.work
    return {(told.day, told.item_id) for told in work if told.fits and first <= told.day <= last}


def _standing(screens: Screens) -> set[UUID]:
    return {warning.id for warning in screens.warnings if warning.state == "active"}


def _foretold(item: Item) -> set[tuple[str, object]]:
    """Return what the forecast says of an item: heat or frost to come."""
    codes = ("heat_ahead", "cold_forecast", "fresh_roots_forecast")
    return {(reason.code, reason.found) for reason in item.reasons if reason.code in codes}


WORK_CHECKS: tuple[Check, ...] = (
    same_work,
    short_events,
    once_a_day,
    told_in_time,
    not_to_be_done,
    last_days,
    told_again,
)
