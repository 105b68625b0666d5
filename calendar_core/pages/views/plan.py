"""Plan: the work of the year by week or by month, the time there is for it, and what moved."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Annotated, Any, Literal
from uuid import UUID

from fastapi import APIRouter, Form, Query
from starlette.responses import Response

from calendar_core.app.plan.date_moves import LOOKED_BACK
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.options import read_day
from calendar_core.app.work.coming_weeks import coming
from calendar_core.app.work.free_time import DAYS, typed_time, week_typed
from calendar_core.app.work.time_entries import write_away, write_week
from calendar_core.garden.hours import USUAL_WEEK, begins, weekly
from calendar_core.garden.state import valid_entries
from calendar_core.pages.shell.access import Reader, Worker
from calendar_core.pages.shell.answering import page, told
from calendar_core.pages.views.plan_lines import due_line, months, shown_until, weeks, without_day
from calendar_core.planning.waits import late_since
from calendar_core.wording.pages.plan_text import PlanSpeaker
from calendar_core.wording.plan.rota_text import away_line, week_words

if TYPE_CHECKING:
    from calendar_core.app.shell.session import Session
    from calendar_core.pages.shell.access import Visit

router = APIRouter()
HERE = "/plan"
TIME = f"{HERE}#hours"


@router.get(HERE, include_in_schema=False)
def plan(visit: Reader, by: Annotated[Literal["week", "month"], Query()] = "week") -> Response:
    """Show the plan of the coming year."""
    shown = visit.site.kept(visit.session, coming)
    session, found = shown.session, shown.value
    tells = PlanSpeaker(session.speaker, session.labels)
    now = [
        group
        for group in found.now
        if not (shown.stale and all(visit.site.is_answered(item.id) for item in group.items))
    ]
    late = [group for group in now if late_since(group.items) is not None]
    stretches = weeks(session, found, tells) if by == "week" else months(session, found, tells)
    later = sum(group.start > shown_until(session.today) for group in found.ahead)
    traces = session.weather.sky.traces
    return page(
        visit,
        "plan.html",
        title="Plan",
        current="plan",
        by=by,
        counts=tells.counts(len(now), len(found.ahead)),
        late=[due_line(session, tells, group) for group in late],
        open_now=[due_line(session, tells, group) for group in now if group not in late],
        stretches=list(stretches),
        further=tells.further(later) if later and by == "week" else "",
        left=list(without_day(session, found, tells)),
        moved=tells.moved(found.moved, session.today - LOOKED_BACK),
        rests_on=session.speaker.weather(traces.known, traces.t_min_c.shape[0]),
        stale=shown.stale,
        has_trees=bool(session.trees),
        **_time(visit.session),
    )


@router.post(f"{HERE}/hours", include_in_schema=False)
def hours(
    visit: Worker,
    day: Annotated[list[str] | None, Form()] = None,
    entry_id: Annotated[UUID | None, Form()] = None,
) -> Response:
    """Write down the free time of a week."""
    typed = [*(day or ()), *[""] * len(DAYS)][: len(DAYS)]
    try:
        receipt = write_week(visit.fresh(), week_typed(typed), entry_id)
    except Refusal as refusal:
        return _refused(visit, week=typed, week_faults=refusal.lines)
    return told(visit, receipt.lines, receipt.entries, TIME)


@router.post(f"{HERE}/away", include_in_schema=False)
def away(
    visit: Worker,
    first: Annotated[str, Form()] = "",
    last: Annotated[str, Form()] = "",
    entry_id: Annotated[UUID | None, Form()] = None,
) -> Response:
    """Write down days away."""
    try:
        receipt = write_away(visit.fresh(), read_day(first), read_day(last or first), entry_id)
    except Refusal as refusal:
        return _refused(visit, first=first, last=last, away_faults=refusal.lines)
    return told(visit, receipt.lines, receipt.entries, TIME)


def _refused(visit: Visit, **entered: Any) -> Response:
    """Show the forms of the grower's time again, with what was entered."""
    values = {**_time(visit.session), **entered}
    return page(visit, "time.html", status=422, title="Your time", current="plan", **values)


def _time(session: Session) -> dict[str, Any]:
    """Return what the forms of the grower's time show: the free time of a week, and days away that are not over."""
    week, at = weekly(session.entries, session.today), begins(session.entries, session.today)
    written = [entry for entry in valid_entries(session.entries, session.today) if entry.kind == "away"]
    spans = [(date.fromisoformat(e.data["from"]), date.fromisoformat(e.data["until"]), e.id) for e in written]
    return {
        "free": week_words(session.style, week or USUAL_WEEK, at),
        "usual": week is None,
        "day_names": DAYS,
        "week": [typed_time(minutes, begin) for minutes, begin in zip(week or USUAL_WEEK, at, strict=True)],
        "week_faults": (),
        "absences": [
            (away_line(session.speaker, first, last), entry)
            for first, last, entry in sorted(spans)
            if last >= session.today
        ],
        "first": "",
        "last": "",
        "away_faults": (),
        "today": session.today,
    }
