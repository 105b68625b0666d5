"""The form of config/hazards.toml: what counts as frost, and how far forecasts may be off."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from calendar_core.knowledge.forms.based import Based, Strict


class Definition(Based):
    """A named threshold, such as the screen minimum that counts as frost."""

    screen_min_c: float
    used_for: str


class Growing(Based):
    """The standard deviation of an error: at the issue of a forecast, what it grows by a day, and at most."""

    start: Annotated[float, Field(ge=0)]
    per_day: Annotated[float, Field(ge=0)]
    most: Annotated[float, Field(ge=0)]


class ForecastError(Strict):
    """How far a single forecast may be off; of wind as the logarithm of a factor."""

    temperature_c: Growing
    cloud_percent: Growing
    ln_wind: Growing


class Hazards(Strict):
    """config/hazards.toml."""

    frost: dict[Literal["first_frost", "visible_frost"], Definition]
    forecast_error: ForecastError
