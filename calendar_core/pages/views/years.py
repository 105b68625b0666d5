"""The years of the garden: what the rounds come to in the coming one, and the past one beside the one before."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fastapi import APIRouter
from starlette.responses import Response

from calendar_core.app.review.next_year import year_ahead
from calendar_core.app.review.summary import summary
from calendar_core.pages.shell.access import Reader
from calendar_core.pages.shell.answering import page
from calendar_core.pages.shell.keeping import BeingWorkedOutError
from calendar_core.wording.review.next_text import NEXT, SUPPLIES, NextSpeaker
from calendar_core.wording.review.summary_text import SUMMARY, SummarySpeaker

if TYPE_CHECKING:
    from calendar_core.app.review.summary import Summary
    from calendar_core.app.shell.session import Session

router = APIRouter()


@router.get("/round/year", include_in_schema=False)
def year(visit: Reader) -> Response:
    """Show what the rounds come to: the heavy work of the coming year, what rests, and what to have ready."""
    try:
        shown = visit.site.kept(visit.session, year_ahead)
    except BeingWorkedOutError:
        if visit.has_htmx:  # a part of a page asks again by itself
            return page(visit, "_year_later.html")
        raise
    session, found = shown.session, shown.value
    tells = NextSpeaker(session.speaker, session.labels)
    say = session.style.say
    sections = [
        *tells.weeks(found.year),
        (say(NEXT["no_time"]), [tells.no_time(job) for job in found.year.no_time]),
        (say(NEXT["put_off"]), tells.put_off(found.year)),
        (say(NEXT["spared"]), tells.spared(found.year)),
        (say(NEXT["soil"]), tells.soil(found.year)),
        (say(SUPPLIES["title"]), tells.supplies(found.supplies) if session.trees else []),
    ]
    return page(
        visit,
        "_year.html" if visit.has_htmx else "year.html",
        title="The coming year",
        current="round",
        head=tells.head(found.year),
        sections=[(title, lines) for title, lines in sections if lines],
        stale=shown.stale,
    )


@router.get("/round/past", include_in_schema=False)
def past(visit: Reader) -> Response:
    """Show the past year beside the one before."""
    shown = visit.site.kept(visit.session, past_year)
    session, found = shown.session, shown.value
    tells = SummarySpeaker(session.speaker, session.labels)
    return page(
        visit,
        "past_year.html",
        title=tells.title(session.garden.name, found.this),
        current="round",
        beside=tells.beside(found.this, found.before),
        two=found.before is not None,
        heads=(session.style.say(SUMMARY["this"]), session.style.say(SUMMARY["before"])),
        sections=tells.sections(found.this, found.before),
    )


def past_year(session: Session) -> Summary:
    """Return the figures of the past year and of the one before, without telling how far that is."""
    return summary(session, quiet=True)
