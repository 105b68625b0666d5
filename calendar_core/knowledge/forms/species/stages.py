"""Rules by which the stages of the year come, as a profile writes them."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from calendar_core.knowledge.forms.based import MONTH_DAY, Based, Strict

Kin = Literal["species", "genus", "unknown woody"]
LEAST_SPREAD: dict[Kin, float] = {"species": 0.35, "genus": 0.45, "unknown woody": 0.60}
"""The least spread of ln F for a tree that is new, by what its need is known from.

Source: leave-one-out trials on Harvard Forest HF003 and PhenoCam; narrower ones cost accuracy.
"""


class HeatNeed(Strict):
    """The stage comes when the softened heat sum reaches exp(ln_heat).

    ``spread`` is the sd of the logarithm of the need for a new tree; ``of`` says whose dates it was taken
    from: trees of the species, of its genus or a like one, or woody plants in general.
    """

    ln_heat: Annotated[float, Field(ge=0, le=8)]
    spread: Annotated[float, Field(gt=0, le=2)]
    of: Kin


class Warmth(Strict):
    """Degree-days above ``base_c`` since a day of the year reach ``sum``, whatever the day length.

    For what flowers in winter, before daylight counts. ``start`` is a northern month-day, read half a year
    later in the south; ``spread`` is the sd of the logarithm of the sum, between trees and years.
    """

    start: Annotated[str, Field(pattern=MONTH_DAY)]
    base_c: Annotated[float, Field(ge=-5, le=20)]
    sum: Annotated[float, Field(gt=0, le=5000)]
    spread: Annotated[float, Field(gt=0, le=2)]


class After(Strict):
    """The stage follows another, ``days`` later; with ``heat``, by the mean of that and of so much softened heat."""

    stage: str
    days: Annotated[float, Field(ge=0, le=365)]
    spread_days: Annotated[float, Field(ge=0, le=60)]
    heat: Annotated[float, Field(gt=0, le=2000)] | None = None


class Before(Strict):
    """The stage comes this many days before another, which is the one with a heat need."""

    stage: str
    days: Annotated[float, Field(gt=0, le=120)]
    spread_days: Annotated[float, Field(ge=0, le=60)]


class ClimateFall(Strict):
    """A site's own mean date in autumn, from its mean year; this year's weather shifts it a little.

    The site's date is the autumn equinox, plus ``slope`` times the days from it to the day on which the mean
    year, averaged over a centred window, falls to ``mean_c``, plus ``offset_days``. Anomalies of the month
    before that date and of the three months after the spring equinox shift it. ``spread_days`` is the sd
    between sites; each year's own error comes to it.
    """

    mean_c: Annotated[float, Field(ge=-10, le=25)]
    window_days: Annotated[int, Field(ge=1, le=61)]
    slope: Annotated[float, Field(gt=0, le=2)] = 1.0
    offset_days: Annotated[float, Field(ge=-120, le=120)] = 0.0
    spread_days: Annotated[float, Field(gt=0, le=40)]
    autumn_days_per_c: float = 0.0
    spring_days_per_c: float = 0.0


class DayLength(Strict):
    """Day length falls below this after the summer solstice; trees and years differ by ``spread_days``."""

    below_h: Annotated[float, Field(ge=8, le=20)]
    spread_days: Annotated[float, Field(gt=0, le=40)]


class Nights(Strict):
    """The mean night minimum over ``run_days`` passes ``at_c``: rising in spring, falling in autumn."""

    passes: Literal["above", "below"]
    at_c: Annotated[float, Field(ge=-20, le=30)]
    run_days: Annotated[int, Field(ge=1, le=31)]


class Stage(Based):
    """One stage of the year; exactly one of the rules is given.

    ``state`` is what a tree is in from then on, where the stage is the end of something.
    """

    bbch: int | None = None
    sign: str
    state: str = ""
    need: HeatNeed | None = None
    warmth: Warmth | None = None
    after: After | None = None
    before: Before | None = None
    climate_fall: ClimateFall | None = None
    day_length: DayLength | None = None
    nights: Nights | None = None

    @model_validator(mode="after")
    def _one_rule(self) -> Self:
        rules = (
            self.need,
            self.warmth,
            self.after,
            self.before,
            self.climate_fall,
            self.day_length,
            self.nights,
        )
        if sum(rule is not None for rule in rules) != 1:
            raise ValueError(
                "give exactly one of need, warmth, after, before, climate_fall, day_length, nights"
            )
        return self
