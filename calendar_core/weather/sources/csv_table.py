"""What every CSV file of weather is read with: its cells, its columns, its numbers, and its faults in lines."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass, field
from datetime import timedelta
from typing import TYPE_CHECKING

from calendar_core.weather.quality import Fault, Unit, is_missing_code

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

MOST_LINES = 20
"""So many faults are listed one by one; the others are counted."""

LONGEST = 600
"""Signs of a fault (estimate): as many as can be read at a glance, with the columns of most files."""

TO_CELSIUS: dict[Unit, Callable[[float], float]] = {
    "C": lambda t: t,
    "F": lambda t: (t - 32) / 1.8,
    "tenths": lambda t: t / 10,
}

LARGEST = 1e5
"""No day and no hour of weather is a larger number in any unit that is read: the wettest day has some 18,250 tenths of
mm."""

_EMPTY = frozenset({"", "na", "nan", "null", "none", "m", "-", "--"})
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?", re.IGNORECASE)
_BRACKETS = re.compile(r"[(\[].*?[)\]]")
_ZONE_AT_END = re.compile(r"[\W_]*(utc|gmt)[\s+\-−:\d]*$", re.IGNORECASE)


class BadWeatherFile(ValueError):  # noqa: N818 - reads as what it is where it is caught
    """The file is refused as a whole; ``lines`` says why, one fault a line."""

    def __init__(self, lines: Sequence[str]) -> None:
        super().__init__("\n".join(lines))
        self.lines = tuple(lines)


@dataclass(slots=True)
class Reading:
    """A file being read: how it is written, and the faults found so far."""

    name: str
    unit: Unit = "C"
    missing: frozenset[float] = frozenset()
    faults: list[str] = field(default_factory=list)

    def add(self, text: str, line: int | None = None) -> None:
        """Note a fault, of one line or of the file; of what fills a page only its ends are repeated."""
        if len(text) > LONGEST:
            text = f"{text[: LONGEST // 2]} ... {text[-LONGEST // 2 :]}"
        self.faults.append(f"{self.name}{'' if line is None else f' line {line}'}: {text}")

    def stop_on_faults(self) -> None:
        """Raise `BadWeatherFile` if there are any."""
        if self.faults:
            raise BadWeatherFile(capped(self.faults))


def names(text: str) -> frozenset[str]:
    """Return the names in a text, by which a column is known without brackets, case and signs."""
    return frozenset(text.split())


def table(text: str, reading: Reading, *, header: str) -> list[tuple[int, list[str]]]:
    """Split the text into numbered rows of cells, header first; ``header`` is an example of one."""
    numbered = [
        (n, line)
        for n, line in enumerate(text.removeprefix("\ufeff").splitlines(), 1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if not numbered:
        reading.add(f"is empty; right would be a header line such as {header}")
        return []
    delimiter = max(",;\t", key=numbered[0][1].count)
    # Line by line, so that a stray quotation mark spoils its own line only.
    return [(n, row) for n, line in numbered if (row := _cells(n, line, delimiter, reading)) is not None]


def _cells(n: int, line: str, delimiter: str, reading: Reading) -> list[str] | None:
    """Return the cells of a line; None, with the fault noted, where it is none of CSV."""
    try:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter))]
    except csv.Error as error:
        reading.add(f"{error}; right would be a line of CSV", n)
        return None


def pick_columns(
    header: list[str],
    named: Mapping[str, str],
    known: Mapping[str, frozenset[str]],
    reading: Reading,
    *,
    optional: frozenset[str],
) -> dict[str, int]:
    """Return the position of each of the ``known`` columns, by the name given or a usual one."""
    has = ", ".join(header)
    picked: dict[str, int] = {}
    for unknown in sorted(set(named) - set(known)):
        reading.add(f"column {unknown!r} cannot be chosen; right would be one of {', '.join(known)}")
    for column, usual in known.items():
        if column in named:
            at = [i for i, name in enumerate(header) if name == named[column]]
        else:
            at = [i for i, name in enumerate(header) if _plain(name) in usual]
        if len(at) == 1:
            picked[column] = at[0]
        elif at:
            several = ", ".join(header[i] for i in at)
            reading.add(f"{several} may all be {column}; right would be to name the one column")
        elif column in named:
            reading.add(f"has no column {named[column]!r} for {column}; right would be one of {has}")
        elif column not in optional:
            reading.add(f"no column looks like {column}; right would be to name it, one of {has}")
    return picked


def has_column(header: list[str], usual: frozenset[str]) -> bool:
    """Whether one of the usual names of a column stands in the header."""
    return any(_plain(name) in usual for name in header)


def _plain(name: str) -> str:
    """Strip a column name of units in brackets, zone, case and signs: "Max. temp (°C)" becomes "maxtemp"."""
    return re.sub(r"[^a-z0-9]", "", _ZONE_AT_END.sub("", _BRACKETS.sub("", name)).casefold())


def has_cells(line: int, cells: list[str], picked: Mapping[str, int], reading: Reading) -> bool:
    """Whether a row reaches to the last of the columns; a fault is noted if not."""
    wanted = max(picked.values()) + 1
    if len(cells) < wanted:
        reading.add(f"has {len(cells)} cells; right would be {wanted} or more", line)
    return len(cells) >= wanted


def number(text: str, column: str, line: int, reading: Reading) -> float:
    """Return the number as written, NaN where the cell is empty or a declared code."""
    if text.casefold() in _EMPTY:
        return float("nan")
    plain = text.replace(",", ".")
    if not _NUMBER.fullmatch(plain):
        reading.add(f"{column} {text!r:.60} is no number; right would be 12.5, say, or an empty cell", line)
        return float("nan")
    value = float(plain)
    if abs(value) > LARGEST:
        reading.add(
            f"{column} {text!r:.60} is beyond any weather; right would be 12.5, say, or an empty cell", line
        )
        return float("nan")
    if value in reading.missing:
        return float("nan")
    if is_missing_code(value, column):
        right = f"an empty cell, or {text} declared as the file's missing value"
        reading.add(f"{column} {text} looks like a code for not measured; right would be {right}", line)
        return float("nan")
    return value


def words(fault: Fault) -> str:
    """Say a fault of a daily series in one line."""
    what = f"{fault.column} {round(fault.value, 1):g} °C"
    last = fault.day + timedelta(days=fault.days - 1)
    when = f"{fault.day}" if fault.days == 1 else f"{fault.day} to {last} ({fault.days} days)"
    said = {
        "outside limits": f"{what} is beyond what any station has measured",
        "swapped": "t_min is above t_max on every day" if fault.days > 1 else f"{what} is above t_max",
        "wrong unit": f"{fault.value:.0f} °C on average is implausible, read in the declared unit",
        "spike": f"{when}, {what} stands alone; left out as a gap",
        "stuck": f"{when}, {what} never varies; left out as a gap",
        "gap": f"{when}, no weather; kept as a gap",
        "other source": f"{when}, {what} is far from what the weather service has; left out as a gap",
    }[fault.code]
    return f"{said}; right would be {fault.right}"


def capped(lines: Sequence[str]) -> list[str]:
    """Return the first `MOST_LINES` lines and how many more there are."""
    more = len(lines) - MOST_LINES
    return [*lines[:MOST_LINES], *([f"and {more} more"] if more > 0 else [])]
