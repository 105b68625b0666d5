"""The form of config/review.toml: the rounds of the yearly review, how long looks take, and what every tree is asked."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import Field, model_validator

from calendar_core.knowledge.forms.aftercare import YearPhase
from calendar_core.knowledge.forms.based import Based, Quantity, Strict
from calendar_core.knowledge.words import (
    AIMS,
    HABITS,
    ROUNDS,
    Aim,
    AnswerKind,
    CheckPlace,
    Habit,
    MeasureName,
    RoundName,
)

Weeks = Annotated[float, Field(gt=0, le=26)]


class RoundRule(Based):
    """When a round is walked.

    It opens with a phase of a tree's year, or with its cycle where there is none, and closes after ``weeks``; without
    them as leaves colour or cuts are no longer safe from frost, but not before ``least_weeks``.
    """

    opens: YearPhase | None = None
    weeks: Weeks | None = None
    least_weeks: Weeks | None = None

    @model_validator(mode="after")
    def _closes(self) -> Self:
        if (self.weeks is None) == (self.least_weeks is None):
            raise ValueError("give either weeks or least_weeks")
        return self


class LookMinutes(Strict):
    """Minutes of looks at a medium tree, of walks, and how much what was taken counts beside them."""

    glance: Quantity
    young: Quantity
    refined: Quantity
    weak: Quantity
    part: Quantity
    walk_most: Quantity
    walk_least: Quantity
    walk_share: Quantity
    evening_most: Quantity
    evening_from_h: Quantity
    prior_looks: Quantity


class FullLook(Strict):
    """What makes a look a full one."""

    months_between: Quantity
    weak_vigour: Quantity
    heavy_months_ahead: Quantity


class WalkWeather(Strict):
    """Days without a walk [degC]."""

    cold_below_c: Quantity
    hot_from_c: Quantity


class Check(Based):
    """One thing looked at on every tree it applies to.

    A number is of ``unit``, or a ``measure`` of the tree [mm]; ``bad_from`` it speaks for work, and more than ``most`` is a slip.
    """

    place: CheckPlace
    answer: AnswerKind
    label: str
    rounds: tuple[RoundName, ...] = ROUNDS
    full_only: bool = False
    habits: tuple[Habit, ...] = HABITS
    aims: tuple[Aim, ...] = AIMS
    measure: MeasureName | None = None
    unit: str = ""
    most: float | None = None
    bad_from: float | None = None
    options: tuple[str, ...] = ()

    @model_validator(mode="after")
    def _fits(self) -> Self:
        if (self.answer == "choice") != bool(self.options):
            raise ValueError("options go with the answer 'choice', and it with them")
        if self.answer == "number" and self.measure is None and self.most is None:
            raise ValueError("a number that is no measure needs most, above which it is a slip")
        return self


class ReviewRules(Strict):
    """config/review.toml."""

    round: dict[RoundName, RoundRule]
    around_rest: Quantity
    callus_weeks: Quantity
    minutes: LookMinutes
    full: FullLook
    weather: WalkWeather
    check: dict[str, Check]

    @model_validator(mode="after")
    def _all_rounds(self) -> Self:
        if missing := [name for name in ROUNDS if name not in self.round]:
            raise ValueError(f"round tells nothing of {', '.join(missing)}; right would be each of them")
        return self
