"""Where a tree stands by its log."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from uuid import UUID

from calendar_core.garden.state import TreeState
from calendar_core.planning.places.moves import Stay
from calendar_core.planning.places.stays import stay_of, stays_of
from tests.planning.places.made_places import AXIS, FRAME, OPEN, ROOM

OTHER = replace(OPEN, id=UUID(int=90), name="shelf")
GONE = UUID(int=99)  # a spot that the garden has no more
SPOTS = {spot.id: spot for spot in (OPEN, OTHER, FRAME, ROOM)}
SPRING, AUTUMN, LATER = date(2015, 4, 1), date(2015, 11, 1), date(2015, 11, 20)


def state(*moves: tuple[date, UUID]) -> TreeState:
    return TreeState(spot=moves[-1][1] if moves else None, moves=list(moves))


def test_a_tree_of_which_no_spot_is_known_stands_in_the_open() -> None:
    for of in (state(), state((SPRING, GONE))):
        found = stay_of(of, SPOTS, AXIS)
        assert found == Stay(None, 0, None)
        assert found.place == "open"


def test_before_its_first_entry_it_stood_where_that_says() -> None:
    assert stay_of(state((AUTUMN, FRAME.id)), SPOTS, AXIS) == Stay(FRAME, 0, None)


def test_it_stands_there_since_its_conditions_changed_and_came_from_the_open() -> None:
    moved = state((SPRING, OPEN.id), (AUTUMN, FRAME.id))
    assert stay_of(moved, SPOTS, AXIS) == Stay(FRAME, AXIS.index(AUTUMN), OPEN)


def test_from_one_bench_to_another_is_no_other_stay_but_it_comes_home_to_the_last() -> None:
    moved = state((SPRING, OPEN.id), (AUTUMN, OTHER.id), (LATER, ROOM.id))
    assert stays_of(moved, SPOTS) == [(SPRING, OTHER), (LATER, ROOM)]
    assert stay_of(moved, SPOTS, AXIS).home == OTHER


def test_from_one_shelter_into_another_home_stays_the_bench() -> None:
    moved = state((SPRING, OPEN.id), (AUTUMN, FRAME.id), (LATER, ROOM.id))
    assert stay_of(moved, SPOTS, AXIS) == Stay(ROOM, AXIS.index(LATER), OPEN)
