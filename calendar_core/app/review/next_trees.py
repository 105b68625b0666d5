"""The trees that are looked at next, and those of the round that are left."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.app.plan.walks import review_plan, stops
from calendar_core.wording.review.enter_text import ASKING

if TYPE_CHECKING:
    from datetime import date

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree


def next_walk(session: Session, on: date) -> list[Tree]:
    """Return the trees of the next walk whose round is on, in order."""
    trees = {tree.id: tree for tree in session.trees}
    for walk in review_plan(session).round.walks:
        if some := [trees[stop.tree_id] for stop in walk.stops if stop.window.opens <= on]:
            return some
    return []


def left(session: Session, on: date) -> list[Tree]:
    """Return the trees of the round that are not looked at, in the order of its walks."""
    trees = {tree.id: tree for tree in session.trees}
    found = review_plan(session).round
    ordered = [*(stop for walk in found.walks for stop in walk.stops), *found.left]
    return [trees[stop.tree_id] for stop in ordered if stop.window.opens <= on]


def nothing_to_look_at(session: Session, on: date, *, only_open: bool) -> list[str]:
    """Return what is told where no tree is to be looked at, with when the next round opens."""
    style = session.style
    told = [style.say(ASKING["nothing_open" if only_open else "nothing_now"])]
    opens = min((stop.window.opens for stop in stops(session)), default=None)
    if opens is not None and opens > on:
        told.append(style.say(ASKING["nothing_ahead"], day=style.day(opens, session.today)))
    return told
