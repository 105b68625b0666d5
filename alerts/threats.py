"""What hazards find and shelter answers: a threat to a tree on a day, and the move that meets it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from datetime import date, datetime
    from uuid import UUID

    from calendar_core.knowledge.words import Hazard, Means

Level = Literal["caution", "danger"]
Why = Literal["below the line", "best there is", "warm room", "stays in", "stays shaded", "no better place"]


@dataclass(frozen=True, slots=True)
class Threat:
    """One hazard to one tree on one local day; a night belongs to the day of its morning.

    ``typical`` and ``bad`` are its worst moment in the middle course of the weather and in the one course of
    ten that is worst, in the unit of the hazard and beside its two lines: a leaf's or root ball's temperature
    [degC], the share of the light it is used to that comes on top, the share of its water that is used, wind
    [m/s]. ``chances`` are the shares of courses that pass the line of caution and of danger. ``begins`` and
    ``ends`` bound the hours beyond the line of caution in the bad course [UTC]. ``reasons`` are codes of what
    lowers a line: "new leaves", "opened up", "more light", "fresh roots", "weak"; "chill" where lines are those of
    a tree that cold above freezing harms, by frost those of the air. ``deep`` is the middle course's worst
    moment of what the line of danger is held against, where that is another than that of caution: of cold roots the
    middle of the root ball, while ``typical`` and ``bad`` are its wall.
    """

    tree: UUID
    hazard: Hazard
    day: date
    begins: datetime
    ends: datetime
    typical: float
    bad: float
    caution: float
    danger: float
    chances: tuple[float, float]
    reasons: tuple[str, ...] = ()
    deep: float | None = None


@dataclass(frozen=True, slots=True)
class Advice:
    """What to do about a threat: the smallest means that keep the tree below its line.

    ``to`` is the spot of a move. ``here`` and ``there`` are the bad course's worst moment as it stands and with the
    means, in the unit of the threat; of several trees those of the worst off. ``light_mol`` is the daily light there
    [mol m-2 d-1] and ``enough`` whether the tree can stay for a hot week; both are None where light does not matter.
    ``cloth_percent`` is that of a cover.
    ``back`` are the steps by which a tree that got used to shade returns: from a day on, at a spot. ``why`` is a code:
    "below the line", "best there is", "warm room", "stays in", "stays shaded", "no better place". ``asked`` tells that
    another warning asks for the same move before.
    """

    trees: tuple[UUID, ...]
    hazard: Hazard
    do: Means
    by: datetime
    until: datetime
    here: float
    there: float
    to: UUID | None = None
    light_mol: float | None = None
    enough: bool | None = None
    cloth_percent: int = 0
    back: tuple[tuple[date, UUID], ...] = ()
    why: Why = "below the line"
    asked: bool = False
