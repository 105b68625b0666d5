"""A plan that goes on from an earlier one of the same day: only trees of which something was written are planned anew."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

from calendar_core.app.plan.kept_plan import made_for
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

    def followed_by(self, clock: Clock, garden: Garden) -> LastingSession:
        """Return a session that goes on from this one, or from the last one that was planned."""
        before = self if "plan" in self.__dict__ else self.before
        return LastingSession(self.store, garden, clock, before)

    @cached_property
    def rests_on(self) -> str:
        """A mark of all that plans rest on but the log."""
        with self.store.read() as connection:
            return made_for(self, connection)

    @cached_property
    def plan(self) -> Plan:
        """The plan of today."""
        before, self.before = self.before, None
        if before is None or "plan" not in before.__dict__ or before.rests_on != self.rests_on:
            return self.plan_anew()
        changed = self._changed(before)
        if changed is None:
            return self.plan_anew()
        self.__dict__["weather"] = before.weather
        some = [tree for tree in self.trees if tree.id in changed]
        return merged(
            before.plan, self.part(some).plan if some else None, {tree.id for tree in self.trees} - changed
        )

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
    if anew is None:
        return replace(
            before,
            items=tuple(item for item in before.items if item.tree_id in kept),
            not_planned=tuple(absent for absent in before.not_planned if absent.tree_id in kept),
        )
    items = [*(item for item in before.items if item.tree_id in kept), *anew.items]
    return replace(
        anew,
        items=tuple(sorted(items, key=place_in_plan)),
        not_planned=(*(absent for absent in before.not_planned if absent.tree_id in kept), *anew.not_planned),
        stages={tree: found for tree, found in before.stages.items() if tree in kept} | dict(anew.stages),
        middles={tree: found for tree, found in before.middles.items() if tree in kept} | dict(anew.middles),
    )
