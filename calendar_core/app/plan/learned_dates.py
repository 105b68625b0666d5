"""What was learned of a tree's dates: how they differ from those of a tree of its kind of which nothing was seen."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree
    from calendar_core.planning.items import Range, StageDate

LEAST_DAYS = 1  # a shift of less is none: stages are seen on days


@dataclass(frozen=True, slots=True)
class LearnedDate:
    """The days of a stage as this tree has them, and as one of its kind would without what was seen of it."""

    stage: str
    cycle: int
    own: Range
    usual: Range

    @property
    def later_days(self) -> int:
        """How many days later than usual it comes, negative if sooner."""
        return (self.own.likely - self.usual.likely).days

    @property
    def narrower_days(self) -> int:
        """How many days fewer its range of eight times in ten has."""
        return (self.usual.late - self.usual.early).days - (self.own.late - self.own.early).days


def learned_dates(session: Session, tree: Tree) -> list[LearnedDate]:
    """Return the coming stages that what was seen of a tree has moved or made surer, in the order of time.

    They are those of two plans, with and without what was seen of it in earlier years.
    """
    if not session.states[tree.id].seen:
        return []
    unseen = session.part([tree])
    unseen.__dict__["entries"] = tuple(entry for entry in unseen.entries if entry.kind != "seen")
    own, usual = (_ahead(some, tree) for some in (session, unseen))
    both = (
        LearnedDate(*key, stage.range, usual[key].range)  # type: ignore[arg-type]  # only those with a range are kept
        for key, stage in own.items()
        if key in usual and not stage.seen
    )
    told = [date for date in both if max(abs(date.later_days), abs(date.narrower_days)) >= LEAST_DAYS]
    return sorted(told, key=lambda date: date.own.likely)


def _ahead(session: Session, tree: Tree) -> dict[tuple[str, int], StageDate]:
    """Return the stages that come within a year, the first time each."""
    found: dict[str, StageDate] = {}
    for stage in sorted(session.plan.stages[tree.id], key=lambda stage: stage.cycle):
        if stage.range is not None and stage.range.likely > session.today:
            found.setdefault(stage.stage, stage)
    return {(name, stage.cycle): stage for name, stage in found.items()}
