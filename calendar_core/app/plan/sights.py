"""The sight that is worth most to ask for: the stage nearest in time that teaches a tree its own dates."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree
    from calendar_core.knowledge.forms.species.profile import Profile
    from calendar_core.planning.items import StageDate

BUD_BREAK_BBCH = 7
CLOSED_BEFORE = timedelta(
    days=14
)  # so long before buds may break it tells something that they are closed (estimate)


def nearest_sight(session: Session, within: timedelta | None = None) -> tuple[Tree, StageDate, bool] | None:
    """Return the tree and stage, not written down yet, that are nearest in time, and whether to ask if buds are closed.

    With ``within`` only what likely comes or came no further off.
    """
    open_sights = [
        (abs(stage.range.likely - session.today), tree, stage)
        for tree in session.trees
        for stage in session.plan.stages[tree.id]
        if stage.range and not stage.seen and _teaches(session.knowledge.profiles[tree.species], stage)
    ]
    near = [sight for sight in open_sights if within is None or sight[0] <= within]
    if not near:
        return None
    _, tree, stage = min(near, key=lambda sight: sight[0])
    days = stage.range
    assert days is not None  # noqa: S101 - filtered above
    soon = days.early - CLOSED_BEFORE <= session.today <= days.late
    return tree, stage, stage.bbch == BUD_BREAK_BBCH and soon


def _teaches(profile: Profile, stage: StageDate) -> bool:
    """Tell whether the sight of a stage teaches a tree's own heat need, and is plain to see."""
    return stage.bbch == BUD_BREAK_BBCH or profile.stages[stage.stage].need is not None
