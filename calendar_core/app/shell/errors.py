"""Refusals: what was asked cannot be done, in one clear line or several."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path


class Refusal(Exception):  # noqa: N818 - it refuses; nothing went wrong inside
    """Printed line by line; the program then ends with status 2. Nothing was written."""

    def __init__(self, *lines: str) -> None:
        super().__init__("\n".join(lines))
        self.lines = lines


class DoubtRefusal(Refusal):
    """What may be an error of whoever wrote it: ``doubts`` say why, and ``how`` tells what to add to be believed."""

    def __init__(self, doubts: Sequence[str], how: str) -> None:
        super().__init__(*(f"{doubt}{how}" for doubt in doubts))
        self.doubts = tuple(doubts)


@contextmanager
def faults_of(file: Path | None) -> Iterator[None]:
    """Put the file whose content is refused before each line; without one the lines stand as they are."""
    try:
        yield
    except Refusal as refusal:
        if file is None:
            raise
        raise Refusal(*(f"{file}: {line}" for line in refusal.lines)) from None
