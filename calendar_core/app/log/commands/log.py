"""What was done, seen and wished: ``log``, ``seen``, ``wish``."""

from __future__ import annotations

from typing import Annotated

import typer

from calendar_core.app.log.entries import happened
from calendar_core.app.log.history import log_speaker, logged
from calendar_core.app.log.lines import lines_of
from calendar_core.app.log.sightings import write_sighting
from calendar_core.app.log.voids import void_named
from calendar_core.app.log.work_entries import write_lines, write_wish, write_work
from calendar_core.app.shell.named import EVER, named_trees, operation_named
from calendar_core.app.shell.options import Day, Db, GardenName, Json, OnDay, Today, day_or_none, one_day
from calendar_core.app.shell.output import columns, print_json, say, tell
from calendar_core.app.shell.session import Session, open_session
from calendar_core.wording.garden.log_text import WRITTEN
from calendar_core.wording.sentences import tree_list

Trees = Annotated[
    str, typer.Argument(metavar="TREE", help="A label; several parted by commas; a species; or all.")
]


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command()(log)
    app.command()(seen)
    app.command()(wish)


def log(
    trees: Annotated[
        str | None,
        typer.Argument(metavar="TREE", help="A label; several parted by commas; a species; or all."),
    ] = None,
    operation: Annotated[str | None, typer.Argument(metavar="OPERATION", help="What was done.")] = None,
    day: Day = None,
    on_day: OnDay = None,
    part: Annotated[
        list[str] | None,
        typer.Option(metavar="NAME", help="A part it was done to, or that begins with it; may come again."),
    ] = None,
    height: Annotated[float | None, typer.Option(help="Of a new part: mm above the soil.")] = None,
    side: Annotated[str, typer.Option(help="Of a new part: front, left, back, right, or in words.")] = "",
    share: Annotated[
        str | None, typer.Option(metavar="PERCENT", help="How much of the foliage it took, such as 60%.")
    ] = None,
    values: Annotated[
        list[str] | None,
        typer.Option(
            "--measure", metavar="WHAT=MM", help="Measured with it, such as width=17; may come again."
        ),
    ] = None,
    regret: Annotated[str, typer.Option(help="What you would not do again: shown before the next cut.")] = "",
    note: Annotated[str, typer.Option(help="Anything worth remembering.")] = "",
    yes: Annotated[
        bool, typer.Option("--yes", help="It was done all the same, or the number is right.")
    ] = False,
    lines: Annotated[
        str | None,
        typer.Option(
            metavar="FILE|-",
            help="Write many entries at once, a line each: 'Maple 2: cut back; share=60%' (see the README).",
        ),
    ] = None,
    void: Annotated[str | None, typer.Option(metavar="ENTRY", help="Void an entry written in error.")] = None,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """Write down work that was done, or list the log.

    Without an operation the entries of the tree (or of all trees) are listed.
    """
    session = open_session(db, garden, day_or_none(today))
    if void is not None:
        tell(void_named(session, void))
    elif lines is not None:
        tell(write_lines(session, lines_of(lines), yes=yes))
    elif operation is None:
        _list(session, trees, as_data=as_data)
    else:
        on = happened(session, one_day(day, on_day))
        which, key = named_trees(session, trees or "", on), operation_named(session, operation)
        details = {"note": note, "regret": regret, "share": share}
        place, parts = {"height_mm": height, "side": side}, part or ()
        tell(
            write_work(
                session,
                which,
                key,
                on,
                details=details,
                parts=parts,
                values=values or (),
                place=place,
                yes=yes,
            )
        )


def _list(session: Session, trees: str | None, *, as_data: bool) -> None:
    entries = logged(session, None if trees is None else named_trees(session, trees, EVER))
    if as_data:
        print_json(entries)
        return
    if not entries:
        say(session.style.say(WRITTEN["nothing"]))
    speaker = log_speaker(session)
    columns(
        [
            (
                e.id.hex[:8],
                e.happened.isoformat(),
                ": ".join(
                    filter(
                        None,
                        [
                            tree_list([session.labels[t] for t in session.labels if t in e.tree_ids]),
                            speaker.told(e),
                        ],
                    )
                ),
            )
            for e in entries
        ],
        indent=0,
    )


def seen(
    trees: Trees,
    stage: Annotated[
        str,
        typer.Argument(
            metavar="STAGE", help="What was seen, such as 'bud break'; 'closed' for buds still closed."
        ),
    ],
    day: Day = None,
    on_day: OnDay = None,
    not_yet: Annotated[bool, typer.Option("--not-yet", help="Looked, and it had not come.")] = False,
    yes: Annotated[bool, typer.Option("--yes", help="The day is right, however odd it looks.")] = False,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
) -> None:
    """Write down a stage you saw; dates of the tree are learned from it."""
    session = open_session(db, garden, day_or_none(today))
    on = happened(session, one_day(day, on_day))
    which = named_trees(session, trees, on)
    tell(write_sighting(session, which, stage, on, not_yet=not_yet, yes=yes))


def wish(
    trees: Trees,
    operation: Annotated[str, typer.Argument(metavar="OPERATION", help="What you would like to do.")],
    anyway: Annotated[bool, typer.Option("--anyway", help="Also beside another heavy job.")] = False,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
) -> None:
    """Ask for work that is possible but not due; it enters the plan when its window allows."""
    session = open_session(db, garden, day_or_none(today))
    which, key = named_trees(session, trees), operation_named(session, operation)
    tell(write_wish(session, which, key, anyway=anyway))
