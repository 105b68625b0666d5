"""Faults planted in the calendar of work, the first screen and the calendars of a tree and a helper are found.

What they hold together in the demo and in gardens of growers is in test_one_truth.py; the faults are made up, those that
were there once are marked.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any
from uuid import uuid4

import numpy as np
import pytest

from calendar_core.app.first_day.commands.demo import found_demo
from calendar_core.app.log.entries import entry, write
from calendar_core.app.plan.line_names import due_groups
from calendar_core.app.shell.session import open_session
from calendar_core.app.work.days import days_of_work
from calendar_core.garden.hours import free_minutes
from calendar_core.planning import planner
from calendar_core.planning.groups import last_day_of
from calendar_core.planning.items import Reason
from calendar_core.planning.rota.openings import openings
from calendar_core.planning.rota.urgency import urgent
from calendar_core.publishing.revise import revise
from calendar_core.storage import published
from calendar_core.wording.plan.rota_text import until
from tests.app.one_truth import findings, screens_of
from tests.app.stays_truth import last_days, told_again, unsettled
from tests.app.test_one_truth import garden_of, of_day, told
from tests.app.told_truth import first_lines, first_screen, of_helper, of_tree
from tests.app.work_truth import (
    not_to_be_done,
    once_a_day,
    same_work,
    short_events,
    told_in_time,
)

if TYPE_CHECKING:
    from pathlib import Path

    from calendar_core.app.shell.session import Session
    from calendar_core.planning.rota.work_days import WorkDay

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("plans_anew")]

DAY = timedelta(days=1)
TODAY = date(2015, 6, 24)
WORK = "calendar_core.app.calendar.work"


def with_hours(at: Path, *weekly: int, day: date = TODAY) -> Session:
    """Found the demo with other free minutes of Monday to Sunday."""
    session = found_demo(at, day)
    write(session, entry(session, [], "hours", {"weekly": list(weekly)}, day))
    return open_session(str(at / "garden.db"), None, day)


def test_work_that_the_calendar_leaves_out_is_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fewer(*said: Any) -> list[WorkDay]:
        return [replace(day, lines=day.lines[1:]) for day in days_of_work(*said) if day.lines[1:]]

    monkeypatch.setattr(f"{WORK}.days_of_work", fewer)
    assert told(of_day(same_work, tmp_path), "work calendar / rota", "is in the rota alone")


def test_an_event_whose_hours_and_days_are_not_those_of_its_work_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Minutes were there once that were told at first and never again."""

    def stale(*said: Any, **known: Any) -> Any:
        done = revise(*said, **known)
        off = [replace(e, minutes=e.minutes + 5, end=e.end + 3 * DAY) for e in done.events]
        return replace(done, events=tuple(off))

    monkeypatch.setattr(f"{WORK}.revise", stale)
    found = of_day(same_work, tmp_path / "same")
    assert told(found, "work calendar", "min, its work")
    assert told(of_day(short_events, tmp_path / "short"), "work calendar", "2015-06-24 to 2015-06-27")


def test_a_day_without_an_event_is_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def late(*said: Any, **known: Any) -> Any:
        done = revise(*said, **known)
        return replace(
            done, events=tuple(replace(e, start=e.start + DAY, end=e.end + DAY) for e in done.events)
        )

    monkeypatch.setattr(f"{WORK}.revise", late)
    found = of_day(same_work, tmp_path)
    assert told(found, "work calendar", "without an event")
    assert told(found, "work calendar", "without work")


def test_work_that_a_day_names_twice_is_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def twice(*said: Any) -> list[WorkDay]:
        return [replace(day, ends=day.lines) for day in days_of_work(*said)]

    monkeypatch.setattr(f"{WORK}.days_of_work", twice)
    found = of_day(once_a_day, tmp_path / "twice")
    assert told(found, "work calendar", "stands in work, ends")
    found = of_day(told_in_time, tmp_path / "told")
    assert told(found, "work calendar / rota", "has a day and is told to have none")


def test_work_without_time_that_no_event_tells_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Twenty minutes a week are too few for the demo's June."""
    session = with_hours(tmp_path, 0, 0, 0, 0, 0, 0, 20)
    assert findings(session, told_in_time) == []
    monkeypatch.setattr("calendar_core.planning.rota.work_days._without_time", lambda *_: [])
    again = open_session(str(tmp_path / "garden.db"), None, TODAY)
    assert told(findings(again, told_in_time), "work calendar / due", "has no day and is in no event")


def test_an_event_for_what_is_put_off_or_not_planned_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    make_plan = planner.make_plan

    def early(*said: Any) -> Any:
        plan, wait = make_plan(*said), Reason("put_off", found=TODAY + 60 * DAY)
        return replace(plan, items=tuple(replace(i, reasons=(*i.reasons, wait)) for i in plan.items))

    with monkeypatch.context() as patch:
        patch.setattr(planner, "make_plan", early)
        found = of_day(not_to_be_done, tmp_path / "early")
    assert told(found, "work calendar / why", "put_off after  until 2015-08-23")

    def stale(session: Session) -> Any:
        groups = due_groups(session)
        return [replace(g, items=tuple(replace(i, id=uuid4()) for i in g.items)) for g in groups]

    monkeypatch.setattr("calendar_core.app.work.rota.due_groups", stale)
    found = of_day(not_to_be_done, tmp_path / "stale")
    assert told(found, "work calendar / why", "is not planned")


