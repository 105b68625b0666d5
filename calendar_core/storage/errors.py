"""The one error of this room."""

from __future__ import annotations


class StoreError(Exception):
    r"""What went wrong, where, and what would be right, in one line fit to be shown.

    >>> str(StoreError("garden.db: the disk is full\n  [SQL: ...]"))
    'garden.db: the disk is full'
    """

    def __init__(self, message: str) -> None:
        super().__init__(message.strip().partition("\n")[0])
