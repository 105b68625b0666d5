"""What a day's event says in words, and that what was told stays: told twice, and from one day to the next."""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from calendar_core.app.plan.line_names import due_groups
from calendar_core.planning.waits import late_since
from calendar_core.publishing.revise import DAMPING
from calendar_core.wording.plan.day_text import WORK_GROUP
from tests.app.work_truth import DAY, items_of, told_events

if TYPE_CHECKING:
    from collections.abc import Iterator
    from uuid import UUID

    from calendar_core.app.work.rota import Levelled
    from calendar_core.planning.events import CalendarKind, PublishedEvent
    from calendar_core.planning.items import Item
    from tests.app.screens import Check, Finding, Screens

SETTLED = timedelta(days=2)  # so long after today a grower has laid out tools
STEADY = DAY  # a last safe day may be told so much too late: what comes sooner by more is told at once
EARLY = timedelta(
    days=DAMPING.dearest * DAMPING.later_band_d
)  # and so much too early, with which nothing is lost


# -- what a day's event says in words --------------------------------------------------------------------------------

JOB = re.compile(
    r"^- (?P<work>[^:\n]+): [^;\n]+; (?:by (?P<until>[^;\n]+)|late since (?P<since>[^;\n]+)|overdue); ",
    re.MULTILINE,
)


def last_days(screens: Screens) -> Iterator[Finding]:
    """Yield last days, and days since when work is late, that a day's event tells otherwise than the plan has them."""
    days = {work.day: work for work in screens.calendar.work.days}
    ends = {item.id: group.end for group in due_groups(screens.session) for item in group.items}
    for event in told_events(screens, WORK_GROUP):
        lines = [] if event.start not in days else days[event.start].lines
        told = {found["work"]: found for found in JOB.finditer(event.description)}
        for work in {screens.session.speaker.name(item) for item in items_of(lines)}:
            some = [line for line in lines if screens.session.speaker.name(line.items[0]) == work]
            if work not in told:
                yield screens.finding(None, "work calendar text", f"{event.start} does not tell of {work}")
            else:
                yield from _told_otherwise(screens, event, items_of(some), told[work], ends)


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
        wrong = (
            since is not None
            or day > last + STEADY
            or day < event.start
            or (day < last - early and not again)
        )
    else:
        had_time = since is None and last >= screens.session.today  # what was over may have time again
        wrong = (had_time and fresh) or (since is not None and day != since)
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
    safe = [
        told.safe for one in (before, after) for told in one.calendar.work.work if told.item_id == item.id
    ]
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
    codes = ("heat_ahead", "hot_forecast", "cold_forecast", "fresh_roots_forecast")
    return {(reason.code, reason.found) for reason in item.reasons if reason.code in codes}


STAYS_CHECKS: tuple[Check, ...] = (last_days, told_again)
