"""Sentences of the page of the plan: a line's dates, weeks with their time, and what has no day."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from calendar_core.wording.plan.due_text import when_over
from calendar_core.wording.plan.move_text import change_texts, nothing_moved
from calendar_core.wording.plan.rota_text import WHY_LEFT, consequence, time_left
from calendar_core.wording.sentences import tree_names
from calendar_core.wording.tree_sets import alike, of_trees

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from datetime import date
    from uuid import UUID

    from calendar_core.planning.groups import EventGroup
    from calendar_core.planning.items import Item
    from calendar_core.planning.moved_dates import DateMove
    from calendar_core.planning.rota.problem import LeftOut
    from calendar_core.planning.rota.tasks import Task
    from calendar_core.wording.sentences import Speaker

PLAN_PAGE: dict[str, str] = {
    "time": "{used} of {free} free",
    "no_time": "No time free.",
    "today": "Today",
    "tomorrow": "Tomorrow",
    "day": "{name} {day}",
    "further": "{lines} {open} later in the year.",
    "about": "about {day}",
    "put_on": "{work}, {time}",
    "moved_on": "{day}: {text}",
    "counts": "{now} open now, {ahead} open within a year.",
    "lines": "lines",
    "line": "line",
}


@dataclass(frozen=True)
class PlanSpeaker:
    """Makes the sentences of the page for one reader; ``labels`` are those of the trees."""

    speaker: Speaker
    labels: Mapping[UUID, str]

    def _say(self, key: str, **values: object) -> str:
        return self.speaker.style.say(PLAN_PAGE[key], **values)

    def counts(self, now: int, ahead: int) -> str:
        """Return how many lines are open and how many open within the year."""
        told = self.speaker.style.number_of(now, *(self._say(key) for key in ("line", "lines")))
        return self._say("counts", now=f"{told[:1].upper()}{told[1:]}", ahead=self.speaker.style.count(ahead))

    def days(self, first: date, last: date) -> str:
        """Return the days of a week."""
        return self.speaker.style.days(first, last, self.speaker.today)

    def time(self, used: int, free: int) -> str:
        """Return the time that the work of a week takes and that is free [min]."""
        style = self.speaker.style
        if not free and not used:
            return self._say("no_time")
        return self._say("time", used=style.minutes(used), free=style.minutes(free))

    def day(self, day: date) -> str:
        """Return a day of a week near by."""
        style, days = self.speaker.style, (day - self.speaker.today).days
        if days in (0, 1):
            return self._say("today" if days == 0 else "tomorrow")
        return self._say("day", name=style.weekday_name(day), day=style.short_day(day, self.speaker.today))

    def further(self, count: int) -> str:
        """Return how many lines open later than the weeks that are shown."""
        style = self.speaker.style
        told = style.number_of(count, *(self._say(key) for key in ("line", "lines")))
        return self._say(
            "further", lines=f"{told[:1].upper()}{told[1:]}", open="opens" if count == 1 else "open"
        )

    def side(self, group: EventGroup) -> str:
        """Return when a line likely opens, or until when it is safe where it is open."""
        if group.start <= self.speaker.today:
            return when_over(self.speaker, group)
        return self._say("about", day=self.speaker.style.short_day(group.start, self.speaker.today))

    def windows(self, items: Sequence[Item]) -> str:
        """Return when a line opens and closes with the ranges, of trees that differ each its own."""
        told = (of_trees(self.speaker.window(some[0]), some, items, self.labels) for some in alike(items))
        return " ".join(told)

    def trees(self, items: Sequence[Item]) -> list[tuple[UUID, str]]:
        """Return the trees of a line, in the garden's order, with their names and parts."""
        ids = dict.fromkeys(item.tree_id for item in items)
        ordered = [tree for tree in self.labels if tree in ids]
        return list(
            zip(ordered, tree_names(items, {tree: self.labels[tree] for tree in ordered}), strict=True)
        )

    def put_on(self, work: str, minutes: int) -> str:
        """Return work on a day with the time it takes."""
        return self._say("put_on", work=work, time=self.speaker.style.minutes(minutes))

    def moved(self, moved: Sequence[Sequence[DateMove]], since: date) -> list[str]:
        """Return what moved lately, the newest first, or that nothing did."""
        style = self.speaker.style
        if not moved:
            return [nothing_moved(self.speaker, since)]
        return [
            self._say(
                "moved_on",
                day=style.short_day(moves[0].moved_on, self.speaker.today),
                text=change_texts(self.speaker, moves, self.labels)[0],
            )
            for moves in moved
        ]

    def left(self, why: str, left: Sequence[LeftOut], tasks: Sequence[Task], beside: Sequence[Item]) -> str:
        """Return what it means that work has no day."""
        text = (
            time_left(self.speaker, left)
            if why == "can wait"
            else consequence(self.speaker, tasks, left, beside)
        )
        return f"{text[:1].upper()}{text[1:]}."

    def why_left(self, why: str) -> str:
        """Return why work has no day, as a title."""
        return self.speaker.style.say(WHY_LEFT[why])

    def months(self, groups: Sequence[EventGroup]) -> Iterator[tuple[str, list[EventGroup]]]:
        """Yield lines, which are in the order of their days, by the month in which they open."""
        style, today = self.speaker.style, self.speaker.today
        for month, some in groupby(groups, key=lambda group: style.month(group.start, today)):
            yield month, list(some)
