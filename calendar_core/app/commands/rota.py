"""Work that fits the grower's time: ``rota``, ``hours``, ``away``."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Annotated

import numpy as np
import typer
from numpy.typing import NDArray

from calendar_core.app.editing import entry, write
from calendar_core.app.errors import Refusal
from calendar_core.app.free_time import SUCH_AS, time_words, week_of, week_words
from calendar_core.app.names_of_items import due_groups, name_of
from calendar_core.app.options import Db, GardenName, Json, Today, day_or_none, read_day
from calendar_core.app.output import heading, print_json, program, say
from calendar_core.app.quiet import quiet_library
from calendar_core.app.session import Session, open_session
from calendar_core.app.spacing import spacings
from calendar_core.garden.hours import USUAL_WEEK, absences, free_minutes, weekly
from calendar_core.planning.beside import kept_apart
from calendar_core.planning.items import Item
from calendar_core.planning.levelled import level
from calendar_core.planning.levelling import LeftOut, Rota
from calendar_core.planning.tasks import Task, tasks_of
from calendar_core.wording.sentences import middle, tree_list


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command()(rota)
    app.command()(hours)
    app.command()(away)


def rota(
    weeks: Annotated[int, typer.Option(min=1, max=26, help="How far ahead.")] = 4,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """Print the work that is due day by day, as it fits your free hours, and what does not fit."""
    session = open_session(db, garden, day_or_none(today))
    found = levelled(session, weeks)
    if as_data:
        print_json(rota_data(session, found))
    else:
        rota_view(session, found)


@dataclass(frozen=True)
class Levelled:
    """A rota with the free minutes from today on and its tasks by the id of their job."""

    rota: Rota
    free: NDArray[np.int64]
    tasks: dict[str, Task]


@dataclass(frozen=True)
class Line:
    """Tasks of one event that are told together."""

    tasks: Sequence[Task]

    @property
    def minutes(self) -> int:
        """Their time together."""
        return sum(task.job.minutes for task in self.tasks)

    @property
    def items(self) -> tuple[Item, ...]:
        """The items of its trees."""
        return tuple(item for task in self.tasks for item in task.items)

    def words(self, session: Session) -> str:
        """Return the work, its trees and its time."""
        trees = {tree for task in self.tasks for tree in task.trees}
        labels = tree_list([label for tree, label in session.labels.items() if tree in trees])
        return (
            f"{session.speaker.name(middle(self.tasks[0].group.items))}: {labels}, {time_words(self.minutes)}"
        )


def levelled(session: Session, weeks: int) -> Levelled:
    """Return the rota of the coming weeks."""
    free = free_minutes(session.entries, session.today, weeks * 7)
    groups = due_groups(session)
    tasks = tasks_of(groups, session.grove.states, session.knowledge.operations, session.today, free)
    apart = kept_apart(
        tasks,
        {tree.id: one for tree, one in spacings(session, session.trees)},
        session.knowledge.feeding,
    )
    with quiet_library():
        found = level([task.job for task in tasks], session.today, free, apart)
    return Levelled(found, free, {task.job.id: task for task in tasks})


def lines(tasks: Sequence[Task]) -> list[Line]:
    """Return tasks with those of one round of an event together whose trees follow each other."""
    together: dict[object, list[Task]] = {}
    met = Counter[object]()
    for task in tasks:
        event = task.group.uid, task.round
        together.setdefault((event, task.sitting - met[event]), []).append(task)
        met[event] += 1
    return [Line(some) for some in together.values()]


def on_day(found: Levelled, day: date) -> list[Line]:
    """Return the work of a day, what is worth most first."""
    tasks = [task for task in found.tasks.values() if found.rota.days.get(task.job.id) == day]
    return sorted(lines(tasks), key=lambda line: _rank(line.tasks[0]))


def _rank(task: Task) -> tuple[bool, date, str]:
    """Return what the work of a day is listed by: what saves a tree first, then what ends first."""
    return not task.protects, (task.protects and task.since) or task.job.last, task.job.id


def why_left(one: LeftOut) -> str:
    """Return why a job has no day: its trees' other work, it can wait, no day is long enough, or the time is taken."""
    if one.beside:
        return "beside"
    if not one.cost:
        return "can wait"
    return "too long" if one.longest < one.job.minutes else "no room"


