"""The form of a species profile and of the other files in config/ (pydantic, no files read here)."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

Basis = Literal["published", "fitted", "common practice", "from memory", "estimate"]
Habit = Literal["deciduous", "conifer", "broadleaf evergreen", "tropical"]
AimName = Literal["trunk", "structure", "ramification", "refinement", "recovery"]
SizeName = Literal["small", "medium", "large"]


class Strict(BaseModel):
    """A table in which an unknown key is a fault."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=False, defer_build=True)


class Based(Strict):
    """A table whose numbers say what they rest on.

    ``published`` and ``fitted`` name a key of sources.toml; ``estimate`` says in a note how it was made.
    """

    basis: Basis
    source: str | None = None
    note: str | None = None

    @model_validator(mode="after")
    def _support(self) -> Self:
        if self.basis in ("published", "fitted") and not self.source:
            raise ValueError(f"basis '{self.basis}' needs a source key")
        if self.basis == "estimate" and not self.note:
            raise ValueError("basis 'estimate' needs a note that says how it was estimated")
        return self


class Quantity(Based):
    """One number."""

    value: float


class HeatNeed(Strict):
    """The stage comes when the softened heat sum reaches exp(ln_heat).

    ``spread`` is the sd of the logarithm of the need for a new tree.
    """

    ln_heat: Annotated[float, Field(ge=0, le=8)]
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
    """One stage of the year; exactly one of the rules is given."""

    bbch: int | None = None
    sign: str
    need: HeatNeed | None = None
    after: After | None = None
    before: Before | None = None
    climate_fall: ClimateFall | None = None
    day_length: DayLength | None = None
    nights: Nights | None = None

    @model_validator(mode="after")
    def _one_rule(self) -> Self:
        rules = (self.need, self.after, self.before, self.climate_fall, self.day_length, self.nights)
        if sum(rule is not None for rule in rules) != 1:
            raise ValueError("give exactly one of need, after, before, climate_fall, day_length, nights")
        return self


class HeatSum(Strict):
    """Degree-days of the daily mean above ``base_c``."""

    base_c: Annotated[float, Field(ge=-5, le=20)]
    sum: Annotated[float, Field(gt=0, le=5000)]


class Air(Strict):
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
    """A number of days before the first autumn frost; earlier where the summer is cool."""

    days: Annotated[float, Field(ge=0, le=250)]
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
    air: Air | None = None
    mean_year: MeanYear | None = None
    calendar: Annotated[str, Field(pattern=r"^\d\d-\d\d$")] | None = None
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
            self.calendar,
        )
        if sum(rule is not None for rule in rules) != 1:
            raise ValueError(
                "give exactly one of stage, day_length_below_h, before_first_frost, last_safe_day, air, "
                "mean_year, calendar"
            )
        if self.heat is not None and self.stage is None:
            raise ValueError("heat follows a stage; name the stage")
        return self


class Requires(Strict):
    """What the tree must be or have for the work."""

    vigour_min: Annotated[int, Field(ge=1, le=5)] = 1
    aims: tuple[AimName, ...] = ("trunk", "structure", "ramification", "refinement", "recovery")
    fed_since: str | None = None  # a stage: a feeding must be in the log since then
    after_stage: str | None = None  # a stage: the window does not open before it
    stands: Literal["open", "sheltered"] | None = None  # where the tree must stand as the window comes


class Hold(Based):
    """After this operation nothing of the kind for so many weeks, or in the same cycle."""

    after: str
    weeks: Annotated[float, Field(ge=0, le=110)] | None = None
    same_cycle: bool = False

    @model_validator(mode="after")
    def _length(self) -> Self:
        if (self.weeks is None) == (not self.same_cycle):
            raise ValueError("give either weeks or same_cycle = true")
        return self


class Interval(Strict):
    """Years from one time to the next, by size class."""

    small: Annotated[int, Field(ge=1, le=15)]
    medium: Annotated[int, Field(ge=1, le=15)]
    large: Annotated[int, Field(ge=1, le=15)]


class Work(Based):
    """A window for one operation: when it opens and closes, for which trees, and what makes it due."""

    operation: str
    id: str | None = None  # needed only where an operation has two windows in one cycle
    opens: Anchor
    closes: tuple[Anchor, ...]
    requires: Requires = Requires()
    due: Literal["programme", "interval", "wish", "season"]
    programme: tuple[AimName, ...] = ()  # the aims whose yearly programme holds this work
    every_years: Interval | None = None
    rest_years: Annotated[int, Field(ge=0, le=5)] = 0  # full cycles to leave between two of the same
    holds: tuple[Hold, ...] = ()
    by_size: bool = False  # large trees in the first half of the window, small ones in the second
    how: str
    cautions: tuple[str, ...] = ()

    @model_validator(mode="after")
    def _due(self) -> Self:
        if self.due == "programme" and not self.programme:
            raise ValueError("due = 'programme' needs the aims it belongs to")
        if left_out := set(self.programme) - set(self.requires.aims):
            raise ValueError(f"programme names {', '.join(sorted(left_out))}, which requires.aims leaves out")
        if self.due == "interval" and self.every_years is None:
            raise ValueError("due = 'interval' needs every_years")
        if self.opens.last_safe_day is not None:
            raise ValueError("a last safe day closes a window, it does not open one")
        if not self.closes:
            raise ValueError("closes needs at least one anchor")
        return self

    @property
    def key(self) -> str:
        """The rule's name inside its profile."""
        return self.id or self.operation


class Tolerance(Strict):
    """Lines of heat and cold."""

    leaf_caution_c: Quantity
    leaf_danger_c: Quantity
    roots_protect_below_c: Quantity


class Profile(Strict):
    """All the program knows about a species; `cross_checks` tells whether the names in it exist.

    ``stages`` stand in the order of the year. ``toxic`` is the key of the caution for its sap or leaves.
    """

    latin: str
    common: str
    also: tuple[str, ...] = ()
    habit: Habit
    toxic: str | None = None
    stages: dict[str, Stage]
    tolerance: Tolerance
    work: tuple[Work, ...]


class Operation(Based):
    """An operation of the grower's year."""

    label: str
    done: str  # the verb that answers it, in the past tense
    weight: Annotated[int, Field(ge=0, le=3)]  # how much it takes out of a tree; 2 and more is a heavy job
    minutes: Annotated[float, Field(gt=0, le=600)]
    again_weeks: Annotated[float, Field(gt=0, le=52)] | None = None  # work that comes again within one window
    counts_as: str | None = None  # the operation whose log it shares
    tools: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


class Caution(Based):
    """A caution, shown with the operations, species or conditions that name it.

    It is due with every operation that uses one of the tools or supplies in ``due_with``; if it is the
    ``toxic`` of a species, with the works of that species only.
    """

    text: str
    due_with: tuple[str, ...] = ()


class Source(Strict):
    """Where a number comes from."""

    organisation: str
    title: str
    year: int | str
    address: str
    checked: str
    terms: str | None = None


class Definition(Based):
    """A named threshold, such as the screen minimum that counts as frost."""

    screen_min_c: float
    used_for: str


class Hazards(Strict):
    """config/hazards.toml."""

    frost: dict[Literal["first_frost", "visible_frost"], Definition]


class Knowledge(Strict):
    """Everything in config/, checked as a whole."""

    profiles: dict[str, Profile]
    operations: dict[str, Operation]
    cautions: dict[str, Caution]
    sources: dict[str, Source]
    hazards: Hazards
