"""Keeping a garden safe and taking it along: ``export``, ``import``, ``backup``, ``restore``."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path
from typing import Annotated

import typer

from calendar_core.app.shell.files import DATABASE, look_first
from calendar_core.app.shell.options import Db, GardenName
from calendar_core.app.shell.output import command, say
from calendar_core.app.shell.session import default_database, open_database, open_session
from calendar_core.storage import gardens
from calendar_core.storage.copies import back_up, restore, sqlite_file
from calendar_core.storage.engine import open_store
from calendar_core.storage.errors import StoreError
from calendar_core.storage.whole import Added, add_whole, read_whole
from calendar_core.wording.garden.carrying_text import ADDED, COPIES, EXPORTED, added_line, differing, holds
from calendar_core.wording.style import Style

Folder = Annotated[Path, typer.Argument(metavar="FOLDER")]


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command()(export)
    app.command("import")(import_folder)
    app.command()(backup)
    app.command("restore")(restore_database)


def export(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="A new or empty folder, or an earlier export.")
    ],
    exact: Annotated[
        bool, typer.Option("--exact", help="Take everything, with exact coordinates; keep it private.")
    ] = False,
    db: Db = None,
    garden: GardenName = None,
) -> None:
    """Write the garden as JSON and CSV for spreadsheets, other programs or another device.

    Without --exact its place is rounded to 0.1 degree, and the weather service's days and what the calendar told stay
    out.
    """
    from calendar_core.app.carrying.exporting import files_of, places_named, rounded, write_folder

    session = open_session(db, garden, None)
    with session.store.read() as connection:
        whole = read_whole(connection, session.garden)
    given = whole if exact else rounded(whole)
    files = files_of(given, exact=exact)
    write_folder(folder, files, session.garden.id, private=exact)
    days = 0 if given.own is None else len(given.own.days)
    style = session.style
    say(holds(style, folder, len(given.trees), len(given.entries), days))
    say(style.say(EXPORTED["without"]))
    if exact:
        say(style.say(EXPORTED["exact"]))
        return
    say(style.say(EXPORTED["rounded"]))
    for name in places_named(whole, files):
        say(style.say(EXPORTED["named"], name=name))


def import_folder(folder: Folder, db: Db = None) -> None:
    """Bring in an exported garden; where it is known already, what is missing is added.

    Nothing that is stored changes: of two devices' logs each gets what the other has.
    """
    from calendar_core.app.carrying.importing import read_folder

    whole = read_folder(folder)
    where = db if db is not None else str(default_database())
    is_new = "://" not in where and not Path(where).expanduser().exists()
    with closing(open_database(db)) as store:  # made only now: a refusal leaves no file behind
        try:
            with store.begin() as connection:
                added = add_whole(connection, whole)
        except StoreError as error:
            if is_new:
                store.close()
                for end in ("", "-wal", "-shm"):
                    Path(f"{Path(where).expanduser()}{end}").unlink(missing_ok=True)
            raise StoreError(f"{folder}: {error}") from None
    _tell(whole.garden.name, added)


def _tell(name: str, added: Added) -> None:
    style = Style()
    counts = {"spots": added.spots, "trees": added.trees, "entries": added.entries, "days": added.days}
    say(added_line(style, name, counts, new=added.new))
    if added.differing:
        say(differing(style, added.differing))
    for place in added.left_out:
        say(style.say(ADDED["left_out"], place=place))


def backup(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Where to write the copy.")],
    replace: Annotated[bool, typer.Option("--replace", help="Write over a file that is there.")] = False,
    db: Db = None,
) -> None:
    """Copy the whole database exactly, also while it is in use."""
    database = sqlite_file(db or default_database(), "pg_dump --format=custom")
    target = file.expanduser().resolve()
    look_first(file.expanduser(), DATABASE)
    back_up(database, target, replace=replace)
    words = Style().say
    say(words(COPIES["made"], file=file, database=database, mb=f"{target.stat().st_size / 1e6:.1f}"))
    say(words(COPIES["private"]))
    command("restore", str(file))


def restore_database(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A copy made with 'leafclock backup'.")],
    replace: Annotated[
        bool, typer.Option("--replace", help="Take the place of the database, which is kept beside it.")
    ] = False,
    db: Db = None,
) -> None:
    """Put a copy back as the database; an older one is brought up to date."""
    database = sqlite_file(db or default_database(), "pg_restore")
    kept = restore(file.expanduser().resolve(), database, replace=replace)
    with closing(open_store(database)) as store, store.read() as connection:
        names = ", ".join(f"'{garden.name}'" for garden in gardens.list_gardens(connection))
    words = Style().say
    gardens_in = names or words(COPIES["no_garden"])
    say(words(COPIES["restored"], database=database, file=file, gardens=gardens_in))
    if kept is not None:
        say(words(COPIES["kept"], kept=kept))
    say(words(COPIES["both_warn"]))
