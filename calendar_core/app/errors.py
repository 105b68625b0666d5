"""Refusals: what was asked cannot be done, in one clear line or several."""

from __future__ import annotations


class Refusal(Exception):  # noqa: N818 - it refuses; nothing went wrong inside
    """Printed line by line; the program then ends with status 2. Nothing was written."""

    def __init__(self, *lines: str) -> None:
        super().__init__("\n".join(lines))
        self.lines = lines
