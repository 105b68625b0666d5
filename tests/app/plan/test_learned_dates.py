"""What was learned of a tree's dates: two plans, with and without what was seen of it."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest

from calendar_core.app.first_day.commands.demo import found_demo
from calendar_core.app.plan.learned_dates import learned_dates
from calendar_core.app.shell.session import Session, open_session
from tests.app.conftest import run

if TYPE_CHECKING:
    from pathlib import Path

TODAY = date(2015, 1, 10)


def garden(tmp_path: Path, *sights: tuple[str, str, str]) -> Session:
    """The demo's garden in a winter, with sights of earlier springs written down."""
    found_demo(tmp_path, TODAY).store.close()
    database = str(tmp_path / "garden.db")
    for tree, stage, day in sights:
        told = run("seen", tree, stage, day, "--db", database, "--today", str(TODAY), "--yes")
        assert told.status == 0, told.err
    return open_session(database, None, TODAY)


def test_of_a_tree_never_seen_nothing_was_learned(tmp_path: Path) -> None:
    session = garden(tmp_path)
    tree = next(tree for tree in session.trees if tree.label == "Maple 3")
    assert learned_dates(session, tree) == []


@pytest.mark.parametrize(
    ("days", "later"), [(("2013-03-01", "2014-03-02"), False), (("2013-04-20", "2014-04-21"), True)]
)
def test_a_tree_seen_early_comes_earlier_than_its_kind_and_is_known_better(
    tmp_path: Path, days: tuple[str, ...], later: bool
) -> None:
    session = garden(tmp_path, *(("Maple 3", "bud break", day) for day in days))
    tree = next(tree for tree in session.trees if tree.label == "Maple 3")
    own = session.plan.stages[tree.id]
    found = {date.stage: date for date in learned_dates(session, tree)}
    broke = found["bud_break"]
    assert (broke.later_days > 3) is later
    assert (broke.later_days < -3) is not later
    assert broke.narrower_days > 0
    assert any(stage.range == broke.own for stage in own if stage.stage == "bud_break")
    other = next(tree for tree in session.trees if tree.label == "Maple 5")
    usual = [stage.range for stage in session.plan.stages[other.id] if stage.stage == "bud_break"]
    assert broke.usual in usual
