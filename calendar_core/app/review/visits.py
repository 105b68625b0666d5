"""Visits: which look of which round the answers about a tree belong to, and what was written down at it before."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from typing import TYPE_CHECKING
from uuid import UUID

from calendar_core.app.log.entries import entry
from calendar_core.app.plan.walks import first_frosts, items_by_tree, windows_since
from calendar_core.app.shell.errors import Refusal
from calendar_core.garden.state import states, valid_entries
from calendar_core.planning.review.depth import Pace, why_full

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Entry, Tree
    from calendar_core.garden.state import Reviewed, TreeState
    from calendar_core.knowledge.words import LookDepth, RoundName
    from calendar_core.planning.items import Item

STILL = timedelta(days=31)
"""How long after its round a look is still written into it (estimate: a sheet lies on the desk for some weeks)."""


@dataclass(frozen=True)
class Visit:
    """The look at a tree in a round, written down on a day.

    ``written`` are the entries that it left already; ``now`` is what the log says of the tree with them, ``before`` the
    garden of this tree alone without them: what is sent again or corrected is held against what was known when asked.
    ``then`` is what the log said on the day itself, without them, and ``items`` what the plan had then: what was asked.
    ``planned`` is what the plan has today.
    """

    tree: Tree
    round: RoundName
    cycle: int
    depth: LookDepth
    on: date
    items: tuple[Item, ...]
    planned: tuple[Item, ...]
    written: tuple[Entry, ...]
    then: TreeState
    now: TreeState
    before: Session

    @property
    def state(self) -> TreeState:
        """What the log says of the tree without what was answered at this look."""
        return self.before.states[self.tree.id]

    @property
    def marked(self) -> tuple[Entry, ...]:
        """The entries that say which questions they answer: all but those of the look itself."""
        return tuple(logged for logged in self.written if logged.kind != "review")

    @property
    def reviewed(self) -> Reviewed | None:
        """What is written of the look itself, be it broken off."""
        return _of_round((*self.now.reviews, *self.now.broken_off), self.round, self.cycle)

    @property
    def taken(self) -> bool:
        """Whether the look counts as taken."""
        return _of_round(self.now.reviews, self.round, self.cycle) is not None


class Visits:
    """The visits of a garden that are written down on a day.

    What is asked is what was to be asked on that day; what was reviewed before it was another look.
    """

    def __init__(self, session: Session, on: date) -> None:
        self.session, self.on = session, on
        self.planned = items_by_tree(session)
        self.past = session if on == session.today else session.as_of(on)
        self.items = self.planned if self.past is session else items_by_tree(self.past)
        self.ids = set[UUID]()
        self.moment = session.clock.now  # later than every entry
        self.log: dict[UUID, list[Entry]] = {tree.id: [] for tree in session.every_tree}
        self.add(session.entries)

    def add(self, entries: Iterable[Entry]) -> None:
        """Take in entries that were stored."""
        for logged in entries:
            self.ids.add(logged.id)
            self.moment = max(self.moment, logged.recorded_at + timedelta(seconds=1))
            for tree in logged.tree_ids:
                self.log.setdefault(tree, []).append(logged)

    def visit(self, tree: Tree) -> Visit:
        """Return the look at a tree that is written down. Raises Refusal where its round is not on."""
        joined = min((e.happened for e in self.log[tree.id] if e.kind == "state"), default=self.on)
        if self.on < joined:
            raise Refusal(
                f"{tree.label} joined on {joined}; right would be a day from then on, not {self.on}"
            )
        log = self.log[tree.id]
        now = states([tree.id], log, self.session.today)[tree.id]
        name, cycle = self._round(tree, now)
        valid = valid_entries(log, self.session.today)
        written = tuple(logged for logged in valid if _answers(logged, name, cycle))
        then = states([tree.id], [e for e in valid if e not in written], self.on)[tree.id]
        before = self.session.part([tree])
        if written:
            voids = [entry(before, [tree], e.kind, {}, self.session.today, voids=e.id) for e in written]
            before.suppose(voids)
        items = tuple(self.items[tree.id])
        there = _of_round((*now.reviews, *now.broken_off), name, cycle)
        # One that counts as a glance, though a full look was asked, may still become full.
        full = there is not None and there.depth == "full"
        full = full or bool(why_full(then, items, self.session.knowledge, self.on))
        depth: LookDepth = "full" if full else "glance"
        return Visit(
            tree, name, cycle, depth, self.on, items, tuple(self.planned[tree.id]), written, then, now, before
        )

    def shares(self, visits: Iterable[Visit], minutes: float) -> dict[UUID, float]:
        """Return the minutes of a walk, shared over its trees by how long each was to take."""
        some = list(visits)
        known = {**self.session.states, **{visit.tree.id: visit.state for visit in some}}
        species = {tree.id: tree.species for tree in self.session.every_tree}
        pace = Pace(known, species, self.session.knowledge.review.minutes)
        usual = {visit.tree.id: pace.minutes(visit.tree.id, visit.state, visit.depth) for visit in some}
        return {tree: round(minutes * one / sum(usual.values()), 1) for tree, one in usual.items()}

    def _round(self, tree: Tree, now: TreeState) -> tuple[RoundName, int]:
        """Return the round that a look is of.

        It is the one in which the tree was looked at on that day or later, or that was broken off: what is sent
        again stays where it is, though what was written may have moved the tree's stages. Else it is the round that is
        on, or the last one if it is hardly over. Raises Refusal.
        """
        near = [r for r in (*now.reviews, *now.broken_off) if abs(r.on - self.on) <= STILL]
        again = [review for review in near if review.on >= self.on or review in now.broken_off]
        if again:
            return _nearest(again, self.on)
        windows = windows_since(self.past, tree, self._frosts, self.on - STILL)
        begun = [window for window in windows if window.opens <= self.on]
        before = {(review.round, review.cycle) for review in now.reviews}
        ahead = [w for w in begun if w.closes >= self.on and (w.round, w.cycle) not in before]
        if ahead or (begun and not near):
            window = ahead[0] if ahead else begun[-1]
            return window.round, window.cycle
        if near:
            return _nearest(near, self.on)
        opens = f"; its next round opens about {windows[0].opens}" if windows else ""
        raise Refusal(f"{tree.label} is in no round on {self.on}{opens}")

    @cached_property
    def _frosts(self) -> tuple[date, ...]:
        return first_frosts(self.past)


def _nearest(reviews: Iterable[Reviewed], on: date) -> tuple[RoundName, int]:
    nearest = min(reviews, key=lambda review: abs(review.on - on))
    return nearest.round, nearest.cycle


def _of_round(reviews: Iterable[Reviewed], name: RoundName, cycle: int) -> Reviewed | None:
    return next((review for review in reviews if (review.round, review.cycle) == (name, cycle)), None)


def _answers(logged: Entry, name: RoundName, cycle: int) -> bool:
    """Tell whether an entry was written at a look."""
    where: Mapping[str, object] = logged.data if logged.kind == "review" else logged.data.get("asked", {})
    return (where.get("round"), where.get("cycle")) == (name, cycle)
