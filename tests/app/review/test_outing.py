"""The walk that is on: its trees stay the same as one after the other is looked at."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from calendar_core.app.review.asked import Asked
from calendar_core.app.review.found import found_today
from calendar_core.app.review.looks import Typed, answers_of, write_look
from calendar_core.app.review.outing import looked_today, outing, round_ahead
from calendar_core.app.review.visits import Visits
from calendar_core.app.shell.session import open_session
from tests.app.conftest import run

if TYPE_CHECKING:
    from pathlib import Path

DAY = date(2015, 9, 20)  # a Sunday of the demo's late summer round


def test_a_walk_keeps_its_trees(tmp_path: Path) -> None:
    """Planned before it, after each of its looks, or before them while the plan is made anew."""
    assert run("demo", "--out", str(tmp_path / "d"), "--today", DAY.isoformat()).status == 0
    file = str(tmp_path / "d" / "garden.db")
    session = open_session(file, None, DAY)
    first = round_ahead(session)
    planned = outing(first, looked_today(session))
    assert planned.looked == ()
    assert planned.count > 3
    assert planned.later
    trees = [stop.tree_id for stop in planned.left]
    for place, tree in enumerate(trees, 1):
        session = open_session(file, None, DAY)
        part = session.part([each for each in session.trees if each.id == tree])
        visits = Visits(part, DAY)
        asked = Asked(part, visits.visit(part.trees[0]))
        said = {
            q.key: q.options[0] if q.options else "good" for q in asked.questions if q.answer == "good or bad"
        }
        write_look(part, visits, asked, answers_of(asked, Typed(said | {"vigour": "3"}), yes=False))
        again = open_session(file, None, DAY)
        looked = looked_today(again)
        assert set(looked) == set(trees[:place])
        for found in (first, round_ahead(again)):
            now = outing(found, looked)
            assert [stop.tree_id for stop in now.left] == trees[place:]
            assert now.count == len(trees)
            assert (now.next_stop(()) is None) is (place == len(trees))
    told = found_today(open_session(file, None, DAY), trees)
    assert all("vigour 3" in " ".join(sentences) for _, _, sentences in told)
