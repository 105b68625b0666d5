"""What this room raises: one error, and the kind of it for a value that does not fit."""

from __future__ import annotations

from sqlalchemy.exc import DontWrapMixin

SILENT = "the server does not answer"


class StoreError(Exception):
    r"""What went wrong, where, and what would be right, in one line fit to be shown.

    >>> str(StoreError("garden.db: the disk is full\n  [SQL: ...]"))
    'garden.db: the disk is full'
    """

    def __init__(self, message: str) -> None:
        super().__init__(message.strip().partition("\n")[0])


class UnfitValueError(DontWrapMixin, StoreError):
    """A value that a column may not hold."""