@dataclass(frozen=True)
class Left(Line):
    """Tasks told together that have no day, ``why``, and what that costs; ``one`` speaks for them."""

    one: LeftOut
    why: str
    cost: int


def left_lines(found: Levelled) -> list[Left]:
    """Return what has no day, the dearest first."""
    together: dict[object, list[LeftOut]] = {}
    for one in found.rota.left:
        task = found.tasks[one.job.id]
        together.setdefault((task.group.uid, task.round, why_left(one)), []).append(one)
    out = [
        Left([found.tasks[o.job.id] for o in some], some[0], why_left(some[0]), sum(o.cost for o in some))
        for some in together.values()
    ]
    return sorted(out, key=lambda left: (-left.cost, left.one.job.last, left.one.job.id))


# Shown

WHY_LEFT = {
    "beside": "Does not fit: too much for a tree beside its other work",
    "too long": "Does not fit: no day of its window has enough time free",
    "no room": "Does not fit: other work takes the time",
    "can wait": "Can wait",
}


def rota_view(session: Session, found: Levelled) -> None:
    """Print a rota."""
    say(f"{session.garden.name}, {session.garden.place}. {session.style.weekday(session.today)}")
    hours_view(session)
    for i, minutes in enumerate(found.free.tolist()):
        day = session.today + timedelta(days=i)
        work = on_day(found, day)
        if work:
            used = sum(line.minutes for line in work)
            heading(f"{session.style.weekday(day)}: {time_words(used)} of {time_words(minutes)}")
        for line in work:
            say(f"{line.words(session)}; {_until(session, line)}", indent=2, hanging=2)
    left = left_lines(found)
    if not found.rota.days:
        say()
        say("No work is due that fits into these weeks." if left else "No work is due in these weeks.")
    for why, title in WHY_LEFT.items():
        _section(session, found, title, [one for one in left if one.why == why])
    if any(one.why != "can wait" for one in left) and not found.rota.proven:
        say()
        say("This is a good rota; whether another would hold more was not tried to the end.")


def _until(session: Session, line: Line) -> str:
    """Return how long a line may take or since when it is late, with its name."""
    task = line.tasks[0]
    if task.since is not None:
        return f"{_since(session, task.since)}  [{name_of(line.items)}]"
    # A move with its last day already full is done as soon as there is time, and late then.
    end = min(task.job.last, max(task.group.end, session.today)) if task.protects else task.job.last
    last = f"until {session.style.day(end, session.today)}"
    return f"{'overdue' if task.overdue else last}  [{name_of(line.items)}]"


def _since(session: Session, day: date) -> str:
    return f"late since {session.style.day(day, session.today)}"


def _section(session: Session, found: Levelled, title: str, left: Sequence[Left]) -> None:
    """Print what has no day for one reason, what is called the same in one line."""
    if left:
        heading(title)
    alike: dict[str, list[Left]] = {}
    for one in left:
        alike.setdefault(session.speaker.name(one.tasks[0].group.items[0]), []).append(one)
    for some in alike.values():
        words = Line([task for one in some for task in one.tasks]).words(session)
        say(f"{words}; {_consequence(session, found, some)}", indent=2, hanging=2)


