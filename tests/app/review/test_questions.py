"""Questions that come and go with the log: pests at a glance, a part that was decided on."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest

from calendar_core.app.plan.walks import items_by_tree
from calendar_core.app.shell.session import open_session
from calendar_core.planning.review.checklist import checklist
from tests.app.review.entered import MAPLE, WALK, form, walked, with_parts

if TYPE_CHECKING:
    from calendar_core.knowledge.words import LookDepth

pytestmark = pytest.mark.usefixtures("walked")
__all__ = ["walked", "with_parts"]


def keys(label: str, depth: LookDepth) -> set[str]:
    """Return the keys of what is asked of a tree on the day of the walk."""
    session = open_session("garden.db", None, date.fromisoformat(WALK))
    tree = next(tree for tree in session.trees if tree.label == label)
    asked = checklist(
        tree.id, session.states[tree.id], session.knowledge.profiles[tree.species], items_by_tree(session)[tree.id],
        depth, "late summer", session.knowledge, session.today,
    )  # fmt: skip
    return {question.key for question in asked}


def test_a_glance_asks_for_the_pests_that_the_plan_looks_for_now() -> None:
    azalea = "Satsuki azalea 1"
    assert {"leaf gall", "lace bugs"} <= keys(azalea, "full")
    assert {"leaf gall", "lace bugs"} & keys(azalea, "glance") == {"leaf gall"}


def test_a_part_that_was_decided_on_is_asked_about_no_more() -> None:
    assert "first right keep" in keys(MAPLE, "full")
    form(f"{MAPLE}: vigour=4; first right keep=yes")
    assert "first right keep" not in keys(MAPLE, "full")
