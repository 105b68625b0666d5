"""What this room raises: one error, and the kind of it for a value that does not fit."""

from __future__ import annotations

from sqlalchemy.exc import DontWrapMixin

LONGEST_SHOWN = 60  # signs of a value
SILENT = "the server does not answer"


class StoreError(Exception):
    r"""What went wrong, where, and what would be right, in one line fit to be shown.

    >>> str(StoreError("garden.db: the disk is full\n  [SQL: ...]"))
    'garden.db: the disk is full'
    """

    def __init__(self, message: str) -> None:
        super().__init__(message.strip().partition("\n")[0])


class NotNowError(StoreError):
    """The database cannot be used as things stand: it is locked, full, or away; the same may go well later."""


class UnreadableError(Exception):
    """What a column holds and this program never wrote there; ``holds`` says what belongs there."""

    def __init__(self, value: object, holds: str) -> None:
        shown = repr(value)
        shown = shown if len(shown) <= LONGEST_SHOWN else f"{shown[:LONGEST_SHOWN]}..."
        super().__init__(f"holds {shown} where {holds} belongs")


class UnfitValueError(DontWrapMixin, StoreError):
    """A value that a column may not hold."""
