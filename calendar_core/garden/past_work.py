"""Past work: what the log of a tree tells of the last time an operation was done."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.knowledge.forms.operations import family_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from calendar_core.garden.state import Done, TreeState
    from calendar_core.knowledge.forms.feeding import FeedAfter
    from calendar_core.knowledge.forms.operations import Operation


def latest_done(state: TreeState, operations: Mapping[str, Operation]) -> dict[str, Done]:
    """Return the latest time of each operation, those that count as the same taken together."""
    out: dict[str, Done] = {}
    for done in state.done:
        family = family_of(done.operation, operations)
        if family not in out or done.on > out[family].on:
            out[family] = done
    return out


def last_like(rule: FeedAfter, state: TreeState) -> Done | None:
    """Return the latest time of a rule's operation, or of work that took as much of the foliage."""
    line = rule.share_over
    times = [
        done
        for done in state.done
        if done.operation == rule.operation or (line is not None and (done.share or 0.0) > line)
    ]
    return max(times, key=lambda done: done.on, default=None)
