"""Words of the first screen: every line of it fits a terminal of eighty columns, the fullest that does."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Literal

from babel.dates import format_skeleton

from calendar_core.planning.rota.work_days import is_late
from calendar_core.planning.waits import late_since
from calendar_core.wording.plan.deciding_text import deciding
from calendar_core.wording.plan.rota_text import until
from calendar_core.wording.plan.season_text import short_season
from calendar_core.wording.sentences import stage_words, tree_list, tree_names

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from datetime import date, datetime
    from uuid import UUID

    from calendar_core.planning.items import Item, StageDate
    from calendar_core.planning.rota.urgency import Urgency
    from calendar_core.planning.rota.work_days import RotaLine
    from calendar_core.planning.seasons.season_line import SeasonLine
    from calendar_core.wording.sentences import Speaker

WIDTH = 80
MORE = " ..."  # what stands for the end of a line that was cut
MOST_NAMED = (4, 3, 2, 1)  # trees that a line names, the most that fit

FIRST: dict[str, str] = {
    "no_warning": "No warning stands.",
    "not_seen": "No warning stands; hours are missing.",
    "warning": "Warning: {subject}",
    "more_warnings": "{n} more: {program} warn",
    "move": "By {hour}: {summary}",
    "move_now": "Now: {summary}",
    "today": "Today",
    "tomorrow": "Tomorrow",
    "by_tomorrow": "tomorrow, {hour}",
    "day": "{day}: {used} of {free}",
    "no_time": "{day}: no time free",
    "free": "{day}: nothing to do.",
    "nothing_two": "Today and tomorrow: nothing to do.",
    "nothing": "Nothing to do in the next three weeks.",
    "job": "{work}: {trees}, {time}; {until}. {fact}",
    "job_no_fact": "{work}: {trees}, {time}; {until}",
    "job_untimed": "{work}: {trees}; {until}",
    "job_bare": "{work}: {trees}, {time}",
    "ends": "{work}: {trees}; last safe day, no time. {fact}",
    "ends_bare": "{work}: {trees}; last safe day, no time",
    "ends_late": "{work}: {trees}; {until}, no time. {fact}",
    "ends_late_bare": "{work}: {trees}; {until}, no time",
    "more_jobs": "{n} more: {program} rota",
    "late_head": "Late, without a day",
    "late_none": "Late: nothing.",
    "not_judged": "Warnings: not judged lately.",
    "nothing_until": "Nothing to do until about {day}: {work}: {trees}",
    "late_else": "Nothing else is late.",
    "look": "Worth a look: {stage} of {tree}, likely about {day}:",
    "buds": "Worth a look: are the buds of {tree} still closed?",
    "late": "{work}: {trees}; late since {day}. {fact}",
    "late_bare": "{work}: {trees}; late since {day}",
    "badly": "{work}: {trees}; it went badly. {fact}",
    "badly_bare": "{work}: {trees}; it went badly",
    "over": "{work}: {trees}; was safe until {day}. {fact}",
    "over_bare": "{work}: {trees}; was safe until {day}",
    "more_late": "  {n} more: {program} due",
    "more": "{n} more open, none closes before {day}: {program} due",
    "more_one": "One more open, until {day}: {program} due",
    "answer": "Write down what you did: {program} answer NAME {verb}",
    "begin": "No trees yet. Add some with: {program} tree add '3 Japanese maple'",
}


@dataclass(frozen=True)
class FirstSpeaker:
    """Makes the lines of the first screen for one reader; ``program`` is how it is called."""

    speaker: Speaker
    labels: Mapping[UUID, str]
    program: str

    def title(self, garden: str) -> str:
        """Return the garden, and the day at the right edge."""
        day = self.speaker.style.weekday(self.speaker.today)
        room = WIDTH - len(day) - 2
        return f"{cut(garden, room):<{room}}  {day}"

    def season(self, season: SeasonLine, warned: Literal["calm", "unseen", "unjudged", ""]) -> str:
        """Return sun and heat, and that no warning stands, or that none was judged lately."""
        told = short_season(season, self.speaker.style)
        keys = {"calm": "no_warning", "unseen": "not_seen", "unjudged": "not_judged"}
        last = [self._say(keys[warned])] if warned else []
        return _fitting([" ".join([*told, *last]), " ".join([told[0], *last]), told[0]])

    def warning(self, subject: str) -> str:
        """Return a warning that holds."""
        return cut(self._say("warning", subject=subject))

    def move(self, name: str, by: datetime, summary: str, *, late: bool) -> str:
        """Return a move that has its hour, which may be over."""
        if late:
            return cut(f"  {name}  {self._say('move_now', summary=summary)}")
        hour = self.speaker.style.clock(by)
        if by.date() == self.speaker.today + timedelta(days=1):
            hour = self._say("by_tomorrow", hour=hour)
        elif by.date() != self.speaker.today:
            hour = f"{self._day(by.date())}, {hour}"
        return cut(f"  {name}  {self._say('move', hour=hour, summary=summary)}")

    def heading(self, day: date, used: int, free: int) -> str:
        """Return a day with the time that its work takes [min] and that is free."""
        style = self.speaker.style
        if not free:
            return self._say("no_time", day=self._day(day))
        return self._say("day", day=self._day(day), used=style.minutes(used), free=style.minutes(free))

    def free(self, day: date) -> str:
        """Return that a day has no work."""
        return self._say("free", day=self._day(day))

    def _day(self, day: date) -> str:
        if day == self.speaker.today:
            return self._say("today")
        if day == self.speaker.today + timedelta(days=1):
            return self._say("tomorrow")
        near = abs(day - self.speaker.today) < timedelta(days=180)
        return format_skeleton("MMMMEEEEd" if near else "yMMMMEEEEd", day, locale=self.speaker.style.locale)

    def job(self, name: str, line: RotaLine, *, ends: bool = False) -> str:
        """Return a line of work with its name, the fullest that fits; ``ends`` has no time, and its last safe day."""
        late = ("ends_late", "ends_late_bare") if is_late(line) else ("ends", "ends_bare")
        keys = late if ends else ("job", "job_no_fact", "job_untimed", "job_bare")
        more = {
            "time": self.speaker.style.minutes(line.minutes),
            "until": until(self.speaker, line.tasks, short=True),
        }
        return _fitting([f"  {name}  {text}" for text in self._told(keys, line.items, more)])

    def late(self, name: str, line: Urgency) -> str:
        """Return what is late, or went badly and is still open."""
        items = line.group.items
        since = late_since(items)
        keys = ("badly", "badly_bare") if line.urgency == "concern" else ("late", "late_bare")
        if since is None and line.group.end < self.speaker.today:
            keys, since = ("over", "over_bare"), line.group.end
        day = self.speaker.style.short_day(since or line.group.start, self.speaker.today)
        return _fitting([f"  {name}  {text}" for text in self._told(keys, items, {"day": day})])

    def _told(self, keys: Sequence[str], items: Sequence[Item], values: Mapping[str, str]) -> Iterator[str]:
        """Yield texts of some items, the fullest first: with fewer trees, then without what decides."""
        fact = deciding(self.speaker, items, self.labels)
        work = self.speaker.name(items[0])
        named = tree_names(items, self.labels)
        for key in keys:
            for most in MOST_NAMED:
                trees = tree_list(named, most=most)
                yield self._say(key, work=work, trees=trees, fact=f"{fact[:1].upper()}{fact[1:]}.", **values)

    def more_jobs(self, count: int) -> str:
        """Return how much of a day's work is not shown."""
        return "  " + self._say("more_jobs", n=str(count), program=self.program)

    def more_warnings(self, count: int) -> str:
        """Return how many warnings are not shown."""
        return self._say("more_warnings", n=str(count), program=self.program)

    def more_late(self, count: int) -> str:
        """Return how much that is late is not shown."""
        return self._say("more_late", n=str(count), program=self.program)

    def more(self, lines: Sequence[Urgency]) -> str:
        """Return how much is open beside what is shown, and when the first of it closes."""
        first = min(line.group.end for line in lines)
        day = self.speaker.style.day(max(first, self.speaker.today), self.speaker.today)
        return self._say(
            "more_one" if len(lines) == 1 else "more", n=str(len(lines)), day=day, program=self.program
        )

    def question(self, stage: StageDate, tree: str, *, closed: bool) -> str:
        """Return the question about a sight."""
        assert stage.range is not None  # noqa: S101 - only stages that come are asked for
        if closed:
            return cut(self._say("buds", tree=tree))
        day = self.speaker.style.day(stage.range.likely, self.speaker.today)
        return cut(self._say("look", stage=stage_words(stage.stage), tree=tree, day=day))

    def nothing_until(self, items: Sequence[Item], day: date) -> str:
        """Return that there is nothing to do before a day, and what comes then."""
        told = {"day": self.speaker.style.day(day, self.speaker.today)}
        return _fitting(list(self._told(("nothing_until",), items, told)))

    def say(self, key: str) -> str:
        """Return a line that is the same on every day."""
        return self._say(key, program=self.program)

    def answer(self, verb: str) -> str:
        """Return how work is written down."""
        return self._say("answer", program=self.program, verb=verb)

    def _say(self, key: str, **values: str) -> str:
        return self.speaker.style.say(FIRST[key], **values)


def _fitting(texts: Sequence[str]) -> str:
    """Return the first of some texts that fits a line, or the last cut to it."""
    return next((text for text in texts if len(text) <= WIDTH), cut(texts[-1]))


def cut(text: str, width: int = WIDTH) -> str:
    """Return a text cut at a word to a line."""
    if len(text) <= width:
        return text
    return text[: width - len(MORE) + 1].rpartition(" ")[0].rstrip(" ,;:") + MORE
