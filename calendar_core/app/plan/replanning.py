"""A plan that goes on from an earlier one of the same day: only trees of which something was written are planned anew."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from threading import Lock
from typing import TYPE_CHECKING

from calendar_core.app.plan.kept_plan import made_for
from calendar_core.app.shell.lazy import lazy
from calendar_core.app.shell.session import Session
from calendar_core.planning.items import place_in_plan

if TYPE_CHECKING:
    from collections.abc import Set as AbstractSet
    from uuid import UUID

    from calendar_core.app.shell.clock import Clock
    from calendar_core.garden.model import Garden
    from calendar_core.planning.items import Plan


@dataclass
class LastingSession(Session):
    """A session for one who asks again and again: it takes from the one ``before`` what still holds.

    That a tree's items do not depend on the other trees is what makes this right.
    """

    before: LastingSession | None = None
    rests_on: str = field(default="", init=False)
    _planning: Lock = field(default_factory=Lock, init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Mark all that plans rest on but the log, before anything of it is read: what changes later makes another mark."""
        with self.store.read() as connection:
            self.rests_on = made_for(self, connection)

    def followed_by(self, clock: Clock, garden: Garden) -> LastingSession:
        """Return a session that goes on from this one, or from the last one that was planned."""
        before = self if "plan" in self.__dict__ else self.before
        return LastingSession(self.store, garden, clock, before)

    @lazy
    def plan(self) -> Plan:
        """The plan of today, worked out by the first of those who ask."""
        with self._planning:
            made: Plan = self.__dict__.get("plan") or self._planned()
            self.__dict__["plan"], self.before = made, None
            return made

    def _planned(self) -> Plan:
        before = self.before
        if before is None or "plan" not in before.__dict__ or before.rests_on != self.rests_on:
            return self.plan_anew()
        changed = self._changed(before)
        if changed is None:
            return self.plan_anew()
        self.__dict__["weather"] = before.weather
        some = [tree for tree in self.trees if tree.id in changed]
        kept = {tree.id for tree in self.trees} - changed
        return merged(before.plan, self.part(some).plan if some else None, kept)

    def _changed(self, before: LastingSession) -> set[UUID] | None:
        """Return the trees of which something was written since, None where it is about all of them."""
        known = {entry.id for entry in before.entries}
        new = [entry for entry in self.entries if entry.id not in known]
        if len(self.entries) - len(new) != len(before.entries) or any(not entry.tree_ids for entry in new):
            return None
        joined = {tree.id for tree in self.trees if tree not in before.trees}
        return joined | {tree for entry in new for tree in entry.tree_ids}


def merged(before: Plan, anew: Plan | None, kept: AbstractSet[UUID]) -> Plan:
    """Return a plan of the trees that are ``kept`` as they were, and of those that were planned ``anew``."""
    new = anew or replace(before, items=(), not_planned=(), stages={}, middles={})
    items = [*(item for item in before.items if item.tree_id in kept), *new.items]
    return replace(
        new,
        items=tuple(sorted(items, key=place_in_plan)),
        not_planned=(*(absent for absent in before.not_planned if absent.tree_id in kept), *new.not_planned),
        stages={tree: found for tree, found in before.stages.items() if tree in kept} | dict(new.stages),
        middles={tree: found for tree, found in before.middles.items() if tree in kept} | dict(new.middles),
    )
