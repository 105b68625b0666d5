"""The things a garden is made of, as values: Garden, Spot, Tree, Entry."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date, datetime, time
    from uuid import UUID

    from calendar_core.knowledge.words import Surface, ThermalProfile, Wind

Units = Literal["metric", "us"]
EntryKind = Literal[
    "state",
    "work",
    "seen",
    "wish",
    "answer",
    "choice",
    "part",
    "measure",
    "look",
    "hours",
    "away",
    "gone",
    "review",
    "walk",
]


@dataclass(frozen=True, slots=True)
class MonthDay:
    """A day of the year without a year; 29 February is never used."""

    month: int
    day: int


@dataclass(frozen=True, slots=True)
class Garden:
    """A place with weather.

    ``leaf_fall`` and ``coldest`` are the days on which the cycle of deciduous and of all other trees
    begins; they are computed once from the place's mean year and stored, so a cycle never moves.
    """

    id: UUID
    name: str
    place: str
    latitude: float
    longitude: float
    elevation_m: float
    zone: str
    units: Units
    leaf_fall: MonthDay
    coldest: MonthDay
    weather_series: UUID | None = None  # its own or its station's measured days
    service_series: UUID | None = None  # days of a weather service, where it has none of its own
    own_level: bool = True  # whether those days are brought to the level of its own
    elevation_known: bool = True  # False where 0 m stands for a height nobody told


@dataclass(frozen=True, slots=True)
class Spot:
    """A place in the garden where trees stand.

    ``surface`` is what its trees stand on or before. ``horizon`` is what is built and grown around it: rising
    azimuths clockwise from north, and how high it reaches there, both in degrees; empty where that is not known.
    """

    id: UUID
    garden_id: UUID
    name: str
    sun_from: time | None = None
    sun_to: time | None = None
    cloth_percent: int = 0
    profile: ThermalProfile = "open"
    wind: Wind = "normal"
    surface: Surface = "bench"
    roof: bool = False
    quarantine: bool = False
    horizon: tuple[tuple[float, float], ...] = ()

    @property
    def dark(self) -> bool:
        """Whether no daylight reaches it."""
        return self.cloth_percent == 100


@dataclass(frozen=True, slots=True)
class Tree:
    """What does not change about a tree; the rest is in its log."""

    id: UUID
    garden_id: UUID
    label: str
    species: str
    cultivar: str = ""


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the log, never altered; a later entry may void it.

    ``data`` by kind: ``state`` any of aim, vigour, spot, size, pot, pot_litres, substrate; ``work`` operation,
    details, and against, the codes of warnings it was done in spite of; ``seen`` stage; ``wish`` operation,
    cycle; ``answer`` item, answer (put off, not this cycle) and until; ``choice``, which is of no tree, question and option; ``part`` any of kind, name, height_mm,
    side, directive, pairs, decide_by, instead_of, decided (an operation, "" takes it back) and gone, of the one in ``part_ids``; ``measure`` values by
    name; ``look`` rule and of (what is followed up, and the entry it follows), went (well, badly) and values.
    ``gone`` says why (died, sold, given away) and note: from its day on the tree is not there.
    ``hours`` and ``away`` are of no tree either: weekly, the free minutes of Monday to Sunday, and begins, when they begin, if that is known; from and until.
    ``review`` is a look of a round at a tree: round, cycle, depth, minutes if counted, and answers by key that are no
    measure, look or state, or broken_off; ``walk``, of the trees of one, a day that is not walked, off, the one in its place, on, and its minutes.
    Of whatever kind, an entry that answers questions of a round says so in asked: round, cycle, and answers by key.
    """

    id: UUID
    garden_id: UUID
    tree_ids: tuple[UUID, ...]
    happened: date
    recorded_at: datetime
    who: str
    kind: EntryKind
    data: Mapping[str, Any] = field(default_factory=dict)
    data_version: int = 1
    at: time | None = None
    part_ids: tuple[UUID, ...] = ()
    voids: UUID | None = None
