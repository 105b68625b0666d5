"""A window as a strip through the months, in plain characters that every terminal shows."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

    from calendar_core.planning.items import Range

PER_MONTH = 4
MONTHS = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec"
LIKELY, PERHAPS, CLOSED = "#", ":", "."


def strip(opens: Range, closes: Range) -> str:
    """Return a window as 48 characters, a quarter of a month each, January first.

    Likely open from the likely opening to the likely closing, perhaps from the early to the late ones.

    Examples
    --------
    >>> from datetime import date
    >>> from calendar_core.planning.items import Range
    >>> april = Range(date(2015, 4, 1), date(2015, 4, 9), date(2015, 4, 20))
    >>> strip(april, Range(date(2015, 5, 1), date(2015, 5, 9), date(2015, 5, 20)))[10:22]
    '..:#####:...'
    """
    cells = [CLOSED] * 12 * PER_MONTH
    for first, last, sign in ((opens.early, closes.late, PERHAPS), (opens.likely, closes.likely, LIKELY)):
        for cell in range(_cell(first), min(_cell(last), _cell(first) + len(cells) - 1) + 1):
            cells[cell % len(cells)] = sign
    return "".join(cells)


def _cell(day: date) -> int:
    """Return the quarter of a month a day lies in, counted through the years."""
    return (day.year * 12 + day.month - 1) * PER_MONTH + min((day.day - 1) // 8, PER_MONTH - 1)
