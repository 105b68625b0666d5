"""``today``: the first screen, also what ``leafclock`` prints without a command."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import typer

from calendar_core.app.plan.line_names import name_of, name_of_move
from calendar_core.app.shell.options import Db, GardenName, Json, Today, day_or_none
from calendar_core.app.shell.output import command_text, line, print_json
from calendar_core.app.shell.program import program
from calendar_core.app.shell.session import Session, open_session
from calendar_core.app.warnings.reach import since_when, way_to_mend
from calendar_core.app.work.first_screen import FirstScreen, first_screen
from calendar_core.app.work.work_data import screen_data
from calendar_core.planning.rota.work_days import ranked
from calendar_core.wording.plan.first_screen_text import FirstSpeaker, cut
from calendar_core.wording.review.walk_text import WalkSpeaker
from calendar_core.wording.sentences import stage_words
from calendar_core.wording.warnings.judged_text import cut_off_line

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date

    from calendar_core.planning.rota.work_days import WorkDay

LINES = 24  # of a terminal that shows everything at a glance
MOST_WARNINGS, MOST_MOVES, MOST_LATE = 3, 3, 3


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command()(today)


def today(db: Db = None, garden: GardenName = None, today: Today = None, as_data: Json = False) -> None:
    """Tell what to do today and tomorrow, what is late and what else is open, on one screen."""
    session = open_session(db, garden, day_or_none(today))
    found = first_screen(session)
    if as_data:
        print_json(screen_data(found))
        return
    for text in screen_lines(session, found):
        line(text)


def screen_lines(session: Session, found: FirstScreen) -> list[str]:
    """Return the lines of the first screen, at most as many as a terminal has."""
    tells = FirstSpeaker(session.speaker, session.labels, program())
    if not session.trees:
        return [tells.title(session.garden.name), "", tells.say("begin")]
    head = [tells.title(session.garden.name), tells.season(found.season, _warned(session, found))]
    head += [*_unreached(session, found), *_warnings(session, tells, found)]
    foot = [*_late(tells, found), *_rest(session, tells, found)]
    room = LINES - len(head) - len(foot) - 2
    return [*head, "", *_days(session, tells, found, room), "", *foot]


def _warned(session: Session, found: FirstScreen) -> Literal["calm", "unseen", "unjudged", ""]:
    """Return what is to be said where no warning is shown; of a garden without a forecast none is expected."""
    if found.warnings or found.moves:
        return ""
    if found.judged:
        return "calm" if found.seen else "unseen"
    return "" if session.weather.forecast is None else "unjudged"


def _unreached(session: Session, found: FirstScreen) -> Iterator[str]:
    """Yield that warnings do not reach somebody, and the command that helps, of the one who has waited longest."""
    for channel in found.cut_off[:1]:
        from calendar_core.app.warnings.mailing import (
            leads_to,
        )  # what carries mail, which hardly ever is asked

        since = since_when(session, channel)
        yield cut(cut_off_line(session.style, leads_to(channel), since, channel.why_failing))
        yield command_text(*way_to_mend(channel))


def _warnings(session: Session, tells: FirstSpeaker, found: FirstScreen) -> Iterator[str]:
    for warning in found.warnings[:MOST_WARNINGS]:
        yield tells.warning(str(warning.data["subject"]))
    more = len(found.warnings) - MOST_WARNINGS
    moves = found.moves[:MOST_MOVES]
    for move in moves:
        yield tells.move(
            name_of_move(move),
            move.start.astimezone(session.zone),
            move.summary,
            late=move.start <= session.clock.now,
        )
    more = max(more, 0) + len(found.moves) - len(moves)
    if more:
        yield tells.more_warnings(more)


def _days(session: Session, tells: FirstSpeaker, found: FirstScreen, room: int) -> list[str]:
    """Return the days with their work, as many lines as there is room for: of each day what is worth most first."""
    ahead = [day for day in found.days if day.lines or day.ends]
    walks = {walk.on: walk for walk in found.walks}
    out: list[str] = []
    soon = any((on - found.today).days < 2 for on in (*walks, *(day.day for day in ahead)))
    hidden = 0
    if not ahead and not walks:
        if found.following is None or found.moves:
            return [] if found.moves else [tells.say("nothing")]
        return [tells.nothing_until(found.following.items, found.following.start)]
    if not soon and not found.moves:
        out.append(tells.say("nothing_two"))
    for on in sorted({day.day for day in ahead} | walks.keys()):
        left = room - len(out)
        day = next((day for day in ahead if day.day == on), None)
        rows = [cut(f"  {WalkSpeaker(session.speaker).title(walks[on])}")] if on in walks else []
        rows += _jobs(session, tells, day) if day else []
        if left < min(3, len(rows) + 1):  # a day that would show nothing of its work
            return _with_more(tells, out, hidden, len(rows), left) if (on - found.today).days < 2 else out
        out.append(_heading(tells, found, on))
        shown = rows if len(rows) < left else rows[: left - 2]
        out += shown
        hidden = len(rows) - len(shown)
        if hidden:
            out.append(tells.more_jobs(hidden))
    return out


def _with_more(tells: FirstSpeaker, out: list[str], hidden: int, more: int, left: int) -> list[str]:
    """Return the lines of days with tomorrow's work counted that has no room, in the place of the last line if need be."""
    if not out:
        return [tells.more_jobs(more)]
    last = hidden or (0 if left else 1)
    return [*(out[:-1] if last else out), tells.more_jobs(last + more)]


