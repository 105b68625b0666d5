"""The form of config/places.toml: how likely harm must be for a tree to stand elsewhere, and how it gets used to light."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from calendar_core.knowledge.forms.based import Based, Quantity, Strict
from calendar_core.knowledge.words import COVERS, Cover

RiskName = Literal["night", "killing", "nights", "heat", "tender"]
Share = Annotated[float, Field(gt=0, lt=1)]


class Risk(Based):
    """The chance of passing a line before the next look from which a tree goes, and down to which it comes back."""

    into: Share
    out_of: Share

    @model_validator(mode="after")
    def _play(self) -> Self:
        if self.out_of > self.into:
            raise ValueError(
                f"out_of is {self.out_of:g} and into {self.into:g}; right would be out_of at most"
            )
        return self


class CheckDays(Strict):
    """Days from one look at trees under cover to the next, in the cold and in a heated room."""

    cold: Quantity
    warm: Quantity


class LightSteps(Strict):
    """What makes a tree unused to light: after ``dim_days`` indoors it has to get used to it again."""

    dim_days: Quantity


class StepRule(Based):
    """One step of getting used to more light, so many days after the one before."""

    days: Annotated[int, Field(gt=0, le=30)]
    how: str


class Making(Based):
    """How a place for the winter is made."""

    how: str


class PlaceRules(Strict):
    """config/places.toml."""

    look_days: Quantity
    risk: dict[RiskName, Risk]
    stay_days: Quantity
    ahead_days: Quantity
    least_days: Quantity
    smooth_days: Quantity
    winter_place_days: Quantity
    make: dict[Cover, Making]
    check_days: CheckDays
    light: LightSteps
    step: tuple[StepRule, ...]

    @model_validator(mode="after")
    def _made(self) -> Self:
        if missing := set(COVERS) - set(self.make):
            raise ValueError(
                f"make tells nothing of {', '.join(sorted(missing))}; right would be each of them"
            )
        return self
