"""The form of a species profile and of the other files in config/ (pydantic, no files read here)."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from calendar_core.knowledge.forms.based import Based, Quantity, Span, Strict
from calendar_core.knowledge.forms.exposure import Cold
from calendar_core.knowledge.forms.species.stages import Stage
from calendar_core.knowledge.forms.species.work import When, Work
from calendar_core.knowledge.words import Habit


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
