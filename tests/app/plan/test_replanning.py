"""A plan that goes on from an earlier one is the plan that is made anew."""

from __future__ import annotations

import shutil
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import pytest

from calendar_core.app.log.entries import entry, write
from calendar_core.app.plan.replanning import LastingSession
from calendar_core.app.shell.session import Session, open_session
from calendar_core.planning.items import place_in_plan
from calendar_core.storage import gardens
from tests.app.conftest import DAY

if TYPE_CHECKING:
    from pathlib import Path

    from calendar_core.planning.items import Plan


def told(plan: Plan) -> object:
    """Return a plan with what has no order in an order."""
    absent = sorted(
        plan.not_planned, key=lambda each: (str(each.tree_id), each.operation, each.rule, each.cycle)
    )
    return sorted(plan.items, key=place_in_plan), absent, dict(plan.stages), dict(plan.middles), plan.weather


@pytest.mark.parametrize("written", ["work", "look", "answer", "move", "of the garden", "nothing"])
def test_it_is_the_same_whatever_was_written(midsummer: Path, tmp_path: Path, written: str) -> None:
    """The reference is the planner itself, over the whole garden."""
    copy = shutil.copy(midsummer, tmp_path / "garden.db")
    asked = open_session(str(copy), None, date.fromisoformat(DAY))
    before = LastingSession(asked.store, asked.garden, asked.clock)
    assert before.plan.items
    item = next(item for item in before.plan.items if item.status == "due")
    tree = [tree for tree in asked.trees if tree.id == item.tree_id]
    spot = next(spot for spot in asked.spots if spot != asked.states[tree[0].id].spot)
    kinds: dict[str, tuple[str, dict[str, object]]] = {
        "work": ("work", {"operation": "cut back"}),
        "look": ("seen", {"stage": "not yet leaves_hardened"}),
        "answer": ("answer", {"item": str(item.id), "answer": "not this cycle"}),
        "move": ("state", {"spot": str(spot)}),
    }
    if written in kinds:
        kind, data = kinds[written]
        write(asked, entry(asked, tree, kind, data, asked.today))  # type: ignore[arg-type]
    elif written == "of the garden":
        write(asked, entry(asked, [], "hours", {"weekly": [30] * 7}, asked.today))
    unplanned = before.followed_by(asked.clock, asked.garden)  # nobody asked it for a plan
    after = unplanned.followed_by(asked.clock, asked.garden)
    assert after.before is before
    assert told(after.plan) == told(Session(asked.store, asked.garden, asked.clock).plan)


def test_a_tree_that_is_gone_leaves_nothing_behind(midsummer: Path, tmp_path: Path) -> None:
    asked = open_session(str(shutil.copy(midsummer, tmp_path / "garden.db")), None, date.fromisoformat(DAY))
    before = LastingSession(asked.store, asked.garden, asked.clock)
    assert before.plan.items
    write(asked, entry(asked, [asked.trees[0]], "gone", {"why": "died"}, asked.today))
    after = before.followed_by(asked.clock, asked.garden)
    assert told(after.plan) == told(Session(asked.store, asked.garden, asked.clock).plan)


def test_what_is_not_of_the_log_makes_all_be_planned_anew(midsummer: Path, tmp_path: Path) -> None:
    """A forecast that came after the plan, or a spot that was changed, must not be missed until midnight."""
    asked = open_session(str(shutil.copy(midsummer, tmp_path / "garden.db")), None, date.fromisoformat(DAY))
    before = LastingSession(asked.store, asked.garden, asked.clock)
    assert before.plan.items
    spot = next(iter(asked.spots.values()))
    with asked.store.begin() as connection:
        gardens.update_spot(connection, replace(spot, cloth_percent=80))
    after = before.followed_by(asked.clock, asked.garden)
    assert after.plan.items
    assert after.weather is not before.weather
    assert after.spots[spot.id].cloth_percent == 80


def test_what_is_written_while_it_is_planned_does_not_lose_what_stood_before(midsummer: Path) -> None:
    asked = open_session(str(midsummer), None, date.fromisoformat(DAY))
    planned = LastingSession(asked.store, asked.garden, asked.clock)
    assert planned.plan.items
    being_planned = planned.followed_by(asked.clock, asked.garden)
    assert being_planned.followed_by(asked.clock, asked.garden).before is planned
