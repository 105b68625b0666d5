"""``serve``: the pages, and the jobs of ``watch``, until stopped."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from calendar_core.app.shell.options import Db, GardenName, Today, day_or_none
from calendar_core.app.shell.output import line


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
    certificate: Annotated[
        Path | None, typer.Option(metavar="FILE", help="A certificate (PEM), to speak TLS without a proxy.")
    ] = None,
    certificate_key: Annotated[Path | None, typer.Option(metavar="FILE", help="The key to it (PEM).")] = None,
    jobs: Annotated[
        bool, typer.Option("--jobs/--no-jobs", help="Fetch weather, judge, warn and send as well.")
    ] = True,
    unit: Annotated[
        bool, typer.Option("--unit", help="Print a service file for systemd with these options, and end.")
    ] = False,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
) -> None:
    """Show the pages to a browser, and judge and warn as watch does, until stopped.

    Other machines need a key; how they reach the pages by TLS is told by: leafclock about serving
    """
    if unit:
        from calendar_core.pages.unit import service_file

        words = _words(host, port, tuple(name or ()), certificate, certificate_key, garden)
        for each in service_file([*words, *([] if jobs else ["--no-jobs"])], db).splitlines():
            line(each)
        return
    from calendar_core.pages.running import Listening, run

    where = Listening(host, port, tuple(each.lower() for each in name or ()), certificate, certificate_key)
    run(where, db, garden, day_or_none(today), jobs=jobs)


def _words(
    host: str,
    port: int,
    names: tuple[str, ...],
    certificate: Path | None,
    key: Path | None,
    garden: str | None,
) -> list[str]:
    """Return the options again, as a service needs them: files by their whole path."""
    found = ["--host", host, "--port", str(port)]
    for each in names:
        found += ["--name", each]
    for option, file in (("--certificate", certificate), ("--certificate-key", key)):
        found += [option, str(file.expanduser().resolve())] if file else []
    return [*found, *(["--garden", garden] if garden else [])]
