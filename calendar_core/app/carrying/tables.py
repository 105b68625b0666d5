"""Tables as CSV that a spreadsheet shows and never reckons with: no cell can be taken for a formula.

A text that a spreadsheet would take for one gets an apostrophe before it, and so does one that begins with
an apostrophe: taking one away gives every text back. Numbers stay as they are. The signs are those of
OWASP, "CSV Injection".
"""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    Cell = str | float | None

SHIELD = "'"
_FORMULA = frozenset("=+-@\t\r\n＝＋－＠|%")


class TableError(Exception):
    """A table cannot be read; the message says where and what would be right."""


def shielded(text: str) -> str:
    """Return a text as no spreadsheet reckons with it.

    >>> shielded("=1+1"), shielded("Maple 1"), shielded("'old' maple")
    ("'=1+1", 'Maple 1', "''old' maple")
    """
    first = text.lstrip()[:1] or text[:1]
    return SHIELD + text if first in _FORMULA or text.startswith(SHIELD) else text


def unshielded(text: str) -> str:
    """Return the text as it was.

    >>> unshielded(shielded("=1+1"))
    '=1+1'
    """
    return text.removeprefix(SHIELD)


def table(header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    """Return a table as CSV (RFC 4180); None is an empty cell."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(header)
    writer.writerows([shielded(cell) if isinstance(cell, str) else cell for cell in row] for row in rows)
    return out.getvalue()


def rows_of(text: str, header: Sequence[str]) -> Iterator[tuple[int, dict[str, str]]]:
    """Yield the line on which each row ends and its cells by column; the columns may be in any order.

    Raises
    ------
    TableError
        When columns are missing or unknown, or a row has too few or too many cells, or a quote has no end.
    """
    delimiter = max(
        ",;\t", key=text.partition("\n")[0].count
    )  # some spreadsheets store another than they read
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        columns = [name.strip() for name in next(reader, [])]
        if sorted(columns) != sorted(header):
            raise TableError(f"line 1: columns {', '.join(columns)}; right would be {', '.join(header)}")
        for row in reader:
            if any(row):
                if len(row) != len(columns):
                    raise TableError(
                        f"line {reader.line_num}: has {len(row)} cells; right would be {len(columns)}"
                    )
                yield reader.line_num, dict(zip(columns, map(unshielded, row), strict=True))
    except csv.Error as error:
        raise TableError(f"line {reader.line_num}: {error}; right would be a row of CSV") from None
