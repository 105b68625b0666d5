"""The form of config/aftercare.toml: what follows work or a watched part, when, and until when."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from calendar_core.knowledge.forms.based import Based, Strict
from calendar_core.knowledge.forms.species.anchors import HeatSum
from calendar_core.knowledge.words import MeasureName, PartKind

YearPhase = Literal["awake", "growth", "hard", "stop", "rest"]
Weeks = Annotated[float, Field(gt=0, le=110)]

PHASES: dict[YearPhase, tuple[str, ...]] = {
    "awake": ("leaves_present", "bud_swell", "active_growth"),
    "growth": ("leaves_present", "shoots_extending", "candles_extending", "active_growth"),
    "hard": ("leaves_hardened", "shoots_hardened", "needles_hardened", "warm_nights"),
    "stop": ("growth_stop", "cool_rest"),
    "rest": ("leaf_fall", "winter_rest", "cool_rest"),
}
"""The stages of any kind of tree with which a phase of its year begins; the first that a profile has counts."""


class Delay(Strict):
    """How long after: days, weeks, heat, the species' time between looks at wire, or days after a phase begins.

    Where growth has begun already, the days count from what is followed.
    ``decide_by`` is the stage by which the grower wants to decide.
    """

    days: Annotated[float, Field(ge=0, le=770)] | None = None
    weeks: Weeks | None = None
    heat: HeatSum | None = None
    phase: YearPhase | None = None
    by: Literal["wire looks"] | None = None
    decide_by: bool = False

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        ways = [self.weeks is not None, self.heat is not None, self.by is not None, self.decide_by]
        phase_or_days = self.phase is not None or self.days is not None
        if sum(ways) + phase_or_days != 1:
            raise ValueError(
                "give one of days, weeks, heat, phase (with days, if they are meant), by or decide_by"
            )
        return self


class InSeason(Strict):
    """Looks only between two phases; one that falls outside waits for the next opening."""

    opens: YearPhase
    closes: YearPhase


class MeasureLimit(Strict):
    """A measurement that ends it."""

    what: MeasureName
    at_most: float | None = None
    at_least: float | None = None

    @model_validator(mode="after")
    def _one_limit(self) -> Self:
        if (self.at_most is None) == (self.at_least is None):
            raise ValueError("give either at_most or at_least")
        return self


class Ends(Strict):
    """What ends a follow-up; with nothing it goes on until the part is gone."""

    after: tuple[str, ...] = ()
    good: Annotated[int, Field(ge=1, le=20)] | None = None
    weeks: Weeks | None = None
    measure: MeasureLimit | None = None


class FollowUp(Based):
    """What to look at after work, or at a part that is watched.

    ``only_parts`` leaves out work that names no part; ``share_from`` work that took less of the foliage.
    ``forecast`` is made from what was measured; it is called ``ready`` as soon as that says so. ``done`` is the verb that answers it. A look that is ``by_helper``
    asks for eyes only, so that anybody can take it while the grower is away.
    """

    label: str
    done: str
    minutes: Annotated[float, Field(gt=0, le=120)]
    after: tuple[str, ...] = ()
    of: tuple[PartKind, ...] = ()
    directive: Literal["undecided", "watch"] | None = None
    only_parts: bool = False
    share_from: Annotated[float, Field(gt=0, le=1)] | None = None
    first: Delay
    again: Delay | None = None
    season: InSeason | None = None
    look_at: str
    measure: tuple[MeasureName, ...] = ()
    forecast: Literal["closing", "graft", "leader"] | None = None
    ready: str | None = None
    does: str | None = None  # the operation it is itself, so that the two never stand side by side
    ends: Ends
    if_bad: str
    by_helper: bool = False
    cautions: tuple[str, ...] = ()

    @model_validator(mode="after")
    def _begins(self) -> Self:
        if not self.after and not self.of:
            raise ValueError("nothing begins it; right would be operations in after, or kinds of part in of")
        return self
