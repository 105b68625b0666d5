"""The command line: what is asked, who answers it, and how refusals are shown."""

from __future__ import annotations

import atexit
import gc
import io
import logging
import os
import re
import sys
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import typer

from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.session import default_database
from calendar_core.knowledge.profiles.errors import KnowledgeError
from calendar_core.storage.copy_folder import way_back
from calendar_core.storage.errors import StoreError

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

NAME = "leafclock"
_UsageError: type[Exception] = typer.BadParameter.__mro__[1]
"""What typer raises for words that it cannot read; it names only kinds of it."""
REFUSED = 2
ABORTED, STOPPED = 1, "stopped before anything was done"  # the status is typer's
_OBEYED = re.compile(
    r"[\x00-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]"
)  # by a terminal: controls, turns of direction
LONGEST = 2000  # signs of a refusal: who pastes a book is not sent it back (estimate)

SUBJECTS = {
    "app.work.commands.today": "today",
    "app.first_day.commands.start": "start demo places",
    "app.garden.commands.spot": "spot",
    "app.garden.commands.tree": "tree",
    "app.knowledge.commands": "species audit choices about",
    "app.weather.commands": "weather place",
    "app.log.commands.log": "log seen wish",
    "app.answers.commands.answer": "answer",
    "app.log.commands.parts": "part measure before history",
    "app.work.commands.due": "due",
    "app.work.commands.what_if": "what-if",
    "app.plan.commands": "plan why stages changes",
    "app.work.commands.rota": "rota hours away",
    "app.work.commands.feeding": "fertilize",
    "app.work.commands.ahead": "repotting show sitter",
    "app.review.commands.group": "review",
    "app.calendar.commands.calendar": "calendar",
    "app.calendar.commands.address": "address",
    "app.warnings.commands.warn": "warn",
    "app.watching.commands": "watch",
    "app.warnings.commands.channel": "channel",
    "app.carrying.commands": "export import backup restore",
    "app.keys.commands": "key",
    "pages.commands": "serve",
}
"""The modules of calendar_core that print, with their commands, in the order of the help."""


FIRST = "today"  # what is told without a command


def command_line(words: Sequence[str]) -> typer.Typer:
    """Return the commands that ``words`` may mean: those of one module, or all for the help.

    Loading only what is asked for halves the time of a command.
    """
    first = next((word for word in words if not word.startswith("-")), "")
    asked = [module for module, commands in SUBJECTS.items() if first in commands.split()]
    app = typer.Typer(
        name=NAME,
        help="A seasonal care calendar for bonsai: dated, explained work from local weather and daylight. "
        "Without a command it tells what to do today.",
        no_args_is_help=True,
        add_completion=False,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
    )
    app.callback()(lambda: None)  # with one command alone typer would drop its name
    for module in asked or SUBJECTS:
        import_module(f"calendar_core.{module}").register(app)
    return app


def main() -> None:
    """Run the command line; a refusal is printed in clear lines and ends with status 2, what nobody foresaw with 70."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="replace")  # what a terminal cannot show must not end the program
    gc.disable()  # a command ends before there is garbage worth a search; searching takes a tenth of its time
    atexit.register(gc.freeze)  # nor at its end, where it would take as much again
    words, notices = _words(sys.argv[1:]), _Notices()
    logging.getLogger("leafclock").addHandler(notices)
    status = 0
    try:
        status = command_line(words)(words, prog_name=NAME, standalone_mode=False) or 0
    except _UsageError as error:
        _refuse_use(error)
    except typer.Abort:  # what was asked was not answered
        _refuse(["Aborted"], ABORTED)
    except Refusal as refusal:
        _refuse(refusal.lines)
    except KnowledgeError as error:
        _refuse(error.faults)
    except StoreError as error:
        _refuse([str(error)])
    except KeyboardInterrupt:  # while the command was being loaded: once it runs, typer ends it in a word
        _refuse([STOPPED], ABORTED)
    except Exception as error:  # noqa: BLE001 - whatever it is, it is told in a line
        from calendar_core.app.shell.faults import UNFORESEEN, told

        _refuse([told(error, words)], UNFORESEEN)
    finally:
        gc.enable()
        logging.getLogger("leafclock").removeHandler(notices)
    sys.exit(status)


class _Notices(logging.Handler):
    """Tells what a command came upon beside its own work, each once: on standard error, so that data stays clean."""

    def __init__(self) -> None:
        super().__init__()
        self._told: set[str] = set()

    def emit(self, record: logging.LogRecord) -> None:
        line = record.getMessage()
        if line not in self._told:
            self._told.add(line)
            _tell(line)


def _words(words: Sequence[str]) -> list[str]:
    """Return what is asked: without a command the first screen, where there is a database to read it from."""
    named = any(word.partition("=")[0] in ("--db", "--garden", "--today", "--json") for word in words[:1])
    if named or (not words and _has_database()):
        return [FIRST, *words]
    return list(words)


def _has_database() -> bool:
    where = os.environ.get("LEAFCLOCK_DB") or str(default_database())
    if "://" in where or Path(where).expanduser().exists():
        return True
    return bool(way_back(Path(where).expanduser()))  # it was there once: what is asked says so


def _refuse(lines: Iterable[str], status: int = REFUSED) -> NoReturn:
    for line in lines:
        _tell(line)
    sys.exit(status)


def _refuse_use(error: Any) -> NoReturn:
    """Refuse words that are no command, in a line; a group without one is answered with its help."""
    where = NAME if error.ctx is None else error.ctx.command_path
    said = str(error.format_message())
    if said.startswith("Usage:"):
        error.show()
        sys.exit(REFUSED)
    _refuse([f"{' '.join(said.split()).rstrip('.')}; see: {where} --help"])


def _tell(line: str) -> None:
    """Write a line to standard error. What was typed is repeated, but never obeyed by the terminal."""
    shown = _OBEYED.sub(lambda sign: repr(sign[0])[1:-1], line)
    sys.stderr.write(f"leafclock: {shown if len(shown) <= LONGEST else shown[:LONGEST] + ' ...'}\n")
