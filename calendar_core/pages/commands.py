"""``serve``: the pages, and the jobs of ``watch``, until stopped."""

from __future__ import annotations

from typing import Annotated

import typer

from calendar_core.app.shell.options import Db, GardenName, Today, day_or_none


def register(app: typer.Typer) -> None:
    """Add the command of this module."""
    app.command()(serve)


def serve(
    host: Annotated[
        str, typer.Option(metavar="ADDRESS", help="Where to listen; this machine alone, if not given.")
    ] = "127.0.0.1",
    port: Annotated[int, typer.Option(min=0, max=65535, help="0 takes any that is free.")] = 8420,
    name: Annotated[
        list[str] | None,
        typer.Option(metavar="NAME", help="A name under which the pages are asked for; may come again."),
    ] = None,
    jobs: Annotated[
        bool, typer.Option("--jobs/--no-jobs", help="Fetch weather, judge, warn and send as well.")
    ] = True,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
) -> None:
    """Show the pages to a browser, and judge and warn as watch does, until stopped."""
    from calendar_core.pages.running import Listening, run

    run(Listening(host, port, tuple(name or ())), db, garden, day_or_none(today), jobs=jobs)
