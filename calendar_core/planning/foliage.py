"""What leaves a tree bears on a day: none, opening buds, new ones or hard ones."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from calendar_core.garden.state import TreeState
    from calendar_core.planning.items import StageDate
    from calendar_core.species.exposure_rules import Exposure, Foliage
    from calendar_core.species.schema import Profile
    from calendar_core.species.vocabulary import Operation

HALF = 0.5
BARE = "full defoliation"  # the operation after which no leaf is left


def foliage_on(
    day: date, stages: Iterable[StageDate], state: TreeState, profile: Profile, rules: Exposure
) -> Foliage:
    """Return a tree's foliage by the stage that likely came last, or by its defoliation since.

    A tree that never loses its leaves bears hard ones while no new ones grow, in winter too.
    """
    falls = profile.habit == "deciduous"
    begins: dict[str, Foliage] = {
        stage: foliage for foliage, names in rules.foliage.items() for stage in names
    }
    come = [
        (one.range.likely, begins[one.stage])
        for one in stages
        if one.range is not None and one.share >= HALF and one.stage in begins and one.range.likely <= day
    ]
    if not falls:
        come = [(since, foliage) for since, foliage in come if foliage in ("new", "hard")]
    since, foliage = max(come, key=lambda one: one[0], default=(date.min, "none" if falls else "hard"))
    return _after_defoliation(day, state, profile, since) or foliage


def _after_defoliation(day: date, state: TreeState, profile: Profile, since: date) -> Foliage | None:
    """Return the foliage that follows a defoliation, None where there was none or a stage has come since."""
    bare, times = state.last(BARE), profile.aftercare
    if bare is None or times.releaf_weeks is None or bare.on < since:
        return None
    weeks = (day - bare.on) / timedelta(weeks=1)
    if weeks < times.releaf_weeks.low:
        return "none"
    new_until = times.releaf_weeks.high + times.hardening_weeks.high
    return "new" if weeks < new_until else "hard"


def weeks_since(taken: str, day: date, state: TreeState, operations: Mapping[str, Operation]) -> float | None:
    """Return the weeks since work that takes ``taken`` (wood, leaves or roots) was last done, None where it never was."""
    days = [done.on for done in state.done if operations[done.operation].takes == taken and done.on <= day]
    return (day - max(days)) / timedelta(weeks=1) if days else None