def _heading(tells: FirstSpeaker, found: FirstScreen, on: date) -> str:
    of_work = [day.minutes for day in found.days if day.day == on]
    of_walks = [walk.minutes for walk in found.walks if walk.on == on]
    return tells.heading(on, round(sum(of_work) + sum(of_walks)), found.free.get(on, 0))


def last_day_told(session: Session, found: FirstScreen, lines: Sequence[str]) -> date:
    """Return the last day of which the lines of a first screen tell work, today where there is none."""
    tells = FirstSpeaker(session.speaker, session.labels, program())
    days = {day.day for day in found.days} | {walk.on for walk in found.walks}
    return max((on for on in days if _heading(tells, found, on) in lines), default=session.today)


def _jobs(session: Session, tells: FirstSpeaker, day: WorkDay) -> list[str]:
    return [
        tells.job(name_of(line.items), line, ends=without_time)
        for line, without_time in ranked(day, session.knowledge.operations)
    ]


def _late(tells: FirstSpeaker, found: FirstScreen) -> list[str]:
    if not found.late:
        of_days = [task for day in found.days for line in (*day.lines, *day.ends) for task in line.tasks]
        return [
            tells.say("late_else" if any(task.since or task.overdue for task in of_days) else "late_none")
        ]
    shown = found.late[:MOST_LATE] if len(found.late) <= MOST_LATE else found.late[: MOST_LATE - 1]
    out = [tells.say("late_head"), *(tells.late(name_of(line.group.items), line) for line in shown)]
    if len(shown) < len(found.late):
        out.append(tells.more_late(len(found.late) - len(shown)))
    return out


def _rest(session: Session, tells: FirstSpeaker, found: FirstScreen) -> Iterator[str]:
    """Yield the date that moved, one question, and what else there is."""
    if found.moved:
        yield cut(found.moved)
    if found.sight is not None:
        tree, stage, closed = found.sight
        yield tells.question(stage, tree.label, closed=closed)
        what = "closed" if closed else f"'{stage_words(stage.stage)}' DAY"
        yield command_text("seen", f"'{tree.label}'", what)
    if found.more:
        yield tells.more(found.more)
    first = next((line for day in found.days for line in (*day.lines, *day.ends)), None)
    if first is not None:
        item = first.items[0]
        yield tells.answer(item.done or session.knowledge.operations[item.operation].done)
