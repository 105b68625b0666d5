"""The first screen: what to do today and tomorrow, what is late, what is worth knowing, on one page."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from alerts.outbox.standing import last_judgement
from calendar_core.app.plan.date_moves import line_that_matters
from calendar_core.app.plan.line_names import due_groups
from calendar_core.app.plan.sights import nearest_sight
from calendar_core.app.plan.walks import review_plan
from calendar_core.app.warnings.judging import sees_until_tomorrow_night
from calendar_core.app.warnings.reach import cut_off
from calendar_core.app.warnings.stored_warnings import active_now, timed_events
from calendar_core.app.work.days import ROTA_WEEKS, days_of_work
from calendar_core.app.work.rota import levelled
from calendar_core.planning.rota.urgency import Urgency, urgent
from calendar_core.planning.seasons.season_line import SeasonLine, season_line

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from alerts.notices import Channel
    from alerts.outbox.standing import StandingWarning
    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree
    from calendar_core.planning.events import TimedEvent
    from calendar_core.planning.groups import EventGroup
    from calendar_core.planning.items import StageDate
    from calendar_core.planning.review.walks import Walk
    from calendar_core.planning.rota.work_days import WorkDay

AHEAD_DAYS = 7  # a week of work is looked at, the next day that has some however far
JUDGED_WITHIN = timedelta(hours=12)  # a judgement that is older says nothing of tonight (estimate)
SIGHT_WITHIN = timedelta(days=10)  # a stage further off is not worth a question today (estimate)
MOVED_WITHIN = timedelta(days=7)  # a date that moved before is known by now (estimate)
LATE = ("concern", "late")


@dataclass(frozen=True)
class FirstScreen:
    """What a grower is told first; ``free`` are minutes by day, ``judged`` tells that warnings were judged lately.

    ``seen`` tells that the forecast tells of all hours until the end of tomorrow.
    ``late`` stands in no day to come, ``more`` is open and stands nowhere on the screen; ``moved`` tells the told date that
    moved lately and matters most, ``following`` is the work that opens next. Warnings do not reach who is behind ``cut_off``.
    """

    today: date
    season: SeasonLine
    warnings: Sequence[StandingWarning]
    judged: bool
    moves: Sequence[TimedEvent]
    days: Sequence[WorkDay]
    walks: Sequence[Walk]
    free: Mapping[date, int]
    late: Sequence[Urgency]
    more: Sequence[Urgency]
    sight: tuple[Tree, StageDate, bool] | None
    moved: str
    following: EventGroup | None
    cut_off: Sequence[Channel] = ()
    seen: bool = True


def _is_late(line: Urgency, today: date) -> bool:
    """Tell whether something is late, went badly, or is past its last safe day."""
    return line.urgency in LATE or line.group.end < today


def first_screen(session: Session) -> FirstScreen:
    """Return the first screen of a garden today."""
    today, now = session.today, session.clock.now
    moves = timed_events(session, now)
    found = levelled(session, ROTA_WEEKS)
    days = days_of_work(session, moves, found)
    ahead = [day for day in days if day.day <= today + timedelta(days=AHEAD_DAYS)] or list(days[:1])
    groups, told = due_groups(session), {item.id for day in ahead for item in day.items}
    open_now = [
        line for line in urgent(groups, today, 0) if not told.issuperset(item.id for item in line.group.items)
    ]
    stages = (stage for dated in session.plan.stages.values() for stage in dated)
    with session.store.read() as connection:
        judgement = last_judgement(connection, session.garden.id)
    return FirstScreen(
        today,
        season_line(session.garden, session.weather.sky.traces, stages, today),
        active_now(session, now),
        judgement is not None and now - JUDGED_WITHIN <= judgement.judged_at <= now,
        moves,
        ahead,
        [walk for walk in review_plan(session).pressing if walk.on <= today + timedelta(days=AHEAD_DAYS)],
        {today + timedelta(days=place): int(minutes) for place, minutes in enumerate(found.free)},
        [line for line in open_now if _is_late(line, today)],
        [line for line in open_now if not _is_late(line, today)],
        nearest_sight(session, SIGHT_WITHIN),
        line_that_matters(session, today - MOVED_WITHIN),
        min((group for group in groups if group.start > today), key=lambda g: (g.start, g.key), default=None),
        cut_off(session, now),
        judgement is not None and sees_until_tomorrow_night(session, now),
    )
