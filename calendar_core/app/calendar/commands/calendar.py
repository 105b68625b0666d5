"""``calendar``: revise what subscribers were told, and write the iCalendar file."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.files import CALENDAR as A_CALENDAR
from calendar_core.app.shell.files import look_first
from calendar_core.app.shell.named import named_trees
from calendar_core.app.shell.options import Db, GardenName, Json, Today, day_or_none
from calendar_core.app.shell.output import print_json, say
from calendar_core.app.shell.program import program
from calendar_core.app.shell.session import Session, open_session
from calendar_core.planning.events import KINDS, CalendarKind, CalendarOf, kind_named
from calendar_core.storage.calendar_files import CalendarFile
from calendar_core.wording.plan.address_text import PLACES
from calendar_core.wording.plan.calendar_text import CALENDAR, stays, written

TYPED, LONGEST = "-", 2000  # signs; more is no address (estimate)


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command()(calendar)


def calendar(
    file: Annotated[
        Path | None,
        typer.Argument(
            metavar="[FILE.ics]", help="Where to write; put it where your phone can subscribe to it."
        ),
    ] = None,
    kind: Annotated[
        str | None,
        typer.Option(
            help="What it tells: work (what to do on which day), windows (the season's spans, for a desk), moves"
            " (warnings and moves by the hour), tree (one tree's season) or helper (the days you are away). A file keeps"
            " its kind; a new one is of work."
        ),
    ] = None,
    tree: Annotated[str | None, typer.Option(help="Whose season it is, of the kind tree.")] = None,
    many: Annotated[
        bool, typer.Option("--many", help="Publish even if a large part of the events vanishes.")
    ] = False,
    to: Annotated[
        str | None,
        typer.Option(
            metavar="FOLDER|URL",
            help="Write all kinds to a folder, or by HTTP PUT to one of the web, now and whenever they change while watch or"
            " serve runs. A login stands in the URL, or as USER:PASSWORD in LEAFCLOCK_CALENDAR_LOGIN; - reads the URL from"
            " standard input.",
        ),
    ] = None,
    stop: Annotated[bool, typer.Option("--stop", help="Write no more to the place of --to.")] = False,
    places: Annotated[bool, typer.Option("--places", help="List the places that are written to.")] = False,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """Publish the plan and write it as a calendar file.

    Dates move for subscribers only when it matters: small shifts of the forecast change nothing.
    """
    if to is not None or places or stop:
        if file is not None or kind is not None or tree is not None:
            raise Refusal(
                "a file, --kind and --tree do not go with --to, --stop and --places; right would be one of both"
            )
        session = open_session(db, garden, day_or_none(today))
        _places(session, to, stop=stop, as_data=as_data)
        return
    if file is None:
        raise Refusal("no file is named; right would be 'FILE.ics', or --to with a folder or an address")
    if kind is not None:
        known_kind(kind)
    look_first(file.expanduser(), A_CALENDAR)
    session = open_session(db, garden, day_or_none(today))
    _write(session, file, _asked(session, file, kind, tree), many=many, as_data=as_data)


def _write(session: Session, file: Path, asked: CalendarFile | None, *, many: bool, as_data: bool) -> None:
    """Write a calendar and tell what it holds."""
    from calendar_core.app.calendar.files import chosen_file  # the icalendar library is slow to load
    from calendar_core.app.calendar.publishing import events_in, publish, timed_in

    chosen, old = chosen_file(session, file.expanduser(), asked)
    told = publish(session, chosen, to=file.expanduser(), allow_many=many)
    events = events_in(told, chosen.kind, chosen.tree_id)
    if as_data:
        moves = timed_in(session, told, chosen.kind)
        changes = told.changes(chosen.kind, chosen.tree_id)
        told_data = {"kind": chosen.kind, "events": events, "moves": moves, "changes": changes}
        print_json({**told_data, "kept_from_before": old})
        return
    counts = told.counts(chosen.kind, chosen.tree_id)
    say(written(session.style, file, chosen.kind, len(events), counts))
    if old:
        say(stays(session.style, file, program()))
    say(session.style.say(CALENDAR["reminders"]))


def _places(session: Session, to: str | None, *, stop: bool, as_data: bool) -> None:
    """Write to a place from now on, or no more; without one, list them."""
    from calendar_core.app.calendar.places import add_place, file_name, places_of, stop_place

    words = session.style.say
    given = sys.stdin.readline(LONGEST).strip() if to == TYPED else to
    if given is not None and stop:
        say(words(PLACES["stopped"], place=stop_place(session, given)))
        return
    if stop:
        raise Refusal(
            "--stop: of which place is not said; right would be with --to and its folder or address"
        )
    if given is not None:
        place, sending = add_place(session, given)
        files = ", ".join(file_name(of) for of in sending.written)
        say(words(PLACES["written"], place=place.place, files=files))
        return
    found = places_of(session)
    if as_data:
        shown = ("place", "added_at", "why_failing")
        print_json([{name: getattr(one, name) for name in shown} for one in found])
        return
    if not found:
        say(words(PLACES["none"]))
    for one in found:
        state = words(PLACES["failing"], why=one.why_failing) if one.why_failing else words(PLACES["well"])
        say(f"{one.place}  {state}")


def _asked(session: Session, file: Path, kind: str | None, tree: str | None) -> CalendarFile | None:
    """Return the calendar that is asked for; None where the file's own is."""
    if kind is None and tree is None:
        return None
    of = asked_kind(session, kind or "tree", tree)
    return CalendarFile(str(file.expanduser().resolve()), of.kind, of.tree_id)


def asked_kind(session: Session, kind: str, tree: str | None) -> CalendarOf:
    """Return the calendar of a kind and, of the kind tree, of a label. Raises Refusal."""
    known = known_kind(kind)
    if known != "tree":
        if tree is not None:
            raise Refusal(f"--tree goes with the kind tree, not with {kind}")
        return CalendarOf(known)
    if tree is None:
        raise Refusal("--kind tree: whose is not said; right would be with --tree and its label")
    whose = named_trees(session, tree)
    if len(whose) != 1:
        raise Refusal(f"--tree {tree}: names {len(whose)} trees; right would be one")
    return CalendarOf("tree", whose[0].id)


def known_kind(kind: str) -> CalendarKind:
    """Return a kind of calendar. Raises Refusal where there is none of that name."""
    known = kind_named(kind)
    if known is None:
        raise Refusal(f"--kind {kind}: no such calendar; right would be one of {', '.join(KINDS)}")
    return known
