"""Options that many commands share, and reading days."""

from __future__ import annotations

from datetime import date
from typing import Annotated

import typer

from calendar_core.app.shell.days import day_of
from calendar_core.app.shell.errors import Refusal


def read_day(text: str) -> date:
    """Return a day written as 2015-06-24. Raises Refusal for anything else."""
    try:
        return day_of(text)
    except ValueError as error:
        raise Refusal(str(error)) from None


def day_or_none(text: str | None) -> date | None:
    """Return the day, or None where none is given."""
    return None if text is None else read_day(text)


def one_day(day: str | None, on: str | None) -> str | None:
    """Return the day that was typed, by its place or with ``--on``. Raises Refusal for two."""
    if day and on and day != on:
        raise Refusal(f"two days are given, {day} and {on}; right would be one")
    return on or day


Db = Annotated[
    str | None,
    typer.Option(
        "--db",
        metavar="FILE|URL",
        envvar="LEAFCLOCK_DB",
        help="Database to use.",
        show_default="one file in your data folder",
        show_envvar=False,
    ),
]
GardenName = Annotated[
    str | None,
    typer.Option("--garden", metavar="NAME", help="Garden in the database.", show_default="the only one"),
]
Today = Annotated[
    str | None, typer.Option("--today", metavar="DAY", help="Plan as of this day.", show_default="today")
]
Json = Annotated[bool, typer.Option("--json", help="Print data as JSON.")]
OnDay = Annotated[str | None, typer.Option("--on", metavar="DAY", help="The day, also as an option.")]
Day = Annotated[str | None, typer.Argument(metavar="[DAY]", help="The day, if not today.")]
SomeTrees = Annotated[
    str, typer.Argument(metavar="[TREE]", help="Labels parted by commas, a species, or all.")
]
