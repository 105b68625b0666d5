"""Trees that are added as a page sends them: pasted, or as the text of a table; sent again, they stand once."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING
from uuid import UUID

import pytest

from calendar_core.app.garden.adding import add_pasted, add_table
from calendar_core.app.garden.spots import SpotWords, change_spot
from calendar_core.app.garden.tree_entries import change_trees, part_with
from calendar_core.app.log.voids import void
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.options import read_day
from calendar_core.app.shell.session import Session, open_session
from tests.app.conftest import DAY

if TYPE_CHECKING:
    from tests.app.conftest import Program

SENT = UUID("b1a7c1de-51f5-4b13-8a1c-0f2d8f9b7a01")  # invented


def _session() -> Session:
    return open_session("garden.db", None, read_day(DAY))


def _labels() -> list[str]:
    return [tree.label for tree in _session().trees]


def test_pasted_trees_that_are_sent_twice_stand_once(garden: Program) -> None:
    before = _labels()
    told = add_pasted(_session(), "2 Chinese elm small\nblack pine", SENT, aim="ramification").told
    assert len(_labels()) == len(before) + 3
    assert "Chinese elm" in told[0]
    add_pasted(_session(), "2 Chinese elm small\nblack pine", SENT)
    assert len(_labels()) == len(before) + 3


def test_a_table_is_read_from_its_text_and_its_faults_name_its_file(garden: Program) -> None:
    before = _labels()
    name = Path("bench.csv")
    add_table(_session(), "species;label;aim\nChinese elm;Elm at the gate;trunk\n", name, SENT)
    assert "Elm at the gate" in _labels()
    with pytest.raises(Refusal, match=r"bench.csv line 2: aim: found 'beauty'; right would be"):
        add_table(_session(), "species,label,aim\nChinese elm,Other,beauty\n", name)
    assert len(_labels()) == len(before) + 1


def test_a_change_and_a_departure_are_taken_back_by_their_receipts(garden: Program) -> None:
    session = _session()
    tree, state = session.trees[0], session.states[session.trees[0].id]
    changed = change_trees(session, [tree], session.today, aim="trunk", vigour="4", pot_litres="2.5")
    after = _session().states[tree.id]
    assert (after.aim, after.vigour, after.pot_litres) == ("trunk", 4, 2.5)
    gone = part_with(_session(), [tree], session.today, "died")
    assert tree.id in _session().gone
    void(_session(), gone.entries)
    void(_session(), changed.entries)
    assert tree.id not in _session().gone
    assert _session().states[tree.id].aim == state.aim


def test_a_spot_is_changed_as_it_was_checked(garden: Program) -> None:
    session = _session()
    (spot,) = session.spots.values()
    change_spot(session, spot.name, SpotWords(cloth_percent="40"), "  south bench ")
    (changed,) = _session().spots.values()
    assert (changed.name, changed.cloth_percent, changed.id) == ("south bench", 40, spot.id)
