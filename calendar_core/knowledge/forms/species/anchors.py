"""Anchors: the moments that open and close windows, as a profile writes them."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from calendar_core.knowledge.forms.based import MONTH_DAY, Strict

DegreeDayMethod = Literal["average", "sine", "modified"]


class HeatSum(Strict):
    """Degree-days of the daily mean above ``base_c``."""

    base_c: Annotated[float, Field(ge=-5, le=20)]
    sum: Annotated[float, Field(gt=0, le=5000)]


class AirRule(Strict):
    """A day on which the screen minimum (night) or maximum (day) is beyond ``at_c``.

    Nights below: the ``first`` after the warmest, the ``last`` before the warmest days of the mean year. Days
    above: the ``first`` after the coldest, the ``last`` before the winter's end.
    """

    measure: Literal["night", "day"]
    passes: Literal["above", "below"]
    at_c: Annotated[float, Field(ge=-40, le=50)]
    which: Literal["first", "last"]
    run_days: Annotated[int, Field(ge=1, le=31)] = 1

    @model_validator(mode="after")
    def _kind(self) -> Self:
        if (self.measure, self.passes) not in (("night", "below"), ("day", "above")):
            raise ValueError("only nights below and days above a line are looked for")
        return self


class HeatSince(Strict):
    """The day by which so many degree-days of the open air have come since a day of the year.

    ``start`` is a northern month-day, read half a year later in the south. ``method`` is that of the source:
    the mean of the day, a sine through its extremes, or their mean once each is held within base and ``upper_c``.
    """

    start: Annotated[str, Field(pattern=MONTH_DAY)]
    base_c: Annotated[float, Field(ge=-5, le=20)]
    sum: Annotated[float, Field(gt=0, le=5000)]
    method: DegreeDayMethod = "average"
    upper_c: Annotated[float, Field(ge=20, le=45)] | None = None

    @model_validator(mode="after")
    def _upper(self) -> Self:
        if self.upper_c is not None and self.method == "average":
            raise ValueError("upper_c goes with the method sine or modified")
        return self


class MeanYear(Strict):
    """The mean year's daily mean, over a month, passes ``at_c``: the same day every year, for slow phases."""

    passes: Literal["above", "below"]
    at_c: Annotated[float, Field(ge=-20, le=35)]


class FrostShift(Strict):
    """Earlier by clip(per_c x (at_c - m), 0, most_days).

    m is the mean temperature of the ``over_days`` after the unshifted day, or after ``from_days`` before
    the frost where given, so that the opening and closing of a window move together.
    """

    per_c: float
    at_c: float
    most_days: float
    over_days: int
    from_days: Annotated[float, Field(ge=0, le=250)] | None = None


class BeforeFrost(Strict):
    """A number of days before the first autumn frost; earlier where the summer is cool.

    At the latest it is ``before_growth_stop_days`` before growth stop, where given: where frost comes late or
    never, the shortening days end the season first.
    """

    days: Annotated[float, Field(ge=0, le=250)]
    before_growth_stop_days: Annotated[float, Field(ge=0, le=250)] | None = None
    cool_summer: FrostShift | None = None


class LastSafeDay(Strict):
    """The earliest of the given limits.

    They are weeks before first frost, heat still to come, and weeks of re-leafing before growth stop.
    """

    weeks_before_first_frost: Annotated[float, Field(ge=0, le=30)] | None = None
    heat_left: HeatSum | None = None
    releaf_weeks: Annotated[float, Field(ge=0, le=12)] | None = None

    @model_validator(mode="after")
    def _some_limit(self) -> Self:
        if self.weeks_before_first_frost is None and self.heat_left is None and self.releaf_weeks is None:
            raise ValueError("give at least one of weeks_before_first_frost, heat_left, releaf_weeks")
        return self


class Anchor(Strict):
    """A moment of a cycle: exactly one of the rules, shifted by ``days``.

    ``stage`` may be ``dormant`` (leaf fall of the autumn before) besides the profile's own stages.
    ``heat`` may follow a stage: the day by which so many degree-days have come after it.
    ``calendar`` is the last resort, month-day for the north; the south reads it half a year later.
    """

    stage: str | None = None
    day_length_below_h: Annotated[float, Field(ge=6, le=22)] | None = None
    before_first_frost: BeforeFrost | None = None
    last_safe_day: LastSafeDay | None = None
    air: AirRule | None = None
    mean_year: MeanYear | None = None
    heat_since: HeatSince | None = None
    calendar: Annotated[str, Field(pattern=MONTH_DAY)] | None = None
    days: Annotated[float, Field(ge=-200, le=200)] = 0.0
    heat: HeatSum | None = None

    @model_validator(mode="after")
    def _one_rule(self) -> Self:
        rules = (
            self.stage,
            self.day_length_below_h,
            self.before_first_frost,
            self.last_safe_day,
            self.air,
            self.mean_year,
            self.heat_since,
            self.calendar,
        )
        if sum(rule is not None for rule in rules) != 1:
            raise ValueError(
                "give exactly one of stage, day_length_below_h, before_first_frost, last_safe_day, air, "
                "mean_year, heat_since, calendar"
            )
        if self.heat is not None and self.stage is None:
            raise ValueError("heat follows a stage; name the stage")
        return self
