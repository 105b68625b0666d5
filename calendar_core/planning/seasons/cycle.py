"""A cycle as anchors read it: the air, the profile, and its stages as facts."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from calendar_core.planning.seasons.members import middles

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy as np
    from numpy.typing import NDArray

    from calendar_core.knowledge.forms.species.profile import Profile
    from calendar_core.planning.seasons.air import Air

    Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Fact:
    """What a limit hangs on: ``labels`` broadcast to (n_traces, n_groups, n_draws)."""

    labels: Floats

    @cached_property
    def likely(self) -> Floats:
        """The middle label of each group (n_groups,), inf where it does not come."""
        return middles(self.labels)


@dataclass(frozen=True)
class Cycle:
    """What anchors read: the air, the profile, and the stages of one cycle (``dormant`` among them)."""

    air: Air
    profile: Profile
    cycle: int
    stages: Mapping[str, Floats]
    _facts: dict[str, Fact] = field(default_factory=dict)

    def fact(self, stage: str) -> Fact:
        """Return a stage as a fact; all limits that hang on it share it."""
        return self._facts.setdefault(stage, Fact(self.stages[stage]))

    @property
    def end(self) -> int:
        """Index after the last day of the cycle's winter, inside the axis."""
        return min(self.air.axis.winter_end(self.cycle), self.air.axis.n_days)
