"""``review summary``: the past year of the garden on one page, beside the year before."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from calendar_core.app.review.commands.sheet import paper_named
from calendar_core.app.review.summary import Summary
from calendar_core.app.review.summary import summary as summary_of
from calendar_core.app.shell.files import PAGE, look_first, write_whole
from calendar_core.app.shell.options import Db, GardenName, Json, Today, day_or_none
from calendar_core.app.shell.output import columns, heading, print_json, say
from calendar_core.app.shell.session import Session, open_session
from calendar_core.publishing.sheets.content import PAPERS
from calendar_core.publishing.sheets.summary_page import SummarySheet, summary_page
from calendar_core.wording.review.summary_text import SUMMARY, SummarySpeaker


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command("summary")(summary)


def summary(
    html: Annotated[
        Path | None, typer.Option("--html", metavar="FILE.html", help="Write it as one page to print.")
    ] = None,
    paper: Annotated[
        str | None,
        typer.Option(metavar="|".join(PAPERS), help="Paper.", show_default="letter in US units, else a4"),
    ] = None,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """Print the past year beside the one before: wounds, grafts, losses, vigour, time, and how good the dates were."""
    if html is not None:
        look_first(html, PAGE)
    session = open_session(db, garden, day_or_none(today))
    on = paper_named(paper or ("letter" if session.garden.units == "us" else "a4"))
    found, tells = summary_of(session), SummarySpeaker(session.speaker, session.labels)
    if html is not None:
        sheet = SummarySheet(
            tells.title(session.garden.name, found.this), tells.beside(found.this, found.before),
            session.style.say(SUMMARY["this"]), session.style.say(SUMMARY["before"]) if found.before else "",
            tells.sections(found.this, found.before), session.style.locale.replace("_", "-"), on,
        )  # fmt: skip
        write_whole(html, summary_page(sheet).encode(), PAGE)
    if as_data:
        print_json(
            {"today": session.today, "trees": session.labels, "this": found.this, "before": found.before}
        )
    elif html is not None:
        say(session.style.say(SUMMARY["written"], file=html))
    else:
        _view(session, found, tells)


def _view(session: Session, found: Summary, tells: SummarySpeaker) -> None:
    say(tells.title(session.garden.name, found.this) + ".")
    say(tells.beside(found.this, found.before))
    head = [("", session.style.say(SUMMARY["this"]), session.style.say(SUMMARY["before"]))]
    for section in tells.sections(found.this, found.before):
        heading(section.title)
        rows = [(row.label, row.this, row.before) for row in section.rows]
        columns([*head, *rows] if found.before else [row[:2] for row in rows])
        for note in section.notes:
            say(note, indent=2, hanging=2)