def _consequence(session: Session, found: Levelled, alike: Sequence[Left]) -> str:
    """Return how long there is, the work that stands in the way, and when it comes again if it is missed."""
    first = min((one.one.job for one in alike), key=lambda job: job.last)
    day = session.style.day
    if alike[0].why == "can wait":
        return f"there is time until {day(first.last, session.today)}"
    overdue = any(one.tasks[0].overdue for one in alike)
    since = [task.since for one in alike for task in one.tasks if task.since is not None]
    text = "overdue" if overdue else f"its last day is {day(first.last, session.today)}"
    text = _since(session, min(since)) if since else text
    others = [found.tasks[other].group.items[0] for one in alike for other in one.one.beside]
    if others:
        text += f"; beside {tree_list(sorted({session.speaker.name(other) for other in others}))}"
    if first.again is None:
        return f"{text}; it stays due until it is answered"
    return f"{text}; missed, it comes again about {day(first.again, session.today)}"


def rota_data(session: Session, found: Levelled) -> dict[str, object]:
    """Return a rota as data."""
    today, free = session.today, found.free.tolist()
    days = [today + timedelta(days=i) for i in range(len(free))]
    return {
        "today": today,
        "usual_hours": weekly(session.entries, today) is None,
        "proven": found.rota.proven,
        "trees": session.labels,
        "days": [
            {"day": day, "free": minutes, "work": [_line_data(line) for line in on_day(found, day)]}
            for day, minutes in zip(days, free, strict=True)
        ],
        "left": [
            {**_line_data(left), "why": left.why, "cost": left.cost, "again": left.one.job.again}
            for left in left_lines(found)
        ],
    }


def _line_data(line: Line) -> dict[str, object]:
    first = line.tasks[0]
    return {
        "item": name_of(line.items),
        "operation": first.group.items[0].operation,
        "rule": first.group.items[0].rule,
        "tree_ids": [tree for task in line.tasks for tree in task.trees],
        "minutes": line.minutes,
        "first": first.job.first,
        "last": first.job.last,
    }


def hours(
    week: Annotated[
        str | None,
        typer.Argument(
            metavar="[HOURS]", help=f"Your free time in a week, such as {SUCH_AS}; other days have none."
        ),
    ] = None,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """Write down the free time you have for the trees, or show it."""
    session = open_session(db, garden, day_or_none(today))
    if week is not None:
        minutes = week_of(week)
        written = entry(session, [], "hours", {"weekly": minutes}, session.today)
        write(session, written)
        say(f"Free: {week_words(minutes)}. Entry {written.id.hex[:8]}.")
    elif as_data:
        known = weekly(session.entries, session.today)
        gone = [{"from": first, "until": last} for first, last in absences(session.entries, session.today)]
        print_json({"weekly": known or USUAL_WEEK, "usual": known is None, "away": gone})
    else:
        hours_view(session)


def hours_view(session: Session) -> None:
    """Print the free time of a week, and the days away that are not over."""
    week = weekly(session.entries, session.today)
    usual = (
        ""
        if week
        else f" That is a guess; write yours with: {program()} hours {SUCH_AS.replace(chr(39), chr(34))}"
    )
    say(f"Free: {week_words(week or USUAL_WEEK)}.{usual}")
    day = session.style.day
    for first, last in absences(session.entries, session.today):
        if last >= session.today:
            say(f"Away: {day(first, session.today)} to {day(last, session.today)}.")


def away(
    first: Annotated[str, typer.Argument(metavar="FROM", help="The first day away.")],
    until: Annotated[str, typer.Argument(metavar="UNTIL", help="The last day away.")],
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
) -> None:
    """Write down days on which you are away."""
    session = open_session(db, garden, day_or_none(today))
    begins, ends = read_day(first), read_day(until)
    if ends < begins:
        raise Refusal(f"away from {begins} until {ends}; right would be an end on or after the beginning")
    written = entry(
        session, [], "away", {"from": begins.isoformat(), "until": ends.isoformat()}, session.today
    )
    write(session, written)
    day = session.style.day
    say(f"Away: {day(begins, session.today)} to {day(ends, session.today)}. Entry {written.id.hex[:8]}.")
