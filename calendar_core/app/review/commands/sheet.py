"""``review sheet``: a walk of the review as a page to print and take along."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.files import PAGE, look_first, write_whole
from calendar_core.app.shell.options import Db, GardenName, Today, day_or_none
from calendar_core.app.shell.output import say
from calendar_core.app.shell.session import open_session
from calendar_core.publishing.sheets.content import PAPERS, Paper
from calendar_core.wording.review.sheet_text import SHEET, written


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command()(sheet)


def sheet(
    file: Annotated[
        Path, typer.Argument(metavar="FILE.html", help="Where to write it; print it from a browser.")
    ],
    day: Annotated[
        str | None,
        typer.Option("--day", metavar="DAY", help="The day of the walk.", show_default="the next walk"),
    ] = None,
    paper: Annotated[
        str | None,
        typer.Option(metavar="|".join(PAPERS), help="Paper.", show_default="letter in US units, else a4"),
    ] = None,
    weeks: Annotated[
        int | None, typer.Option(metavar="N", min=1, max=52, help="Print every walk of so many weeks.")
    ] = None,
    url: Annotated[
        str, typer.Option("--url", metavar="BASE", help="Address that the codes of the trees lead to.")
    ] = "",
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
) -> None:
    """Print a walk of the review: for each tree its questions, with boxes for a pencil and a code for a camera.

    The file is one page of HTML that needs no network: open it in a browser and print it.
    """
    from calendar_core.app.review.sheet import review_sheet, walks_to_print  # they load the planner
    from calendar_core.publishing.sheets.page import page

    look_first(file, PAGE)
    session = open_session(db, garden, day_or_none(today))
    on = paper_named(paper or ("letter" if session.garden.units == "us" else "a4"))
    walks = walks_to_print(session, day_or_none(day), weeks)
    write_whole(file, page(review_sheet(session, walks, on, address(url))).encode(), PAGE)
    say(written(session.style, file, len(walks), sum(len(walk.stops) for walk in walks)))
    say(session.style.say(SHEET["print"]))


def paper_named(text: str) -> Paper:
    """Return a size of paper as typed. Raises Refusal."""
    found = next((paper for paper in PAPERS if paper == text.strip().lower()), None)
    if found is None:
        raise Refusal(f"--paper '{text}': right would be {' or '.join(PAPERS)}")
    return found


def address(text: str) -> str:
    """Return an address as typed, empty where there is none. Raises Refusal."""
    if text and not text.startswith(("http://", "https://")):
        raise Refusal(f"--url '{text}': right would be an address such as https://bench.example")
    return text
