"""Printing: plain aligned text, wrapped to the terminal; JSON where asked for. No colour outside a terminal."""

from __future__ import annotations

import json
import os
import sys
import textwrap
from functools import cache
from pathlib import Path
from shutil import get_terminal_size
from typing import TYPE_CHECKING, TypeVar

from calendar_core.app.shell.json_text import as_json

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import Console

T = TypeVar("T")
WIDEST = 100


def line(text: str = "", style: str = "") -> None:
    """Print a line as it is. Style is for terminals; others need not wait until what makes it is loaded."""
    if sys.stdout.isatty():
        _terminal().print(text, style=style)
        return
    try:
        print(text, flush=True)  # noqa: T201 - this is where the program prints
    except BrokenPipeError:  # the reader has seen enough: end without a word and without a fault
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        raise SystemExit(0) from None


@cache
def _terminal() -> Console:
    from rich.console import Console

    return Console(highlight=False, emoji=False, markup=False, soft_wrap=True)


def program() -> str:
    """Return the program as it was called, to be called again: ``leafclock``, or with its folder."""
    return sys.argv[0] if Path(sys.argv[0]).name == "leafclock" else "leafclock"


def width() -> int:
    """Return the width text is wrapped to."""
    return min(get_terminal_size().columns, WIDEST) if sys.stdout.isatty() else WIDEST


LOOSE, FAST = " °", "\u00a0°"  # a degree sign stays with its number


def say(text: str = "", indent: int = 0, *, hanging: int = 0, urgent: bool = False) -> None:
    """Print a paragraph, wrapped and indented."""
    for paragraph in text.splitlines() or [""]:
        line(_wrapped(paragraph, indent, hanging), "bold red" if urgent else "")


def rows(text: str, indent: int = 0, *, hanging: int = 0) -> int:
    """Return how many lines a paragraph takes."""
    return len(_wrapped(text, indent, hanging).splitlines())


def _wrapped(paragraph: str, indent: int, hanging: int) -> str:
    return textwrap.fill(
        paragraph.replace(LOOSE, FAST),
        width(),
        initial_indent=" " * indent,
        subsequent_indent=" " * (indent + hanging),
        break_long_words=False,
        break_on_hyphens=False,
    ).replace(FAST, LOOSE)


def command(*words: str, indent: int = 2) -> None:
    """Print a command on a line of its own, never wrapped: it can be copied."""
    line(command_text(*words, indent=indent))


def command_text(*words: str, indent: int = 2) -> str:
    """Return a command as it can be copied."""
    return " " * indent + " ".join((program(), *words))


def heading(text: str) -> None:
    """Print a heading."""
    line()
    line(text, "bold")


def columns(rows: Sequence[Sequence[str]], indent: int = 2) -> None:
    """Print rows as aligned columns; the last column wraps."""
    if not rows:
        return
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]) - 1)]
    start = indent + sum(widths) + 2 * len(widths)
    for row in rows:
        head = " " * indent + "".join(cell.ljust(size + 2) for cell, size in zip(row, widths, strict=False))
        body = textwrap.wrap(
            row[-1], max(width() - start, 24), break_long_words=False, break_on_hyphens=False
        ) or [""]
        line((head + body[0]).rstrip())
        for rest in body[1:]:
            line(" " * start + rest)


def print_json(data: object) -> None:
    """Print any of the program's values as JSON: dates in ISO 8601, ids as text."""
    line(json.dumps(as_json(data), indent=2, ensure_ascii=False))
