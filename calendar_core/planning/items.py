"""What a plan is made of: reasons, ranges, items and the plan itself. Values only; wording makes the sentences."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Literal
from uuid import UUID, uuid5

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from calendar_core.weather.traces import WeatherKnown

Status = Literal["due", "wished", "possible"]
Value = float | int | str | date | None
OF_PART = "@"  # in the rule of what is of a part: before that part
DECIDED = "decided "  # in a rule before the operation that was decided of a part


@dataclass(frozen=True, slots=True)
class Reason:
    """One fact behind an item, or behind its absence.

    ``code`` picks the sentence in the message catalogue, ``subject`` is what the fact is about (a stage,
    an operation, an aim), ``found`` and ``needed`` are values in ``unit``; ``days`` is how long after
    (before, if negative) the fact the window opens or closes.
    """

    code: str
    subject: str = ""
    found: Value = None
    needed: Value = None
    unit: str = ""
    days: float = 0.0
    basis: str = ""
    source: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Range:
    """The 10, 50 and 90 % quantiles of a date over the members in which it happens."""

    early: date
    likely: date
    late: date


@dataclass(frozen=True, slots=True)
class Follows:
    """What a look follows: a rule of aftercare, the entry it began with, and the part, if it is of one."""

    rule: str
    entry: UUID
    part: UUID | None


@dataclass(frozen=True, slots=True)
class Given:
    """How strong fertilizer is given, in per cent of the label's rate from low to high; nothing while there is a ``hold``."""

    percent: tuple[float, float]
    low_nitrogen: bool
    hold: tuple[Reason, ...] = ()
    not_before: date | None = None


@dataclass(frozen=True, slots=True)
class Item:
    """A window for one tree, in one cycle.

    ``closes.early`` is the day by which the work is safe in nine years of ten.
    """

    id: UUID
    tree_id: UUID
    species: str
    operation: str
    rule: str
    cycle: int
    aim: str
    opens: Range
    closes: Range
    chance: float
    status: Status
    how: str
    reasons: tuple[Reason, ...]
    cautions: tuple[str, ...] = ()
    occurrence: int = 0
    shared: bool = False  # with trees of other species in one event
    label: str = ""  # what it is called, if not as its operation
    part: str = ""  # the part of the tree it is about
    part_id: UUID | None = None
    measure: tuple[str, ...] = ()  # what is to be measured
    done: str = ""  # the verb that answers it, if not its operation's
    follows: Follows | None = None  # of a look: what it follows
    to: UUID | None = None  # of a move: the spot to go to
    also: tuple[UUID, ...] = ()  # other spots that would serve
    protects: bool = False  # a tree is in danger until it is done
    given: Given | None = None  # of fertilizing: how strong, as it opens or today
    once: bool = False  # not again within its window, as other work of its operation is


@dataclass(frozen=True, slots=True)
class NotPlanned:
    """An operation of the profile that is not planned for a tree, and why."""

    tree_id: UUID
    operation: str
    rule: str
    cycle: int
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class StageDate:
    """When a tree reaches a stage in a cycle. ``share`` of the members in which it happens at all."""

    stage: str
    bbch: int | None
    cycle: int
    range: Range | None
    share: float
    seen: bool
    basis: str
    source: str = ""
    note: str = ""


Middles = dict[str, "Sequence[tuple[int, date]]"]
"""By operation the cycle and the middle day of each of its windows: what work was of which cycle is told by them."""


@dataclass(frozen=True, slots=True)
class Plan:
    """Everything a run of the planner says; ``middles`` are by tree, those of looks are not among them."""

    today: date
    items: tuple[Item, ...]
    not_planned: tuple[NotPlanned, ...]
    stages: Mapping[UUID, tuple[StageDate, ...]]
    weather: WeatherKnown
    middles: Mapping[UUID, Middles] = field(default_factory=dict)


def place_in_plan(item: Item) -> tuple[date, str, str, str, str]:
    """Return what items are listed by: as they open; no two share it."""
    return item.opens.likely, item.operation, str(item.tree_id), item.rule, str(item.id)


def item_id(garden_id: UUID, subject: UUID | str, rule: str, cycle: int, occurrence: int = 0) -> UUID:
    """Return the id of an item: a function of what it is, never of its date.

    >>> from uuid import UUID
    >>> garden = UUID(int=1)
    >>> item_id(garden, UUID(int=2), "decandling", 2015) == item_id(garden, UUID(int=2), "decandling", 2015)
    True
    """
    return uuid5(garden_id, f"{subject}|{rule}|{cycle}|{occurrence}")


PUBLISH_FROM = 0.5  # a window less likely than this is not published
