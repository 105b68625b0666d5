"""Whoever asks why hears it: of all that a tree's kind knows, once, with when and where."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from calendar_core.planning.places import operations

if TYPE_CHECKING:
    from tests.app.conftest import Program

pytestmark = pytest.mark.slow

WHERE = ("--db", "nagano.db")
TREES = "camellia; jade; Japanese maple; larch; fig"  # invented
KNOWN = [getattr(operations, name) for name in ("INTO", "OUT", "UP", "DOWN", "LIGHT", "CHECK", "MAKE")]


@pytest.fixture
def nagano(leafclock: Program) -> Program:
    """Give five trees on a bench in Nagano."""
    start = ("start", *WHERE, "--place", "Nagano", "--today", "2026-09-01", "--trees", TREES)
    assert leafclock(*start).status == 0
    return leafclock


@pytest.mark.parametrize("day", ["2026-09-15", "2026-11-03", "2027-01-20", "2027-06-20"])
def test_every_operation_of_places_is_answered(nagano: Program, day: str) -> None:
    for operation in KNOWN:
        said = nagano("why", "all", operation, "--today", day, *WHERE)
        assert said.status == 0, (operation, said.err)
        for tree in ("Camellia 1", "Jade 1", "Japanese maple 1"):
            assert f", {tree}, cycle of " in said.out, operation


def test_too_late_to_make_a_place_is_said(nagano: Program) -> None:
    said = nagano("why", "Camellia 1", "winter place", "--today", "2026-11-03", *WHERE).out
    assert "the move into shelter itself is due by " in " ".join(said.split())


def test_a_move_that_was_made_tells_when_and_where_under_one_heading(nagano: Program) -> None:
    assert nagano("spot", "add", "shed", "--profile", "frost-free", *WHERE).status == 0
    nagano("tree", "change", "Camellia 1", "--spot", "shed", "--today", "2026-11-10", *WHERE)
    nagano("tree", "change", "Camellia 1", "--spot", "bench", "--today", "2026-12-05", *WHERE)
    said = nagano("why", "Camellia 1", "shelter in", "--today", "2027-01-05", *WHERE).out
    assert "It was moved on 10 November 2026, to “shed”." in said
    titles = [line for line in said.splitlines() if line.startswith("Move into shelter, Camellia 1")]
    assert len(titles) == len(set(titles))
    assert "Late since" in said or "Due." in said


def test_a_place_for_the_winter_says_what_it_protects_from_before_that(nagano: Program) -> None:
    said = " ".join(nagano("due", "--today", "2026-10-20", "--days", "14", *WHERE).out.split())
    place = said.partition("Make a place for the winter: ")[2]
    assert place.index("nights below") < place.index("needs a")


def test_a_sitter_is_not_sent_to_the_program(nagano: Program) -> None:
    page = nagano("sitter", "2026-10-20", "2026-11-20", "--today", "2026-10-19", *WHERE).out
    assert "Move into shelter" in page
    assert "leafclock" not in page


def test_a_place_that_is_to_be_made_is_told_how(nagano: Program) -> None:
    plan = " ".join(nagano("plan", "--long", "--today", "2026-10-20", *WHERE).out.split())
    place = plan.partition("Make a place for the winter: ")[2]
    assert "thermometer" in place.partition("[")[2][:400]
