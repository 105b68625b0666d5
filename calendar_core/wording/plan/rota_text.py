"""Words of the rota: free time, the work of a day, what has no day and what that costs; days away."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from babel.dates import get_day_names

from calendar_core.wording.plan.line_text import facts, heads
from calendar_core.wording.sentences import tree_list

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date, time
    from uuid import UUID

    from calendar_core.planning.items import Item
    from calendar_core.planning.rota.problem import LeftOut
    from calendar_core.planning.rota.tasks import Task
    from calendar_core.wording.sentences import Speaker
    from calendar_core.wording.style import Style

WHY_LEFT: dict[str, str] = {
    "beside": "Does not fit: too much for a tree beside its other work",
    "too long": "Does not fit: no day of its window has enough time free",
    "no room": "Does not fit: other work takes the time",
    "can wait": "Can wait",
}
"""Why work has no day; a title each."""

ROTA: dict[str, str] = {
    "day": "{day}: {used} of {free}",
    "none_fits": "No work is due that fits into these weeks.",
    "none": "No work is due in these weeks.",
    "not_proven": "This is a good rota; whether another would hold more was not tried to the end.",
    "late": "late since {day}",
    "overdue": "overdue",
    "until": "by {day}",
    "line": "{head}, {time}; {until}  [{name}]",
    "left": "{head}, {time}",
}

CONSEQUENCES: dict[str, str] = {
    "time": "there is time until {day}",
    "last": "its last day is {day}",
    "beside": "{text}; beside {work}",
    "stays": "{text}; it stays due until it is answered",
    "again": "{text}; missed, it comes again about {day}",
}
"""What it means that work has no day."""

HOURS: dict[str, str] = {
    "free": "Free: {week}.",
    "guess": "Free: {week}. That is a guess; write yours with: {program} hours {such_as}",
    "written": "Free: {week}. Entry {entry}.",
    "away": "Away: {first} to {last}.",
    "away_written": "Away: {first} to {last}. Entry {entry}.",
    "days": "{first} to {last}",
    "from": "{time} from {at}",
}
"""Free time, and days away."""


def week_words(style: Style, week: Sequence[int], begins: Sequence[time | None] = (None,) * 7) -> str:
    """Return the free time [min] of Monday to Sunday in words, days that are alike together, with when it begins.

    >>> from calendar_core.wording.style import Style
    >>> week_words(Style(), [20, 20, 20, 20, 20, 180, 120])
    'Monday to Friday 20 min, Saturday 3 h, Sunday 2 h'
    """
    names = get_day_names("wide", locale=style.locale)
    told = []
    for (minutes, at), run in groupby(range(7), key=lambda day: (week[day], begins[day])):
        first, *more = run
        days = style.say(HOURS["days"], first=names[first], last=names[more[-1]]) if more else names[first]
        time = style.minutes(minutes)
        if at is not None:
            time = style.say(HOURS["from"], time=time, at=f"{at.hour}:{at:%M}")
        told.append(f"{days} {time}")
    return ", ".join(told)


def free_line(
    style: Style,
    week: Sequence[int],
    program: str,
    such_as: str,
    *,
    usual: bool,
    begins: Sequence[time | None] = (None,) * 7,
) -> str:
    """Return the free time of a week; of a guess also how one's own is written down."""
    told = week_words(style, week, begins)
    if usual:
        return style.say(HOURS["guess"], week=told, program=program, such_as=such_as)
    return style.say(HOURS["free"], week=told)


def away_line(speaker: Speaker, first: date, last: date, entry: str = "") -> str:
    """Return days away, with the name of the entry where they were written down just now."""
    days = [speaker.style.day(day, speaker.today) for day in (first, last)]
    if entry:
        return speaker.style.say(HOURS["away_written"], first=days[0], last=days[1], entry=entry)
    return speaker.style.say(HOURS["away"], first=days[0], last=days[1])


def day_title(style: Style, day: date, used: int, free: int) -> str:
    """Return a day of the rota, with the time that its work takes [min] and that is free."""
    told = style.minutes(used), style.minutes(free)
    return style.say(ROTA["day"], day=style.weekday(day), used=told[0], free=told[1])


def line_heads(speaker: Speaker, tasks: Sequence[Task], labels: Mapping[UUID, str], name: str) -> list[str]:
    """Return the work of some tasks of one event, its trees, its time, its last day and its name, from most trees to fewest."""
    time, last = _time(speaker, tasks), until(speaker, tasks)
    frame = speaker.style.say(ROTA["line"], head="{head}", time=time, until=last, name=name)
    return heads(speaker, _items(tasks), labels, frame=frame)


def left_heads(speaker: Speaker, tasks: Sequence[Task], labels: Mapping[UUID, str]) -> list[str]:
    """Return the work of some tasks that have no day, its trees and its time, from most trees to fewest."""
    frame = speaker.style.say(ROTA["left"], head="{head}", time=_time(speaker, tasks))
    return heads(speaker, _items(tasks), labels, frame=frame)


def line_facts(speaker: Speaker, tasks: Sequence[Task], labels: Mapping[UUID, str]) -> list[str]:
    """Return what decides the work of some tasks."""
    return facts(speaker, _items(tasks), labels)


def _items(tasks: Sequence[Task]) -> list[Item]:
    return [item for task in tasks for item in task.items]


def _time(speaker: Speaker, tasks: Sequence[Task]) -> str:
    return speaker.style.minutes(sum(task.job.minutes for task in tasks))


def until(speaker: Speaker, tasks: Sequence[Task]) -> str:
    """Return how long the first to end of some tasks may take, or since when it is late."""
    task = min(tasks, key=lambda task: (task.since or min(task.group.end, task.job.last), task.job.last))
    if task.since is not None:
        return _late(speaker, task.since)
    # A move with its last day already full is done as soon as there is time, and late then.
    end = min(task.job.last, max(task.group.end, speaker.today)) if task.protects else task.job.last
    if task.overdue:
        return speaker.style.say(ROTA["overdue"])
    return speaker.style.say(ROTA["until"], day=speaker.style.day(end, speaker.today))


def _late(speaker: Speaker, since: date) -> str:
    return speaker.style.say(ROTA["late"], day=speaker.style.day(since, speaker.today))


def time_left(speaker: Speaker, left: Sequence[LeftOut]) -> str:
    """Return how long there is for work that can wait."""
    last = min(left_out.job.last for left_out in left)
    return speaker.style.say(CONSEQUENCES["time"], day=speaker.style.day(last, speaker.today))


def consequence(
    speaker: Speaker, tasks: Sequence[Task], left: Sequence[LeftOut], beside: Sequence[Item]
) -> str:
    """Return since when work is late or how long there is, what stands in its way, and when it comes again."""
    style, today = speaker.style, speaker.today
    first = min((left_out.job for left_out in left), key=lambda job: job.last)
    since = [task.since for task in tasks if task.since is not None]
    if since:
        text = _late(speaker, min(since))
    elif any(task.overdue for task in tasks):
        text = style.say(ROTA["overdue"])
    else:
        text = style.say(CONSEQUENCES["last"], day=style.day(first.last, today))
    if beside:
        works = tree_list(sorted({speaker.name(other) for other in beside}))
        text = style.say(CONSEQUENCES["beside"], text=text, work=works)
    if first.again is None:
        return style.say(CONSEQUENCES["stays"], text=text)
    return style.say(CONSEQUENCES["again"], text=text, day=style.day(first.again, today))
