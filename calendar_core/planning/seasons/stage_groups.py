"""What the stage model reads of trees and what it gives back; and what a profile says of its stages by itself."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy as np
    from numpy.typing import NDArray

    from calendar_core.garden.thermal import History
    from calendar_core.knowledge.forms.species.profile import Profile

    Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Group:
    """All that the stage model reads of a tree in one cycle.

    ``needs`` are (mean, variance) of ln F for each stage with a heat need, in the order of the profile;
    ``autumn`` is the learned (shift [d], variance) of the autumn date, None before any was seen; ``seen``
    and ``not_yet`` are (stage, day index) of this cycle.
    """

    history: History
    needs: tuple[tuple[float, float], ...]
    autumn: tuple[float, float] | None = None
    seen: tuple[tuple[str, int], ...] = ()
    not_yet: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True)
class SeasonStages:
    """Labels by stage (n_traces, n_groups, n_draws); ``no_winter`` (n_groups,) is 1 where no winter comes before spring, else 0."""

    cycle: int
    labels: Mapping[str, Floats]
    no_winter: Floats


def gap_to(profile: Profile, early: str, late: str) -> tuple[float, float] | None:
    """Return (days, spread) from ``early`` to ``late`` along the chain of ``before`` rules, None if there is none."""
    days, variance, name = 0.0, 0.0, early
    while name != late:
        rule = profile.stages[name].before
        if rule is None:
            return None
        days, variance, name = days + rule.days, variance + rule.spread_days**2, rule.stage
    return days, math.sqrt(variance)


def need_stages(profile: Profile) -> list[str]:
    """Return the stages of a profile that have a heat need of their own, in yearly order."""
    return [name for name, stage in profile.stages.items() if stage.need is not None]
