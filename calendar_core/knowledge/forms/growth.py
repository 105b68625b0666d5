"""The form of config/growth.toml: how wounds close, grafts thicken, and shoots grow."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from calendar_core.knowledge.forms.based import Based, Quantity, Span, Strict


class GrowthHeat(Based):
    """The base of the heat that growth is counted by."""

    base_c: Annotated[float, Field(ge=-5, le=20)]


class Closing(Strict):
    """Width a wound closes by in one season in open ground, and what slows or speeds it."""

    slow_mm_a_year: Quantity
    moderate_mm_a_year: Quantity
    fast_mm_a_year: Quantity
    width_power: Quantity
    in_a_pot: Span
    upper: Span
    lower: Span

    def mm_a_year(self, vigour: int) -> float:
        """Return the width [mm] for a vigour from 1 to 5: moderate is 3."""
        classes = (self.slow_mm_a_year, self.moderate_mm_a_year, self.fast_mm_a_year)
        return classes[(vigour > 2) + (vigour > 3)].value


class GraftRule(Strict):
    """From which ratio of far to near side a graft counts as clearly thicker."""

    ratio: Quantity


class LeaderRule(Strict):
    """From which share of the leader a rival is cut back, and what the leader should be of the trunk."""

    rivals_from: Quantity
    of_the_trunk: Quantity


class Pairs(Strict):
    """Heat a leaf pair takes [degC d], its spread on the log scale, and the pairs a held shoot may grow."""

    heat_per_pair: Quantity
    spread_ln: Quantity
    let_grow: Quantity


class Pots(Strict):
    """Litres of a pot where none is written down, by size class, and how much soil is bought for a litre.

    Trees that are repotted every so many years or more may as well wait one longer.
    """

    small_litres: Quantity
    medium_litres: Quantity
    large_litres: Quantity
    soil_share: Quantity
    waits_from_years: Quantity

    def litres(self, size: str) -> float:
        """Return the litres of a size class."""
        sizes = {"small": self.small_litres, "medium": self.medium_litres, "large": self.large_litres}
        return sizes[size].value


class Growth(Strict):
    """config/growth.toml."""

    heat: GrowthHeat
    closing: Closing
    graft: GraftRule
    leader: LeaderRule
    pairs: Pairs
    pots: Pots
