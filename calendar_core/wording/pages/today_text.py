"""Sentences of the page of today: a line of work with its time, its trees and why; days; what is late."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from calendar_core.planning.rota.work_days import is_late
from calendar_core.planning.waits import late_since
from calendar_core.wording.plan.deciding_text import deciding
from calendar_core.wording.plan.rota_text import until
from calendar_core.wording.sentences import stage_words, tree_list, tree_names

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date, datetime
    from uuid import UUID

    from calendar_core.planning.items import Item, StageDate
    from calendar_core.planning.rota.urgency import Urgency
    from calendar_core.planning.rota.work_days import RotaLine
    from calendar_core.wording.sentences import Speaker

MOST_NAMED = 6  # trees that a line names; all of them stand under it (estimate: two lines of a phone)
AWAY_DAYS = 180  # a day further off is told with its year

TODAY: dict[str, str] = {
    "today": "Today",
    "tomorrow": "Tomorrow",
    "day": "{day}: {used} of {free} free",
    "no_time": "{day}: no time free",
    "none": "Nothing to do today and tomorrow.",
    "nothing": "Nothing to do in the next three weeks.",
    "nothing_until": "Nothing to do until about {day}; then: {work}, {trees}.",
    "timed": "{time}, {until}",
    "no_day": "last safe day, no time",
    "late_no_day": "{until}, no time",
    "since": "late since {day}",
    "badly": "went badly",
    "over": "was safe until {day}",
    "by": "by {hour}",
    "now": "now",
    "hour_of": "{day}, {hour}",
    "calm": "No warning stands.",
    "unseen": "No warning stands, but the forecast does not tell of all hours until the end of tomorrow.",
    "unjudged": "Warnings were not judged lately: no fresh forecast hour by hour.",
    "look": "{tree}: {stage}, likely about {day}. Have you seen it?",
    "buds": "{tree}: are its buds still closed?",
    "walk": "The walk goes on: {trees} left, {time}.",
}


@dataclass(frozen=True)
class TodaySpeaker:
    """Makes the sentences of the page for one reader."""

    speaker: Speaker
    labels: Mapping[UUID, str]

    def _say(self, key: str, **values: str) -> str:
        return self.speaker.style.say(TODAY[key], **values)

    def say(self, key: str) -> str:
        """Return a sentence that is the same on every day."""
        return self._say(key)

    def day(self, on: date) -> str:
        """Return a day as one calls it."""
        days = (on - self.speaker.today).days
        if days in (0, 1):
            return self._say("today" if days == 0 else "tomorrow")
        return self.speaker.style.weekday(on)

    def heading(self, on: date, used: int, free: int) -> str:
        """Return a day with the time that its work takes [min] and that is free."""
        style = self.speaker.style
        if not free:
            return self._say("no_time", day=self.day(on))
        return self._say("day", day=self.day(on), used=style.minutes(used), free=style.minutes(free))

    def head(self, items: Sequence[Item]) -> str:
        """Return the work of a line and its trees."""
        return f"{self.speaker.name(items[0])}: {self.trees(items)}"

    def trees(self, items: Sequence[Item]) -> str:
        """Return the trees of a line."""
        return tree_list(tree_names(items, self.labels), most=MOST_NAMED)

    def why(self, items: Sequence[Item]) -> str:
        """Return what decides the date of a line, as a sentence; "" where nothing does."""
        fact = deciding(self.speaker, items, self.labels, late=False)  # since when stands at its side
        return f"{fact[:1].upper()}{fact[1:]}." if fact else ""

    def side(self, line: RotaLine, *, ends: bool) -> str:
        """Return the time of a line and until when it is safe."""
        last = until(self.speaker, line.tasks, short=True)
        if ends:
            return self._say("late_no_day", until=last) if is_late(line) else self._say("no_day")
        return self._say("timed", time=self.speaker.style.minutes(line.minutes), until=last)

    def late(self, line: Urgency) -> str:
        """Return since when a line is late, or that it went badly."""
        since, style, today = late_since(line.group.items), self.speaker.style, self.speaker.today
        if line.urgency == "concern":
            return self._say("badly")
        if since is None and line.group.end < today:
            return self._say("over", day=style.short_day(line.group.end, today))
        return self._say("since", day=style.short_day(since or line.group.start, today))

    def by(self, moment: datetime, *, late: bool) -> str:
        """Return by when a move has to be made."""
        if late:
            return self._say("now")
        hour = self.speaker.style.clock(moment)
        if moment.date() == self.speaker.today:
            return self._say("by", hour=hour)
        return self._say("by", hour=self._say("hour_of", day=self.day(moment.date()).lower(), hour=hour))

    def question(self, stage: StageDate, tree: str, *, closed: bool) -> str:
        """Return the question about a sight."""
        if closed or stage.range is None:
            return self._say("buds", tree=tree)
        day = self.speaker.style.day(stage.range.likely, self.speaker.today)
        return self._say("look", stage=stage_words(stage.stage), tree=tree, day=day)

    def walk(self, trees: int, minutes: float) -> str:
        """Return what is left of a walk that was begun."""
        style = self.speaker.style
        return self._say(
            "walk", trees=style.number_of(trees, "tree", "trees"), time=style.minutes(round(minutes))
        )

    def until_then(self, items: Sequence[Item], day: date) -> str:
        """Return what comes next where nothing is to be done now."""
        return self._say(
            "nothing_until",
            day=self.speaker.style.day(day, self.speaker.today),
            work=self.speaker.name(items[0]).lower(),
            trees=self.trees(items),
        )
