"""The walk that is on: its trees in order, those that were looked at today, and those that are left."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING

from calendar_core.app.plan.walks import ReviewPlan, days_for_walks, review_plan, stops
from calendar_core.garden.state import valid_entries
from calendar_core.planning.review.depth import Pace
from calendar_core.storage import log

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence
    from datetime import date
    from uuid import UUID

    from calendar_core.app.shell.session import Session
    from calendar_core.planning.review.walks import Stop


@dataclass(frozen=True)
class RoundAhead:
    """What is to be looked at, as it was planned: the walks, and the trees whose round is on in the order of those.

    ``walk`` are those of the next walk. A walk of today may take ``minutes``, of which looks took ``spent`` when this was
    planned, as long as they usually take. The next round ``opens`` on a day, None where none is known.
    """

    plan: ReviewPlan
    stops: tuple[Stop, ...]
    walk: tuple[Stop, ...]
    minutes: float
    spent: float
    opens: date | None


@dataclass(frozen=True)
class Outing:
    """A walk under way: the trees that were ``looked`` at today, those ``left`` of it, and those of ``later`` walks."""

    looked: tuple[UUID, ...]
    left: tuple[Stop, ...]
    later: tuple[Stop, ...]

    @property
    def count(self) -> int:
        """How many trees the walk has."""
        return len(self.looked) + len(self.left)

    @property
    def minutes(self) -> float:
        """How long the rest of it takes."""
        return sum(stop.minutes for stop in self.left)

    def next_stop(self, passed: Collection[UUID]) -> Stop | None:
        """Return the first tree that is left and was not passed over, None where there is none."""
        return next((stop for stop in self.left if stop.tree_id not in passed), None)


def round_ahead(session: Session) -> RoundAhead:
    """Return what is to be looked at."""
    found, today = review_plan(session), session.today
    ordered = [*(stop for walk in found.round.walks for stop in walk.stops), *found.round.left]
    walks = [tuple(stop for stop in walk.stops if stop.window.opens <= today) for walk in found.round.walks]
    here = days_for_walks(session, 1, begun=False)[0].minutes
    after = next((walk.day.minutes for walk in found.round.walks if walk.on > today), 0)
    return RoundAhead(
        found,
        tuple(stop for stop in ordered if stop.window.opens <= today),
        next(filter(None, walks), ()),
        here or after or inf,  # on a day without time the next walk is taken earlier
        _spent(session),
        min((stop.window.opens for stop in stops(session) if stop.window.opens > today), default=None),
    )


def _spent(session: Session) -> float:
    """Return how long today's looks usually take [min]."""
    states, known = session.grove.states, session.knowledge.review.minutes
    pace = Pace(states, {tree.id: tree.species for tree in session.trees}, known)
    return sum(
        pace.minutes(tree, state, review.timed_as or review.depth)
        for tree, state in states.items()
        for review in state.reviews
        if review.on == session.today
    )


def looked_today(session: Session) -> tuple[UUID, ...]:
    """Return the trees that were looked at today, in the order in which that was written."""
    with session.store.read() as connection:
        found = log.entries_of_kind(connection, session.garden.id, "review", session.today)
    taken = [
        entry
        for entry in valid_entries(found, session.today)
        if entry.happened == session.today and not entry.data.get("broken_off")
    ]
    ordered = sorted(taken, key=lambda entry: entry.recorded_at)
    return tuple(dict.fromkeys(tree for entry in ordered for tree in entry.tree_ids))


def outing(found: RoundAhead, looked: Sequence[UUID]) -> Outing:
    """Return the walk under way: what was planned may have been so before the last of its looks was written.

    Until a tree was looked at it is the next walk of the plan; then as many of the trees that follow as its time allows.
    """
    ahead = [stop for stop in found.stops if stop.tree_id not in looked]
    if not looked:
        left = list(found.walk)
    else:
        room = found.minutes - found.spent
        room -= sum(stop.minutes for stop in found.stops if stop.tree_id in looked)
        left = []
        for stop in ahead:
            room -= stop.minutes
            if room < 0:
                break
            left.append(stop)
    return Outing(tuple(looked), tuple(left), tuple(stop for stop in ahead if stop not in left))
