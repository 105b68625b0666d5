"""Trees that are gone: from their day on, by the first entry that holds."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any
from uuid import UUID

from calendar_core.garden.departures import Gone, departures
from calendar_core.garden.model import Entry
from calendar_core.garden.state import states

if TYPE_CHECKING:
    from calendar_core.garden.model import EntryKind

DAY = date(2015, 5, 3)
ONE, OTHER = UUID(int=101), UUID(int=102)


def entry(
    number: int, kind: EntryKind = "gone", days: int = 0, voids: int | None = None, **data: Any
) -> Entry:
    """An entry of two trees, so many days after the first; those with larger numbers are written later."""
    at = datetime(2015, 6, 1, 12, tzinfo=UTC) + timedelta(seconds=number)
    wrong, on = None if voids is None else UUID(int=voids), DAY + timedelta(days=days)
    return Entry(UUID(int=number), UUID(int=0), (ONE, OTHER), on, at, "owner", kind, data, voids=wrong)


def test_a_tree_is_gone_from_its_day_on() -> None:
    sold = entry(1, why="sold", note="to Ines")
    assert departures([sold], DAY - timedelta(days=1)) == {}
    gone = Gone(DAY, "sold", sold.id, "to Ines")
    assert departures([sold, entry(2, "work", operation="repot")], DAY) == {ONE: gone, OTHER: gone}


def test_of_several_entries_the_first_that_holds_counts() -> None:
    died, sold = entry(1, why="died"), entry(2, days=2, why="sold")
    assert departures([sold, died], DAY + timedelta(days=5))[ONE].why == "died"
    void = entry(3, days=3, voids=1)
    assert departures([sold, died, void], DAY + timedelta(days=5))[ONE].why == "sold"
    assert departures([died, void], DAY + timedelta(days=2))[ONE].why == "died"
    assert departures([died, void], DAY + timedelta(days=3)) == {}


def test_the_state_of_a_tree_is_not_touched_by_its_going() -> None:
    log = [entry(1, "state", aim="refinement"), entry(2, why="died")]
    assert states([ONE], log, DAY)[ONE].aim == "refinement"
