"""The work of a day as an event of the calendar, and what opens later: a title for a small screen, a line a job."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from calendar_core.planning.events import MOVES, ComputedEvent
from calendar_core.planning.rota.work_days import RotaLine, ranked
from calendar_core.wording.plan.deciding_text import deciding
from calendar_core.wording.plan.event_text import NEAR_DAYS, REMINDER_NOTE, before_cut, moved_lines
from calendar_core.wording.plan.feeding_text import strengths
from calendar_core.wording.plan.rota_text import until
from calendar_core.wording.sentences import tree_list, tree_names
from calendar_core.wording.tree_sets import MOST_NAMES, alike

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime, time
    from uuid import UUID

    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.planning.aftercare.cut_card import Card
    from calendar_core.planning.events import TimedEvent
    from calendar_core.planning.items import Item
    from calendar_core.planning.moved_dates import DateMove
    from calendar_core.planning.rota.openings import Opening
    from calendar_core.planning.rota.tasks import Task
    from calendar_core.planning.rota.work_days import WorkDay
    from calendar_core.wording.sentences import Speaker
    from calendar_core.wording.style import Style

WORK_GROUP, OPENING_GROUP = "work day", "opening|"
MOST_TITLED = 3  # trees that a title names
MOVED_LATELY = timedelta(weeks=2)  # what moved a day longer ago is known by now (estimate)

MOVES_MINUTES = 30  # as long as an event of moves is: some calendars hide one that takes no time

DAYS: dict[str, str] = {
    "job": "{work}: {trees}",
    "ends": "{work}: {trees}, last safe day",
    "more": "{told}; {n} more",
    "timed": "{told}, {time}",
    "line": "- {work}: {trees}, {time}; {until}",
    "end": "- {work}: {trees}, {time}",
    "deciding": "{line}; {fact}.",
    "no_time": "No free time holds it, and this is its last safe day:",
    "reminder": "Tomorrow: {title}",
    "opening": "{work} opens: {trees}",
    "look": "{work}: {trees}",
    "window": "- {trees}: {window} {fact}.",
    "caution": "Caution: {text}",
}


@dataclass(frozen=True)
class DaySpeaker:
    """Makes the events of work days and openings for one reader; ``moved`` are the last moves of told dates, by item."""

    speaker: Speaker
    labels: Mapping[UUID, str]
    knowledge: Knowledge
    moved: Mapping[UUID, Sequence[DateMove]]

    def event(
        self, uid: UUID, work: WorkDay, begins: time | None, cards: Mapping[UUID, Card]
    ) -> ComputedEvent:
        """Return the work of a day; ``cards`` are of the trees of which something is to be looked at before a cut."""
        title, (first, _) = self.title(work), ranked(work, self.knowledge.operations)[0]
        parts = [
            "\n".join([self._say("no_time"), *map(self._end, self._alike(work.ends))]) if work.ends else "",
            "\n".join(self._line(line) for line in self._alike(work.lines)),
            *before_cut(cards, self.labels, self.speaker),
            *self._cautions(work.items),
            self.speaker.style.say(REMINDER_NOTE) if work.closes else "",
        ]
        return ComputedEvent(
            uid, WORK_GROUP, work.day.year, tuple(sorted({item.tree_id for item in work.items})), work.day, work.day,
            title, "\n\n".join(part for part in parts if part),
            self._say("reminder", title=title) if work.closes else "",
            self._categories((first.items[0],)), "CONFIRMED", "work", begins, work.minutes,
        )  # fmt: skip

    def title(self, work: WorkDay) -> str:
        """Return what closes first, how many more, and how long."""
        (first, without_time), *_ = ranked(work, self.knowledge.operations)
        told = self._say(
            "ends" if without_time else "job",
            work=self.speaker.name(first.items[0]),
            trees=self._trees(self._called(first, work.ends if without_time else work.lines), MOST_TITLED),
        )
        if more := len(self._alike(work.lines)) + len(self._alike(work.ends)) - 1:
            told = self._say("more", told=told, n=str(more))
        return (
            self._say("timed", told=told, time=self.speaker.style.minutes(work.minutes))
            if work.lines
            else told
        )

    def _called(self, first: RotaLine, lines: Sequence[RotaLine]) -> Sequence[Item]:
        """Return the items of all lines that are called as one is."""
        name = self.speaker.name(first.items[0])
        return [item for line in lines if self.speaker.name(line.items[0]) == name for item in line.items]

    def _alike(self, lines: Sequence[RotaLine]) -> list[RotaLine]:
        """Return lines with those that are called the same as one, where the first stands."""
        named: dict[str, list[Task]] = {}
        for line in lines:
            named.setdefault(self.speaker.name(line.items[0]), []).extend(line.tasks)
        return [RotaLine(tasks) for tasks in named.values()]

    def _line(self, line: RotaLine) -> str:
        """Return a job with its trees, time, last day and what decides it."""
        told = self._say(
            "line",
            work=self.speaker.name(line.items[0]),
            trees=self._trees(line.items),
            time=self.speaker.style.minutes(line.minutes),
            until=until(self.speaker, line.tasks),
        )
        return self._decided(told, line.items)

    def _end(self, line: RotaLine) -> str:
        """Return a job that no day has time for."""
        told = self._say(
            "end",
            work=self.speaker.name(line.items[0]),
            trees=self._trees(line.items),
            time=self.speaker.style.minutes(line.minutes),
        )
        return self._decided(told, line.items)

    def _decided(self, told: str, items: Sequence[Item]) -> str:
        """Return a job's line with what decides it, and how strong fertilizer is given."""
        told = self._say("deciding", line=told, fact=deciding(self.speaker, items, self.labels))
        given = strengths(self.speaker, items, self.labels)
        told = f"{told} {given}" if given else told
        return "\n".join([told, *(f"  {line}" for line in self._moved(items))])

    def _moved(self, items: Sequence[Item]) -> list[str]:
        """Return what moved the days of some items lately, a line each."""
        since = self.speaker.today - MOVED_LATELY
        lately = {
            item.id: [move for move in self.moved.get(item.id, ()) if move.moved_on >= since]
            for item in items
        }
        return "\n".join(moved_lines(items, self.labels, self.speaker, lately)).splitlines()

    def opening(self, uid: UUID, opening: Opening) -> ComputedEvent:
        """Return what opens on a day ahead, each set of trees with its range; looks with their day."""
        items = opening.items
        lines = []
        for some in alike(items):
            fact = deciding(self.speaker, some, self.labels)
            fact = f"{fact[:1].upper()}{fact[1:]}"  # months and places keep their capitals
            window = self.speaker.window(some[0])
            lines.append(self._say("window", trees=self._trees(some), window=window, fact=fact))
        near = (opening.day - self.speaker.today).days <= NEAR_DAYS
        return ComputedEvent(
            uid, f"{OPENING_GROUP}{opening.key}", opening.cycle, tuple(sorted({item.tree_id for item in items})),
            opening.day, opening.day,
            self._say(
                "look" if items[0].label else "opening",
                work=self.speaker.name(items[0]), trees=self._trees(items, MOST_TITLED),
            ),
            "\n".join([*lines, *self._moved(items)]), "", self._categories(items), "CONFIRMED" if near else "TENTATIVE", "work",
        )  # fmt: skip

    def _trees(self, items: Sequence[Item], most: int = MOST_NAMES) -> str:
        return tree_list(tree_names(items, self.labels), most=most)

    def _cautions(self, items: Sequence[Item]) -> list[str]:
        """Return the cautions due, each once, with the trees or work it is due for if not for all."""
        keys = dict.fromkeys(key for item in items for key in item.cautions)
        told = (self.speaker.style.text(self.knowledge.cautions[key].text) for key in keys)
        return [self._say("caution", text=text) for text in told]

    def _categories(self, items: Sequence[Item]) -> tuple[str, ...]:
        labels = {self.knowledge.operations[item.operation].label for item in items}
        return tuple(sorted(label.replace(",", "") for label in labels))

    def _say(self, key: str, **values: str) -> str:
        return self.speaker.style.say(DAYS[key], **values)


def moves_event(style: Style, uid: UUID, start: datetime, moves: Sequence[TimedEvent]) -> ComputedEvent:
    """Return the moves of one hour, which begin at ``start`` by the garden's clock; what several say is said once."""
    first, *more = moves
    title = style.say(DAYS["more"], told=first.summary, n=str(len(more))) if more else first.summary
    parts = dict.fromkeys(part for move in moves for part in move.description.split("\n\n"))
    return ComputedEvent(
        uid, MOVES, start.year, tuple(sorted({tree for move in moves for tree in move.tree_ids})), start.date(), start.date(),
        title, "\n\n".join(parts), "; ".join(dict.fromkeys(move.reminder for move in moves)), (), "CONFIRMED", "work",
        start.time(), MOVES_MINUTES,
    )  # fmt: skip
