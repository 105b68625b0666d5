"""Progress of long work, and notices: they go to the error stream, beside what is printed."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

T = TypeVar("T")


def notice(text: str) -> None:
    """Write a line beside the output proper, where a reader of data is not disturbed by it."""
    sys.stderr.write(f"leafclock: {text}\n")


def progress(things: Sequence[T], title: str, *, quiet: bool = False) -> Iterable[T]:
    """Return things to go through, and show on a terminal how many are done."""
    if quiet or not sys.stderr.isatty():
        return things
    from rich.console import Console
    from rich.progress import track

    return track(things, title, console=Console(stderr=True), transient=True)
