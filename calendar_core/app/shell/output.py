"""Printing: plain aligned text, wrapped to the terminal; JSON where asked for. No colour outside a terminal."""

from __future__ import annotations

import json
import os
import re
import sys
import textwrap
from functools import cache
from shutil import get_terminal_size
from typing import TYPE_CHECKING

from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.json_text import as_json
from calendar_core.app.shell.program import program

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from rich.console import Console

    from calendar_core.app.shell.receipt import Receipt

ItemRow = tuple["Sequence[str]", "Sequence[str]", "Sequence[str]"]
"""Cells of an item, what it is and the facts of it, each from the fullest to the shortest."""
WIDEST = 100
ITEM_LINES = 2


def line(text: str = "", style: str = "") -> None:
    """Print a line as it is. Style is for terminals; others need not wait until what makes it is loaded."""
    if sys.stdout.isatty():
        _terminal().print(text, style=style)
        return
    try:
        print(text, flush=True)  # noqa: T201 - this is where the program prints
    except BrokenPipeError:  # the reader has seen enough: end without a word and without a fault
        _print_no_more()
        raise SystemExit(0) from None
    except OSError as error:
        _print_no_more()
        raise Refusal(
            f"what is printed is not taken ({error.strerror}); right would be a place with room"
        ) from None


def _print_no_more() -> None:
    """Let what is still to be printed go nowhere: Python prints the rest of it as it ends."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


@cache
def _terminal() -> Console:
    from rich.console import Console

    return Console(highlight=False, emoji=False, markup=False, soft_wrap=True)


def width() -> int:
    """Return the width text is wrapped to."""
    return min(get_terminal_size().columns, WIDEST) if sys.stdout.isatty() else WIDEST


GLUE = "\u00a0"
LOOSE, FAST = " °", f"{GLUE}°"  # a degree sign stays with its number


def say(text: str = "", indent: int = 0, *, hanging: int = 0, urgent: bool = False) -> None:
    """Print a paragraph, wrapped and indented."""
    for paragraph in text.splitlines() or [""]:
        line(_wrapped(paragraph, indent, hanging, width()), "bold red" if urgent else "")


def tell(receipt: Receipt) -> None:
    """Print what was written, and what there is to note of it."""
    for sentence in receipt.told:
        say(sentence)
    for note in receipt.notes:
        say(note, indent=2, hanging=2)


def rows(text: str, indent: int = 0, *, hanging: int = 0) -> int:
    """Return how many lines a paragraph takes."""
    return len(_wrapped(text, indent, hanging, width()).splitlines())


def folded(text: str, indent: int = 0, *, hanging: int = 0, most: int = WIDEST) -> list[str]:
    """Return a paragraph as the lines that `say` would print, at most so many signs wide."""
    return _wrapped(text, indent, hanging, min(width(), most)).splitlines()


def _wrapped(paragraph: str, indent: int, hanging: int, most: int) -> str:
    return textwrap.fill(
        paragraph.replace(LOOSE, FAST),
        most,
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
    line(_wrapped(text, 0, 2, width()), "bold")


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


def items(rows: Sequence[ItemRow], indent: int = 2, *, hanging: int = 0, whole: bool = False) -> None:
    """Print items in two lines at most: cells in columns, then what each is, the fullest that goes in, and its fact.

    Where it is to be told as ``whole`` as it can be, its fact is left out rather than any of it.
    """
    if not rows:
        return
    widths = [max(map(len, column)) for column in zip(*(cells for cells, _, _ in rows), strict=True)]
    start = indent + sum(widths) + 2 * len(widths)
    for cells, told, facts in rows:
        head = " " * indent + "".join(cell.ljust(size + 2) for cell, size in zip(cells, widths, strict=True))
        first, *more = fitted(told, facts, width() - start - hanging, whole=whole)
        line(head + first)
        for rest in more:
            line(" " * (start + hanging) + rest)


def fitted(told: Sequence[str], facts: Sequence[str], room: int, *, whole: bool = False) -> list[str]:
    """Return an item in one line or two of so many signs: of what it is and of its facts the fullest that goes in.

    >>> fitted(["Repot: Maple 1", "Repot: 1"], ["bud swell about 12 March"], 40)
    ['Repot: Maple 1; bud swell about 12 March']
    >>> fitted(["Repot: Maple 1 and Maple 2", "Repot: Maple 1 and 1 more"], ["bud swell about 12 March"], 25)
    ['Repot: Maple 1 and 1 more', 'bud swell about 12 March']
    """
    ways = _whole(told, facts, room) if whole else _short(told, facts, room)
    fit = (way for way in ways if len(way) <= ITEM_LINES and max(map(len, way)) <= room)
    return next(fit, [textwrap.shorten(told[-1], room, placeholder=" …")])


def _short(told: Sequence[str], facts: Sequence[str], room: int) -> Iterator[list[str]]:
    for fact in facts:
        yield from (_apart(text, fact, room) for text in told)
        yield from (_broken(f"{text}; {fact}", room) for text in told)
    yield from (_broken(text, room) for text in told)


def _whole(told: Sequence[str], facts: Sequence[str], room: int) -> Iterator[list[str]]:
    for text in told:
        for fact in facts:
            yield _apart(text, fact, room)
            yield _broken(f"{text}; {fact}", room)
        yield _broken(text, room)


def _apart(text: str, fact: str, room: int) -> list[str]:
    beside = f"{text}; {fact}"
    return [beside] if len(beside) <= room else [text, fact]


def _broken(text: str, room: int) -> list[str]:
    glued = re.sub(r"(?<=\d) (?=°|min\b|h\b)", GLUE, text)
    lines = textwrap.wrap(glued, room, break_long_words=False, break_on_hyphens=False)
    return [some.replace(GLUE, " ") for some in lines]


def print_json(data: object) -> None:
    """Print any of the program's values as JSON: dates in ISO 8601, ids as text."""
    line(json.dumps(as_json(data), indent=2, ensure_ascii=False))
