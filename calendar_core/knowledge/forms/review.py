"""The form of config/review.toml: the rounds of the yearly review, how long looks take, and what every tree is asked."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from calendar_core.knowledge.forms.aftercare import YearPhase
from calendar_core.knowledge.forms.based import Based, Quantity, Span, Strict
from calendar_core.knowledge.forms.species.profile import Profile
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

    A number is of ``unit``, or a ``measure`` of the tree [mm]; from ``bad_from`` on it is bad, and more than ``most`` is a
    slip. ``if_bad`` is what to do where the answer is bad.
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
    if_bad: str | None = None
    options: tuple[str, ...] = ()

    @model_validator(mode="after")
    def _fits(self) -> Self:
        if (self.answer == "choice") != bool(self.options):
            raise ValueError("options go with the answer 'choice', and it with them")
        if self.answer == "number" and self.measure is None and self.most is None:
            raise ValueError("a number that is no measure needs most, above which it is a slip")
        return self


class SoilMix(Based):
    """A mix of soil in ``parts`` by volume, for species of some kinds and habits, and of one ``thirst`` if it is told."""

    name: str
    parts: Annotated[dict[str, Annotated[float, Field(gt=0)]], Field(min_length=1)]
    kinds: tuple[str, ...] = ()
    habits: tuple[Habit, ...] = HABITS
    thirst: Literal["low", "medium", "high"] | None = None

    def fits(self, profile: Profile) -> bool:
        """Tell whether a species stands in it."""
        kind = not self.kinds or profile.kind in self.kinds
        return kind and profile.habit in self.habits and self.thirst in (None, profile.water.thirst)


class WireSizes(Based):
    """The thicknesses of wire that are sold [mm], the thinnest first."""

    mm: Annotated[tuple[float, ...], Field(min_length=1)]


class SupplyRules(Strict):
    """What work takes: mixes of soil, of which the first that fits counts, and wire by the branch.

    ``wire_share`` is its thickness in a branch's diameter, ``wire_length`` its length in the branch's.
    """

    mix: Annotated[tuple[SoilMix, ...], Field(min_length=1)]
    wire: WireSizes
    wire_share: Quantity
    wire_length: Span

    def mix_of(self, profile: Profile) -> SoilMix:
        """Return the mix for a species."""
        return next(mix for mix in self.mix if mix.fits(profile))

    @model_validator(mode="after")
    def _complete(self) -> Self:
        last = self.mix[-1]
        if last.kinds or last.thirst or set(last.habits) != set(HABITS):
            raise ValueError("the last mix is for all trees; right would be without kinds, habits and thirst")
        if list(self.wire.mm) != sorted(set(self.wire.mm)):
            raise ValueError("wire.mm: right would be each thickness once, the thinnest first")
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
    supplies: SupplyRules

    @model_validator(mode="after")
    def _all_rounds(self) -> Self:
        if missing := [name for name in ROUNDS if name not in self.round]:
            raise ValueError(f"round tells nothing of {', '.join(missing)}; right would be each of them")
        return self
