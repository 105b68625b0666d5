"""The first screen, and the calendars of a tree and of a helper, held against what they are made of."""

from __future__ import annotations

import re
from datetime import timedelta
from itertools import takewhile
from typing import TYPE_CHECKING

from calendar_core.app.plan.line_names import groups_of, item_named, name_of, name_of_move
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.work.ahead import looks_until
from calendar_core.app.work.commands.today import screen_lines
from calendar_core.app.work.first_screen import AHEAD_DAYS
from calendar_core.planning.groups import DRIFT_DAYS
from calendar_core.planning.items import OF_PART
from calendar_core.publishing.revise import DAMPING
from calendar_core.wording.plan.away_text import HELPER_GROUP
from calendar_core.wording.review.walk_text import WALK_GROUP

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date
    from uuid import UUID

    from calendar_core.app.work.first_screen import FirstScreen
    from calendar_core.planning.events import PublishedEvent
    from calendar_core.planning.rota.work_days import WorkDay
    from tests.app.screens import Check, Finding, Screens

DAY = timedelta(days=1)
LINES, COLUMNS = 24, 80  # of a terminal
BAND = timedelta(days=DAMPING.dearest * DAMPING.later_band_d)  # by so much damping keeps a day that was told
LATE = ("late", "concern")


# -- the first screen ------------------------------------------------------------------------------------------------


def first_screen(screens: Screens) -> Iterator[Finding]:
    """Yield days, late work and what else is open of which the first screen says other than the calendar and ``due``."""
    found, today = screens.first, screens.session.today
    told = list(screens.calendar.work.days)
    near = [work for work in told if work.day <= today + AHEAD_DAYS * DAY] or told[:1]
    for work in set(map(_day, near)) ^ set(map(_day, found.days)):
        says = f"{work[0]} is another day: {len(work[1])} jobs, {len(work[2])} ends"
        yield screens.finding(None, "first screen / work calendar", says)
    on_days = {item.id for work in found.days for item in work.items}
    late = {item.id for line in found.late for item in line.group.items}
    more = {item.id for line in found.more for item in line.group.items}
    due = {item.id: one for one in screens.due for item in one.group.items if one.group.start <= today}
    for item_id, one in due.items():
        item = next(item for item in one.group.items if item.id == item_id)
        where = [
            name for name, some in (("days", on_days), ("late", late), ("more", more)) if item_id in some
        ]
        late_now = one.urgency in LATE or one.group.end < today
        if not where or (late_now and where == ["more"]):
            says = f"{screens.name(item)} is {one.urgency} and stands {' and '.join(where) or 'nowhere'}"
            yield screens.finding(item.tree_id, "first screen / due", says)
    for line in (*found.late, *found.more):
        if all(item.id in on_days for item in line.group.items):
            says = f"{screens.name(line.group.items[0])} stands in days and is told beside them"
            yield screens.finding(None, "first screen", says)
        if not all(item.id in due for item in line.group.items):
            yield screens.finding(
                None, "first screen / due", f"{screens.name(line.group.items[0])} is not due"
            )
    if found.judged and {w.id for w in found.warnings} != {
        w.id for w in screens.warnings if w.state == "active" and w.expires > screens.session.clock.now
    }:
        yield screens.finding(None, "first screen / warn", "other warnings")


def _day(work: WorkDay) -> tuple[date, tuple[str, ...], tuple[str, ...]]:
    lines = (
        tuple(f"{name_of(line.items)} {line.minutes}" for line in some) for some in (work.lines, work.ends)
    )
    return work.day, next(lines), next(lines)


def first_lines(screens: Screens) -> Iterator[Finding]:
    """Yield lines of the first screen that do not fit a terminal, or tell other numbers and names than there are."""
    found = screens.first
    lines = screen_lines(screens.session, found)
    if len(lines) > LINES:
        yield screens.finding(None, "first screen", f"{len(lines)} lines")
    for text in lines:
        if len(text) > COLUMNS:
            yield screens.finding(None, "first screen", f"{len(text)} columns: {text}")
    text = "\n".join(lines)
    yield from _more_line(screens, found, text)
    yield from _late_lines(screens, found, lines)
    yield from _day_lines(screens, found, lines)
    moves = {name_of_move(move) for move in found.moves}
    for name in {
        *re.findall(r"^  ([0-9a-f]{6})  ", text, re.MULTILINE),
        *re.findall(r"  ([0-9a-f]{6})$", text, re.MULTILINE),
    }:
        try:
            _ = name in moves or item_named(screens.session, name)
        except Refusal as refusal:
            yield screens.finding(None, "first screen / answer", str(refusal))


def _more_line(screens: Screens, found: FirstScreen, text: str) -> Iterator[Finding]:
    """Yield that what else is open is counted otherwise, or said to close on another day."""
    n = len(found.more)
    closes = min((line.group.end for line in found.more), default=screens.session.today)
    day = screens.session.style.day(closes, screens.session.today)
    right = f"{n} more open, none closes before {day}: " if n > 1 else f"One more open, until {day}: "
    if (n and right not in text) or (not n and " more open, " in text):
        yield screens.finding(None, "first screen", f"does not tell of {n} more that are open, until {day}")


