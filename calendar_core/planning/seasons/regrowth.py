"""Leaves that grow again: what took them, and how long no more leaves or wood are cut."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

from calendar_core.planning.items import Reason
from calendar_core.planning.seasons.foliage import foliage_on, took_leaves

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from calendar_core.garden.state import TreeState
    from calendar_core.knowledge.forms.operations import Operation
    from calendar_core.knowledge.forms.spacing import SpacingRules
    from calendar_core.knowledge.forms.species.profile import Profile
    from calendar_core.knowledge.forms.species.work import Work
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.planning.items import StageDate
    from calendar_core.planning.waits import Held

CUTS = ("leaves", "wood")  # what work takes that waits for new leaves


def regrowth(
    state: TreeState, stages: Sequence[StageDate], profile: Profile, knowledge: Knowledge
) -> list[Held]:
    """Return for each work that took leaves when new ones may be hard, with the reason; nothing where none come again.

    The weeks are the least of the profile's: eight in most, as long as its works wait after full defoliation, which
    is common practice. A bare tree loses no leaves. Conifers of one flush have no such weeks: what they lost comes with
    the next, and their heavy cuts stand seasons apart.
    """
    times, never_worked = profile.aftercare, replace(state, done=[])
    if times.releaf_weeks is None:
        return []
    weeks = times.releaf_weeks.low + times.hardening_weeks.low
    basis, source = times.releaf_weeks.basis, times.releaf_weeks.source or ""
    taken = [done for done in state.done if took_leaves(done, knowledge.operations, knowledge.spacing)]
    return [
        (
            done.on + timedelta(weeks=weeks),
            Reason("leaves_back", done.operation, done.on, weeks, "wk", basis=basis, source=source),
        )
        for done in taken
        if foliage_on(done.on, stages, never_worked, profile, knowledge.exposure) != "none"
    ]


def held_for_leaves(
    work: Work, held: Sequence[Held], operations: Mapping[str, Operation], spacing: SpacingRules
) -> Iterator[Held]:
    """Yield what holds a work that cuts, of some regrowth; after what its profile or its recovery speaks of, that counts."""
    if operations[work.operation].takes not in CUTS:
        return
    known = {hold.after for hold in work.holds}
    for end, reason in held:
        recovery = spacing.recovery.get(reason.subject)
        lets = recovery.lets if recovery is not None else ()
        if reason.subject not in known and work.operation not in lets:
            yield end, reason
