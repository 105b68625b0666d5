"""What all other knowledge refers to: operations, and where numbers come from."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import Field, TypeAdapter

from calendar_core.knowledge.forms.aftercare import InSeason
from calendar_core.knowledge.forms.based import Based
from calendar_core.knowledge.words import PartKind

if TYPE_CHECKING:
    from collections.abc import Mapping


class OfPart(Based):
    """What an operation is when it is decided of a part: of which kinds, what is done, and how long it may wait.

    Season and weeks count where the tree's kind has no window for the operation, or what is decided is done ``at_once``.
    """

    kinds: Annotated[tuple[PartKind, ...], Field(min_length=1)]
    how: str
    season: InSeason | None = None
    weeks: Annotated[float, Field(gt=0, le=52)]
    at_once: bool = False  # whether or not the tree's kind has a window for it


class Operation(Based):
    """An operation of the grower's year."""

    label: str
    done: str  # the verb that answers it, in the past tense
    weight: Annotated[int, Field(ge=0, le=3)]  # how much it takes out of a tree; 2 and more is a heavy job
    minutes: Annotated[float, Field(gt=0, le=600)]
    again_weeks: Annotated[float, Field(gt=0, le=52)] | None = None  # work that comes again within one window
    counts_as: str | None = None  # the operation whose log it shares
    makes: PartKind | None = None  # the kind of part that begins with it
    takes: Literal["wood", "leaves", "roots"] | None = None  # what cannot be put back
    of_part: OfPart | None = None  # if it can be decided of a part by itself
    late: str | None = None  # what is lost if it is done once its window has closed
    tools: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


OPERATIONS = TypeAdapter(dict[str, Operation])
FEEDING = "feeding"
HEAVY = 2  # the weight of an operation from which only one is planned per tree and cycle


def is_feeding(operation: str, operations: Mapping[str, Operation]) -> bool:
    """Tell whether an operation is one of fertilizing."""
    return family_of(operation, operations) == FEEDING


def family_of(operation: str, operations: Mapping[str, Operation]) -> str:
    """Return the operation whose log an operation shares; most have their own."""
    return operations[operation].counts_as or operation