def _late_lines(screens: Screens, found: FirstScreen, lines: list[str]) -> Iterator[Finding]:
    """Yield that late work is neither shown nor counted."""
    heads = [place for place, line in enumerate(lines) if line.startswith("Late, ")]
    below = takewhile(lambda line: line.startswith("  "), lines[heads[0] + 1 :] if heads else [])
    mores = [(line, re.match(r"  (\d+) more: ", line)) for line in below]
    told = sum(int(more[1]) if more else 1 for _, more in mores)
    if told != len(found.late):
        yield screens.finding(
            None, "first screen", f"{told} late lines are shown or counted, of {len(found.late)}"
        )


def _day_lines(screens: Screens, found: FirstScreen, lines: list[str]) -> Iterator[Finding]:
    """Yield that work of today or tomorrow is neither shown nor counted."""
    days, heading = lines[lines.index("") + 1 :], ""
    shown = counted = 0
    for line in days[: days.index("")]:
        heading = heading if line.startswith(" ") else line
        if line.startswith(" ") and heading.startswith(("Today: ", "Tomorrow: ")):
            more = re.match(r"  (\d+) more: ", line)
            shown, counted = (shown, counted + int(more[1])) if more else (shown + 1, counted)
    tomorrow = screens.session.today + DAY
    there = sum(len(work.lines) + len(work.ends) for work in found.days if work.day <= tomorrow)
    there += sum(walk.on <= tomorrow for walk in found.walks)
    if shown + counted != there:
        says = f"{shown} jobs shown and {counted} counted, of {there} today and tomorrow"
        yield screens.finding(None, "first screen", says)


# -- calendars of one tree and of a helper ----------------------------------------------------------------------------


def of_tree(screens: Screens) -> Iterator[Finding]:
    """Yield what the calendar of a tree tells otherwise than the season's windows, by more than damping keeps."""
    if screens.calendar_of_tree is None:
        return
    tree, told = screens.calendar_of_tree
    planned = {(_work(i.rule), i.cycle) for i in screens.session.plan.items if i.tree_id == tree.id}
    own = next(iter(told.trees.values())).events
    windows = [e for e in told.events if tree.id in e.tree_ids and not e.group.startswith(WALK_GROUP)]
    for some, others, names in (
        (own, windows, "calendar of a tree / windows"),
        (windows, own, "windows / calendar of a tree"),
    ):
        for event in (e for e in some if _stands(e, screens.session.today)):
            if (_work(event.group), event.cycle) not in planned:
                continue  # it ends as it was told, in each calendar
            same = [other for other in others if _same(event, other)]
            if not any(_is_within(event, other) for other in same):
                says = f"'{event.summary}' {event.start} to {event.end} is not in the other"
                yield screens.finding(tree.id, names, says)


def _stands(event: PublishedEvent, today: date) -> bool:
    return event.status != "CANCELLED" and not event.lent and event.end >= today


def _same(event: PublishedEvent, window: PublishedEvent) -> bool:
    return _work(event.group) == _work(window.group) and event.cycle == window.cycle


def _work(group: str) -> str:
    """Return the work that an event or item is of, whichever part of a tree it is on."""
    return group.partition("|")[0].partition(OF_PART)[0]


def _is_within(event: PublishedEvent, other: PublishedEvent) -> bool:
    """Tell whether two events of a tree's work have the same days, as far as they are told alike.

    The first of its trees opens a window. What was called off comes back when it has rested, whatever its days.
    """
    loose = BAND + timedelta(days=2 * DRIFT_DAYS)
    near = abs(event.start - other.start) <= loose and abs(event.end - other.end) <= loose
    return near or other.status == "CANCELLED"


def of_helper(screens: Screens) -> Iterator[Finding]:
    """Yield looks that the calendar of a helper has on other days than a sitter's sheet."""
    session = screens.session
    events = screens.calendar_of_helper.told["helper"].events
    told = {
        (event.start, tree) for event in events if event.group == HELPER_GROUP for tree in event.tree_ids
        if event.end >= session.today
    }  # fmt: skip
    asked: set[tuple[date, UUID]] = set()
    for first, last in session.absences:
        begins = max(first, session.today)
        if begins <= last:
            groups = groups_of(session, looks_until(session, last))
            asked |= {(max(g.start, begins), item.tree_id) for g in groups for item in g.items}
    for day, tree in told ^ asked:
        where = "helper's calendar" if (day, tree) in told else "sitter's sheet"
        yield screens.finding(tree, "helper / sitter", f"a look on {day} is in the {where} alone")


TOLD_CHECKS: tuple[Check, ...] = (first_screen, first_lines, of_tree, of_helper)
