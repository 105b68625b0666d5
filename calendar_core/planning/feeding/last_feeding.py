"""What a tree was fertilized with last, and how long that lasts: what is poured some weeks, cakes as long as they lie."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from calendar_core.knowledge.forms.operations import is_feeding
from calendar_core.planning.feeding.cakes import CAKES, cake_weeks, lying_since
from calendar_core.planning.items import Reason

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from calendar_core.garden.state import TreeState
    from calendar_core.knowledge.forms.feeding import FeedingRules
    from calendar_core.knowledge.forms.operations import Operation
    from calendar_core.knowledge.forms.species.profile import Profile
    from calendar_core.planning.waits import Held


def fed_until(
    state: TreeState, profile: Profile, rules: FeedingRules, operations: Mapping[str, Operation]
) -> tuple[Held, ...]:
    """Return until when what was given last lasts, with the reason; nothing where nothing was given."""
    return tuple(sorted(_lasting(state, profile, rules, operations), key=lambda held: held[0])[-1:])


def every_weeks(state: TreeState, profile: Profile, rules: FeedingRules) -> float:
    """Return after how many weeks it is poured again."""
    row = rules.row_of(state.aim, state.vigour, profile.kind)
    if profile.water.thirst == "low" and row.low_thirst_weeks is not None:
        return row.low_thirst_weeks
    return row.every_weeks


def _lasting(
    state: TreeState, profile: Profile, rules: FeedingRules, operations: Mapping[str, Operation]
) -> Iterator[Held]:
    poured = [
        done.on for done in state.done if is_feeding(done.operation, operations) and done.operation != CAKES
    ]
    if poured:
        row, weeks = rules.row_of(state.aim, state.vigour, profile.kind), every_weeks(state, profile, rules)
        yield (
            max(poured) + timedelta(weeks=weeks),
            Reason("again", "feeding", max(poured), weeks, "wk", basis=row.basis, source=row.source or ""),
        )
    lie, rule = lying_since(state), rules.cakes
    if lie is not None:
        weeks = cake_weeks(state, rule)[0]
        reason = Reason("again", CAKES, lie, weeks, "wk", basis=rule.basis, source=rule.source or "")
        yield lie + timedelta(weeks=weeks), reason
