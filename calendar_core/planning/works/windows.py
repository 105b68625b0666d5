"""Windows: from the moments that open and close a work to a chance and ranges, for many trees at once."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from calendar_core.knowledge.forms.species.anchors import Anchor
from calendar_core.planning.seasons.members import by_group, middles, quantiles
from calendar_core.planning.works.anchors import limits

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from calendar_core.knowledge.forms.species.work import Work
    from calendar_core.planning.seasons.cycle import Cycle, Fact
    from calendar_core.planning.works.anchors import Limit

    Floats = NDArray[np.float64]

LEAST_DAYS = 7  # estimate: as an event of the calendar is at least a week long


@dataclass(frozen=True)
class Window:
    """One work in one cycle: the moment that opens it and the candidates that close it; ``after`` is a stage it waits for."""

    work: Work
    opens: Limit
    closing: Sequence[Limit]
    after: Fact | None = None

    @cached_property
    def closes(self) -> Floats:
        """Labels of the earliest closing limit."""
        labels = self.closing[0].labels
        for limit in self.closing[1:]:
            labels = np.minimum(labels, limit.labels)
        return labels

    @cached_property
    def likely(self) -> tuple[Floats, Floats]:
        """The middle opening and closing of each group, whatever the other does."""
        opens, fact = self.opens.labels, self.opens.fact
        return fact.likely if opens is fact.labels else middles(opens), middles(self.closes)

    @property
    def one_for_all(self) -> bool:
        """Whether it is the same for all groups, as where weather alone opens and closes it."""
        return bool(self.opens.labels.shape[1] == self.closes.shape[1] == 1)


def window(work: Work, at: Cycle) -> Window:
    """Return the window of a work in a cycle; a stage it must come after holds its opening back, one it must come before ends it."""
    opens, stage = limits(work.opens, work, at)[0], work.requires.after_stage
    after = None if stage is None else at.fact(stage)
    if after is not None:
        opens = replace(opens, labels=np.maximum(opens.labels, after.labels))
    alone = len(work.closes) == 1
    closing = [limit for anchor in work.closes for limit in limits(anchor, work, at, alone=alone)]
    if work.requires.before_stage is not None:
        closing.append(_ended(limits(Anchor(stage=work.requires.before_stage), work, at)[0], opens))
    return Window(work, opens, closing, after)


def _ended(limit: Limit, opens: Limit) -> Limit:
    """Return a stage as an end: one that was seen, and is the same in all members, for sure; a foretold one leaves a week.

    The season opens the window by published dates, which are better known than how early such a stage may come.
    """
    seen = np.isfinite(limit.labels).all() and np.ptp(limit.labels, axis=(0, 2), keepdims=True) == 0
    return replace(
        limit, labels=np.where(seen, limit.labels, np.maximum(limit.labels, opens.labels + LEAST_DAYS))
    )


class Variant(NamedTuple):
    """What of a tree changes a window: its group, the day before which it must not open, its share of the window."""

    group: int
    not_before: float = -np.inf
    half: str = "whole"  # "first" and "second" split the window by size


@dataclass(frozen=True)
class Summary:
    """Per variant: the chance of it from today on, quantiles (3, n) of opening and closing, and which closing limit binds most often."""

    chance: Floats
    opens: Floats
    closes: Floats
    binding: NDArray[np.intp]


def summarise(span: Window, variants: Sequence[Variant], *, today: int, end: int) -> Summary:
    """Return chance and ranges of a window for each variant.

    A member has the window if it opens before it closes; quantiles are over the members that have it. The chance is
    that it is not over before ``today``: a closing that nobody sees teaches nothing by not being seen, so a day that
    is safe in nine years of ten stays that day. Closing never happening is read as ``end``, the last index.
    """
    groups = np.array([v.group for v in variants])
    opens, closes = by_group(span.opens.labels, groups), by_group(np.minimum(span.closes, float(end)), groups)
    opens, closes = np.broadcast_arrays(opens, closes)
    if span.work.by_size:
        halves = np.array([v.half for v in variants])[:, None, None]
        middle = (opens + closes) / 2
        opens, closes = (
            np.where(halves == "second", middle, opens),
            np.where(halves == "first", middle, closes),
        )
    opens = np.maximum(opens, np.array([v.not_before for v in variants])[:, None, None])
    has = opens < closes
    chance = (has & (closes > today - 1)).mean(axis=(1, 2))
    return Summary(chance, quantiles(opens, has), quantiles(closes, has), _binding(span.closing, groups))


def _binding(closing: Sequence[Limit], groups: NDArray[np.intp]) -> NDArray[np.intp]:
    """Return which limit is the earliest in most members of each group."""
    if len(closing) == 1:
        return np.zeros(len(groups), dtype=np.intp)
    earliest = by_group(np.stack(np.broadcast_arrays(*(c.labels for c in closing))).argmin(axis=0), groups)
    counts = [(earliest == place).sum(axis=(1, 2)) for place in range(len(closing))]
    return np.broadcast_to(np.argmax(counts, axis=0), groups.shape)
