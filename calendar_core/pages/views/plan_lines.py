"""The plan as lines of a page: what is due with its answers, what opens by week or month, and what has no day."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import groupby
from typing import TYPE_CHECKING

from calendar_core.pages.views.work_lines import Line, work_line
from calendar_core.planning.waits import late_since
from calendar_core.wording.pages.today_text import TodaySpeaker
from calendar_core.wording.plan.rota_text import WHY_LEFT
from calendar_core.wording.review.walk_text import WalkSpeaker

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date
    from uuid import UUID

    from calendar_core.app.shell.session import Session
    from calendar_core.app.work.coming_weeks import Coming, WeekAhead
    from calendar_core.app.work.rota import Left
    from calendar_core.planning.groups import EventGroup
    from calendar_core.wording.pages.plan_text import PlanSpeaker

SUNDAY = 6
WEEKS_SHOWN = 12  # told week by week; what opens later is told by month (estimate: a season ahead)


def shown_until(today: date) -> date:
    """Return the last day of which lines are told by week."""
    return today + timedelta(weeks=WEEKS_SHOWN)


@dataclass(frozen=True)
class Opening:
    """A line that is not due yet: its work, its trees to look up, when it opens, its window in words, and why."""

    work: str
    trees: Sequence[tuple[UUID, str]]
    side: str
    windows: str
    why: str


@dataclass(frozen=True)
class Stretch:
    """A week or a month with what opens in it, and of a week near by the work of its days; ``used`` and ``free`` in minutes."""

    heading: str
    opening: Sequence[Opening]
    days: Sequence[tuple[str, Sequence[str], str]] = ()
    time: str = ""
    used: int = 0
    free: int = 0


def due_line(session: Session, tells: PlanSpeaker, group: EventGroup) -> Line:
    """Return a line that is due now, with the verbs that answer it."""
    today = TodaySpeaker(session.speaker, session.labels)
    late = late_since(group.items) is not None
    line = work_line(session, today, group.items, tells.side(group), urgent=late)
    if late:
        return line
    return replace(line, why=" ".join(filter(None, [tells.windows(group.items), line.why])))


def _opening(session: Session, tells: PlanSpeaker, group: EventGroup) -> Opening:
    items = group.items
    return Opening(
        session.speaker.name(items[0]),
        tells.trees(items),
        tells.side(group),
        tells.windows(items),
        TodaySpeaker(session.speaker, session.labels).why(items),
    )


def weeks(session: Session, found: Coming, tells: PlanSpeaker) -> Iterator[Stretch]:
    """Yield the weeks: those of the rota with their time, then those in which something opens."""
    near = {week.first: week for week in found.weeks}
    by_week: dict[date, list[EventGroup]] = {first: [] for first in near}
    for group in (group for group in found.ahead if group.start <= shown_until(session.today)):
        monday = group.start - timedelta(days=group.start.weekday())
        by_week.setdefault(max(monday, session.today), []).append(group)
    for first, groups in by_week.items():
        opening = [_opening(session, tells, group) for group in groups]
        week = near.get(first)
        if week is None:
            last = first + timedelta(days=SUNDAY - first.weekday())
            yield Stretch(tells.days(first, last), opening)
        else:
            time = tells.time(week.used, week.free)
            days = tells.days(week.first, week.last)
            yield Stretch(days, opening, _days(session, week, tells), time, week.used, week.free)


def months(session: Session, found: Coming, tells: PlanSpeaker) -> Iterator[Stretch]:
    """Yield the months in which something opens."""
    for month, groups in tells.months(found.ahead):
        yield Stretch(month, [_opening(session, tells, group) for group in groups])


def _days(session: Session, week: WeekAhead, tells: PlanSpeaker) -> list[tuple[str, list[str], str]]:
    """Return the days of a week with their work, and the walk of each."""
    today, walks = TodaySpeaker(session.speaker, session.labels), WalkSpeaker(session.speaker)
    return [
        (
            tells.day(day.day),
            [tells.put_on(today.head(line.items), line.minutes) for line in day.lines],
            " ".join(tells.put_on(walks.title(walk), walk.minutes) for walk in day.walks),
        )
        for day in week.days
    ]


def without_day(
    session: Session, found: Coming, tells: PlanSpeaker
) -> Iterator[tuple[str, list[tuple[str, str]]]]:
    """Yield why work has no day, with that work and what it means; what is called the same together."""

    def called(line: Left) -> str:
        return session.speaker.name(line.items[0])

    for why in WHY_LEFT:
        some = sorted((line for line in found.left if line.why == why), key=called)
        rows = [_no_day(session, found, why, list(alike), tells) for _, alike in groupby(some, key=called)]
        if rows:
            yield tells.why_left(why), rows


def _no_day(
    session: Session, found: Coming, why: str, lines: Sequence[Left], tells: PlanSpeaker
) -> tuple[str, str]:
    """Return work that is called the same and has no day, and what that means."""
    tasks = [task for line in lines for task in line.tasks]
    items = list({item.id: item for line in lines for item in line.items}.values())
    left = [line.one for line in lines]
    beside = [found.tasks[other].group.items[0] for left_out in left for other in left_out.beside]
    head = TodaySpeaker(session.speaker, session.labels).head(items)
    return tells.put_on(head, sum(line.minutes for line in lines)), tells.left(why, left, tasks, beside)
