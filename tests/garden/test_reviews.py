"""Looks of a round in a tree's state: pieces of one look are one, and one that was broken off counts once it is whole."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID

from calendar_core.garden.model import Entry
from calendar_core.garden.state import TreeState, states

TREE = UUID(int=2)


def state(*pieces: tuple[int, dict[str, Any]]) -> TreeState:
    """Return the state after pieces of the late summer look of 2015, each with its day of September."""
    look = {"round": "late summer", "cycle": 2015, "depth": "full"}
    entries = [
        Entry(
            UUID(int=100 + place), UUID(int=1), (TREE,), date(2015, 9, day), datetime(2015, 9, day, 18, place, tzinfo=UTC),
            "owner", "review", {**look, **data},
        )
        for place, (day, data) in enumerate(pieces)
    ]  # fmt: skip
    return states([TREE], entries, date(2015, 12, 31))[TREE]


def test_the_later_piece_adds_to_the_first_and_corrects_it() -> None:
    found = state(
        (20, {"answers": {"drainage": 20.0, "pot": "good"}, "minutes": 5}), (27, {"answers": {"pot": "bad"}})
    )
    (look,) = found.reviews
    assert (look.on, look.minutes, dict(look.answers)) == (
        date(2015, 9, 20),
        5.0,
        {"drainage": 20.0, "pot": "bad"},
    )


def test_a_look_that_is_broken_off_counts_once_the_rest_is_there() -> None:
    begun = (20, {"answers": {"drainage": 20.0}, "broken_off": True})
    found = state(begun)
    assert (found.reviews, [dict(look.answers) for look in found.broken_off]) == ([], [{"drainage": 20.0}])
    found = state(begun, (27, {"answers": {"pot": "bad"}}))
    assert [dict(look.answers) for look in found.reviews] == [{"drainage": 20.0, "pot": "bad"}]
    assert found.broken_off == []


def test_a_piece_that_comes_after_the_whole_look_does_not_undo_it() -> None:
    found = state(
        (20, {"answers": {"drainage": 20.0}}), (27, {"answers": {"pot": "bad"}, "broken_off": True})
    )
    assert (len(found.reviews), found.broken_off) == (1, [])
