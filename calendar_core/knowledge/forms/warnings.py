"""The form of config/warnings.toml: when a threat becomes a warning, and when a warning changes or ends."""

from __future__ import annotations

from datetime import time
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from calendar_core.knowledge.forms.based import Based, Quantity, Strict
from calendar_core.knowledge.words import HAZARDS, MEANS, Hazard, Means

SeverityName = Literal["Extreme", "Severe", "Moderate", "Minor"]
Share = Annotated[float, Field(gt=0, le=1)]
HourRules = Annotated[float, Field(gt=0, le=24)]


class Chance(Based):
    """The chance from which a level is raised, and the lower one from which it is kept."""

    raised_from: Share
    kept_from: Share

    @model_validator(mode="after")
    def _order(self) -> Self:
        if self.kept_from > self.raised_from:
            raise ValueError(
                f"kept_from is {self.kept_from:g} and raised_from {self.raised_from:g}; right would be no more to keep"
            )
        return self


class ChangeRule(Based):
    """Hours by which a warning must begin earlier, begin or end later, to be told again; and how often at most."""

    earlier_h: HourRules
    later_h: HourRules
    most: Annotated[int, Field(ge=0, le=20)]


class DigestRule(Based):
    """The local time of the evening digest, and the danger it tells of days further ahead."""

    at: time
    days: Annotated[int, Field(ge=2, le=16)]
    danger_from: Share
    hazards: tuple[Hazard, ...]


class HazardRule(Based):
    """One hazard: its margin in its own unit, its severity at caution and danger, the cautions due with it."""

    margin: Annotated[float, Field(ge=0)]
    severity: tuple[SeverityName, SeverityName]
    cautions: tuple[str, ...]

    @model_validator(mode="after")
    def _levels(self) -> Self:
        if self.severity[0] in ("Extreme", "Severe") or self.severity[1] not in ("Extreme", "Severe"):
            raise ValueError(
                f"severity is {list(self.severity)}; right would be Minor or Moderate, then Severe or Extreme"
            )
        return self


class MeansRule(Strict):
    """The cautions due with a means."""

    cautions: tuple[str, ...]


class WarningRules(Strict):
    """config/warnings.toml."""

    caution: Chance
    danger: Chance
    withdrawn_after: Quantity
    ahead_h: Quantity
    change: ChangeRule
    digest: DigestRule
    stale_h: Quantity
    silence_h: Quantity
    likely_within_h: Quantity
    hazard: dict[Hazard, HazardRule]
    means: dict[Means, MeansRule]

    @model_validator(mode="after")
    def _whole(self) -> Self:
        for key, names in (("hazard", HAZARDS), ("means", MEANS)):
            if missing := [name for name in names if name not in getattr(self, key)]:
                raise ValueError(f"{key} lacks {', '.join(missing)}; right would be a table for each")
        return self