def test_an_opening_that_no_item_has_is_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def late(*said: Any) -> Any:
        return [replace(opening, day=opening.day + 25 * DAY) for opening in openings(*said)]

    monkeypatch.setattr(f"{WORK}.openings", late)
    found = of_day(not_to_be_done, tmp_path, date(2014, 3, 1))
    assert told(found, "work calendar / plan", "by no item of the plan")


def test_late_work_that_is_told_to_have_time_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It was there once: of shoots that are late and shoots that are not, the day told the last day of those."""
    monkeypatch.setattr(
        "calendar_core.wording.plan.day_text.until",
        lambda speaker, tasks: until(speaker, [min(tasks, key=lambda task: task.job.last)]),
    )
    found = findings(garden_of("held-shoots-teach-their-pace", tmp_path), last_days)
    assert told(found, "work calendar text / plan", "'by 14 July', by the plan late since 2015-06-27")


def test_days_that_are_others_once_they_were_told_are_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It was there once: of the rota's last week nothing was kept, and the weeks before were filled anew."""
    day, save = date(2014, 2, 5), published.save_work

    def forgets(connection: Any, garden: Any, work: Any, since: date) -> None:
        save(connection, garden, [one for one in work if one.day <= day + timedelta(weeks=3)], since)

    assert of_day(told_again, tmp_path / "kept", day) == []
    monkeypatch.setattr(published, "save_work", forgets)
    found = of_day(told_again, tmp_path / "forgotten", day)
    assert told(found, "calendar of work", "told again it is added")
    assert told(found, "rota / work calendar", "only after it was told")


def test_work_of_the_next_days_that_moves_overnight_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = date(2015, 5, 13)  # on neither day is anything written
    found_demo(tmp_path, first)
    days = [screens_of(open_session(str(tmp_path / "garden.db"), None, day)) for day in (first, first + DAY)]
    assert days[0].calendar.work.days
    assert list(unsettled(*days)) == []

    def none_free(entries: Any, day: date, n_days: int) -> Any:
        return np.where(np.arange(n_days) < 3, 0, free_minutes(entries, day, n_days))

    monkeypatch.setattr("calendar_core.app.work.rota.free_minutes", none_free)
    again = screens_of(open_session(str(tmp_path / "garden.db"), None, first + DAY))
    assert told(unsettled(days[0], again), "work calendar of two days", "since yesterday")


# -- the first screen -------------------------------------------------------------------------------------------------


def test_late_work_that_the_first_screen_forgets_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Repotting is safe until 5 April, and there is no time for it."""
    session = with_hours(tmp_path, *[0] * 7, day=date(2015, 4, 12))
    assert findings(session, first_screen, first_lines) == []
    monkeypatch.setattr(
        "calendar_core.app.work.first_screen.urgent",
        lambda *said: [one for one in urgent(*said) if one.group.end >= session.today],
    )
    found = findings(open_session(str(tmp_path / "garden.db"), None, session.today), first_screen)
    assert told(found, "first screen / due", "repot 2015 is closing and stands nowhere")


def test_a_first_screen_of_other_days_is_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        "calendar_core.app.work.first_screen.days_of_work",
        lambda *said: [replace(day, day=day.day + DAY) for day in days_of_work(*said)],
    )
    assert told(of_day(first_screen, tmp_path), "first screen / work calendar", "is another day")


def test_a_first_screen_that_is_too_large_or_names_lines_that_are_not_there_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("calendar_core.app.work.commands.today.LINES", 60)
    monkeypatch.setattr("calendar_core.app.work.commands.today.MOST_LATE", 60)
    monkeypatch.setattr("calendar_core.wording.plan.first_screen_text.WIDTH", 120)
    monkeypatch.setattr("calendar_core.app.work.commands.today.name_of", lambda _: "abcdef")
    session = with_hours(tmp_path, 0, 0, 0, 0, 0, 0, 20, day=date(2015, 8, 20))
    found = findings(session, first_lines)
    assert told(found, "first screen", " lines")
    assert told(found, "first screen", " columns: ")
    assert told(found, "first screen / answer", "no line 'abcdef' stands today")


# -- calendars of a tree and of a helper -------------------------------------------------------------------------------


def test_a_trees_calendar_of_other_days_is_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        "calendar_core.app.calendar.windows.last_day_of", lambda item: last_day_of(item) + 60 * DAY
    )
    assert told(of_day(of_tree, tmp_path), "calendar of a tree / windows", "is not in the other")


def test_a_helper_who_is_told_of_no_look_is_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The forgotten trident has to go under cover while its grower is away."""
    session = garden_of("trident-forgotten-on-the-bench", tmp_path)
    span = {"from": session.today.isoformat(), "until": (session.today + 7 * DAY).isoformat()}
    session.suppose([entry(session, [], "away", span, session.today)])
    assert findings(session, of_helper) == []
    monkeypatch.setattr("calendar_core.app.calendar.helper.looks_until", lambda *_: [])
    assert told(findings(session, of_helper), "helper / sitter", "is in the sitter's sheet alone")
