"""What leaves a tree bears on a day: none, opening buds, new ones, hard ones or those about to fall."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from calendar_core.garden.state import Done, TreeState
    from calendar_core.knowledge.forms.exposure import Exposure, Falling, Foliage
    from calendar_core.knowledge.forms.operations import Operation
    from calendar_core.knowledge.forms.spacing import SpacingRules
    from calendar_core.knowledge.forms.species.profile import Profile
    from calendar_core.planning.items import StageDate

HALF = 0.5
BARE = "full defoliation"  # the operation after which no leaf is left


def foliage_on(
    day: date, stages: Iterable[StageDate], state: TreeState, profile: Profile, rules: Exposure
) -> Foliage:
    """Return a tree's foliage by the stage that likely came last, or by its defoliation since.

    A tree that never loses its leaves bears hard ones while no new ones grow, in winter too. Hard ones that are to
    fall are told apart as ``rules.falling`` says.
    """
    stages = tuple(stages)
    falls = profile.habit == "deciduous"
    begins: dict[str, Foliage] = {
        stage: foliage for foliage, names in rules.foliage.items() for stage in names
    }
    come = [
        (stage.range.likely, begins[stage.stage])
        for stage in stages
        if stage.range is not None
        and stage.share >= HALF
        and stage.stage in begins
        and stage.range.likely <= day
    ]
    if not falls:
        come = [(since, foliage) for since, foliage in come if foliage in ("new", "hard")]
    since, foliage = max(come, key=lambda pair: pair[0], default=(date.min, "none" if falls else "hard"))
    foliage = _after_defoliation(day, state, profile, since) or foliage
    return (
        "falling" if falls and foliage == "hard" and _about_to_fall(day, stages, rules.falling) else foliage
    )


def _about_to_fall(day: date, stages: Iterable[StageDate], rule: Falling) -> bool:
    likely = [
        (stage.stage, stage.range.likely)
        for stage in stages
        if stage.range is not None and stage.share >= HALF
    ]
    stopped = [on for stage, on in likely if stage == rule.after and on <= day]
    coming = [on for stage, on in likely if stage == rule.before and on > day]
    return bool(stopped) and bool(coming) and min(coming) - day <= timedelta(days=rule.days)


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


def weeks_since_roots(day: date, state: TreeState, operations: Mapping[str, Operation]) -> float | None:
    """Return the weeks since roots were last cut, None where they never were."""
    return _weeks(day, [done.on for done in state.done if operations[done.operation].takes == "roots"])


def weeks_since_opened(
    day: date, state: TreeState, operations: Mapping[str, Operation], spacing: SpacingRules
) -> float | None:
    """Return the weeks since work last bared inner leaves, None where none did.

    That is taking of leaves that weighs on a tree, which a pinched tip does not, and any cut of so much foliage.
    """
    return _weeks(day, [done.on for done in state.done if took_leaves(done, operations, spacing)])


def took_leaves(done: Done, operations: Mapping[str, Operation], spacing: SpacingRules) -> bool:
    """Tell whether work took so many leaves that the tree feels it: by its share, or where none is written, its kind."""
    if done.share is not None:
        return spacing.least_weight(done.share) > 0
    form = operations[done.operation]
    return form.takes == "leaves" and form.weight > 0


def _weeks(day: date, times: Iterable[date]) -> float | None:
    last = max((on for on in times if on <= day), default=None)
    return None if last is None else (day - last) / timedelta(weeks=1)
