"""The command line: what is asked, who answers it, and how refusals are shown."""

from __future__ import annotations

import sys

import typer

from calendar_core.app.commands import garden, log, plan, publish, start, weather
from calendar_core.app.errors import Refusal
from calendar_core.species.loading import KnowledgeError
from calendar_core.storage.errors import StoreError

REFUSED = 2

app = typer.Typer(
    name="leafclock",
    help="A seasonal care calendar for bonsai: dated, explained work from local weather and daylight.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
for module in (start, garden, weather, log, plan, publish):
    module.register(app)


def main() -> None:
    """Run the command line; a refusal is printed in clear lines and ends with status 2."""
    try:
        app()
    except Refusal as refusal:
        _refuse(refusal.lines)
    except KnowledgeError as error:
        _refuse(error.faults)
    except StoreError as error:
        _refuse((str(error),))
    except BrokenPipeError:  # the reader of a pipe went away: nothing is wrong
        sys.stderr.close()


def _refuse(lines: tuple[str, ...] | list[str]) -> None:
    for line in lines:
        sys.stderr.write(f"leafclock: {line}\n")
    sys.exit(REFUSED)
