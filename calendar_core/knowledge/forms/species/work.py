"""The form of a work of a species: what it asks of the tree, what holds it, and when it is due."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from calendar_core.knowledge.forms.based import Based, Strict
from calendar_core.knowledge.forms.species.anchors import Anchor
from calendar_core.knowledge.words import AIMS, Aim


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
