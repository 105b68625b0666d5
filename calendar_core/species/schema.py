"""The form of a species profile and of the other files in config/ (pydantic, no files read here)."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from calendar_core.species.anchor_rules import Anchor
from calendar_core.species.based import Based, Quantity, Span, Strict
from calendar_core.species.exposure_rules import Cold, Exposure
from calendar_core.species.feeding import FeedingRules
from calendar_core.species.follow_rules import FollowUp
from calendar_core.species.growth_rules import Growth
from calendar_core.species.place_rules import PlaceRules
from calendar_core.species.spacing_rules import SpacingRules
from calendar_core.species.stage_rules import Stage
from calendar_core.species.vocabulary import Operation, Source
from calendar_core.species.warning_rules import WarningRules
from calendar_core.species.words import AIMS, Aim, Habit


class Requires(Strict):
    """What the tree must be or have for the work."""

    vigour_min: Annotated[int, Field(ge=1, le=5)] = 1
    aims: tuple[Aim, ...] = AIMS
    fed_since: str | None = None  # a stage: a feeding must be in the log since then
    after_stage: str | None = None  # a stage: the window does not open before it
    before_stage: str | None = None  # a stage: the window that has opened closes with it
    stands: Literal["open", "sheltered"] | None = None  # where the tree must stand as the window comes
    since: str | None = None  # an operation that must be in the log, and later than the last time of this one
    since_weeks: Annotated[float, Field(gt=0, le=104)] | None = None  # and so long ago


class When(Strict):
    """Only for growers who answer the question ``choice`` of choices.toml with ``option``."""

    choice: str
    option: str


class Hold(Based):
    """After this operation nothing of the kind for so many weeks, or in the same cycle."""

    after: str
    when: When | None = None
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
    when: When | None = None
    shared: bool = False  # one event for trees of all species, as for a look along the bench
    opens: Anchor
    closes: tuple[Anchor, ...]
    requires: Requires = Requires()
    due: Literal["programme", "interval", "wish", "season"]
    programme: tuple[Aim, ...] = ()  # the aims whose yearly programme holds this work
    every_years: Interval | None = None
    once: bool = False  # not again before the next cycle, though the operation may come again within a window
    rest_years: Annotated[int, Field(ge=0, le=5)] = 0  # full cycles to leave between two of the same
    holds: tuple[Hold, ...] = ()
    by_size: bool = False  # large trees in the first half of the window, small ones in the second
    how: str
    late: str | None = (
        None  # what is lost once the window has closed, where it is more than the operation says
    )
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


class Shelter(Based):
    """What of the cold outside sends a tree under cover, and how it is moved and kept there.

    ``night_c`` is a line of one night's air, ``nights_c`` of nights on the mean of the days between two looks. One
    that ``rests`` wants a cold winter; from the stage ``wakes`` on it needs light more than it fears the first line.
    ``into``, ``out`` and ``check`` say how it is done.
    """

    when: When | None = None
    rests: bool
    night_c: Annotated[float, Field(ge=-40, le=25)]
    nights_c: Annotated[float, Field(ge=-10, le=25)] | None = None
    wakes: str | None = None
    into: str
    out: str
    check: str
    cautions: tuple[str, ...] = ()


class Shade(Based):
    """From which day maximum of the air on a tree wants shade, and how it is put up and taken down."""

    when: When | None = None
    from_c: Annotated[float, Field(ge=15, le=50)]
    opened_c: Quantity | None = (
        None  # the same for leaves that a cut put in the light, if the species' own leaves bear more
    )
    up: str
    down: str
    cautions: tuple[str, ...] = ()


class Tolerance(Strict):
    """Lines of sun, heat and cold; of roots the temperature of the root ball, not of the air.

    ``chill`` are lines of the night's air, of a tree that cold above freezing harms.
    """

    leaf_caution_c: Quantity
    leaf_danger_c: Quantity
    roots_protect_below_c: Quantity
    roots_killed_c: Quantity | None = None
    chill_nights_c: Quantity | None = None  # air of nights in which it is not left outside for long
    chill: Cold | None = None
    shade_from_c: Quantity  # day maximum of the air from which it wants shade
    shade_cloth_percent: Span
    sun_hours: Span


class Water(Based):
    """How much it drinks, and whether its soil may dry a little between."""

    thirst: Literal["low", "medium", "high"]
    may_dry: bool


class WireLooks(Based):
    """Weeks from one look at wire to the next, by how the tree grows."""

    extending: Annotated[float, Field(gt=0, le=26)]
    hardened: Annotated[float, Field(gt=0, le=26)]
    autumn: Annotated[float, Field(gt=0, le=26)]
    winter: Annotated[float, Field(gt=0, le=26)]


class Aftercare(Strict):
    """What differs by species in what follows work."""

    wire_looks_weeks: WireLooks
    releaf_weeks: Span | None = None  # from taking leaves or candles to the new ones
    hardening_weeks: Span  # from these to hard ones
    graft_seasons: Span | None = None  # before a thread or approach graft may be severed
    graft_weeks: Span | None = None  # the same where it grows on all year


class Toxicity(Based):
    """What it does to people and animals, in a few words."""

    text: str


class Never(Based):
    """Why an operation is never done to a kind of tree."""

    why: str


class Profile(Strict):
    """All the program knows about a species; `cross_checks` tells whether the names in it exist.

    ``stages`` stand in the order of the year. ``toxic`` is the key of the caution for its sap or leaves.
    A profile is its own file upon those of its kind, see `kinds`.
    """

    latin: str
    common: str
    also: tuple[str, ...] = ()
    kind: str
    habit: Habit
    toxic: str | None = None
    toxicity: Toxicity
    note: str | None = None  # what a grower should know of how far it can be trusted
    never: dict[str, Never] = Field(default_factory=dict)
    pests: tuple[str, ...] = ()
    stages: dict[str, Stage]
    tolerance: Tolerance
    water: Water
    aftercare: Aftercare
    shelter: tuple[Shelter, ...] = ()  # at most one for each answer
    shade: tuple[Shade, ...] = ()
    work: tuple[Work, ...]


class Pest(Based):
    """A pest or disease to look for, and when."""

    label: str
    sign: str
    opens: Anchor
    closes: tuple[Anchor, ...]
    how: str


class Option(Based):
    """One answer to a question on which growers differ."""

    text: str


class Choice(Strict):
    """A question on which sources disagree; ``why`` explains the default."""

    question: str
    default: str
    why: str
    options: dict[str, Option]

    @model_validator(mode="after")
    def _known(self) -> Self:
        if self.default not in self.options:
            raise ValueError(f"default is '{self.default}'; right would be one of {', '.join(self.options)}")
        return self


class Caution(Based):
    """A caution, shown with the operations, species or conditions that name it.

    It is due with every operation that uses one of the tools or supplies in ``due_with``; if it is
    ``of_species``, with the works of the species whose ``toxic`` it is. Before work it speaks against it where the
    forecast reaches ``from_c`` [degC] within so many days. With a warning of cold it is due where the worst of it
    goes down to ``down_to_c`` [degC].
    """

    text: str
    from_c: float | None = None
    down_to_c: float | None = None
    within_days: Annotated[int, Field(ge=0, le=14)] = 0
    of_species: bool = False
    due_with: tuple[str, ...] = ()


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


class ShowStep(Based):
    """Work so many days before a tree is shown."""

    days: Annotated[int, Field(ge=0, le=400)]
    how: str


class Knowledge(Strict):
    """Everything in config/, checked as a whole."""

    profiles: dict[str, Profile]
    operations: dict[str, Operation]
    cautions: dict[str, Caution]
    sources: dict[str, Source]
    hazards: Hazards
    pests: dict[str, Pest]
    choices: dict[str, Choice]
    feeding: FeedingRules
    aftercare: dict[str, FollowUp]
    growth: Growth
    spacing: SpacingRules
    exposure: Exposure
    warnings: WarningRules
    show: dict[str, ShowStep]
    places: PlaceRules
