"""Due and wished: which of the possible works a tree should get in a cycle, from its state alone."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from calendar_core.garden.state import asked_after
from calendar_core.knowledge.forms.operations import FEEDING, family_of, is_feeding
from calendar_core.planning.items import Reason, Status
from calendar_core.planning.waits import Held, wait_after

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from calendar_core.garden.state import Done, TreeState
    from calendar_core.knowledge.forms.feeding import FeedAfter
    from calendar_core.knowledge.forms.operations import Operation
    from calendar_core.knowledge.forms.species.work import Work


@dataclass(frozen=True)
class Decision:
    """``status`` None means not to be planned; ``against`` says why, ``reasons`` what speaks for the item.

    ``not_before`` is the end of a hold that moves the opening.
    """

    status: Status | None
    reasons: tuple[Reason, ...]
    against: tuple[Reason, ...]
    not_before: date | None = None


def decide(
    work: Work,
    state: TreeState,
    cycle: int,
    belongs: Callable[[str, date], int],
    fed_from: date | None,
    operations: Mapping[str, Operation],
    latest: Mapping[str, Done],
    fed_after: Sequence[FeedAfter] = (),
    leaves_back: Sequence[Held] = (),
    fed: Sequence[Held] | None = None,
) -> Decision:
    """Return whether a work is due, wished, merely possible or ruled out for a tree in a cycle.

    ``belongs`` gives the cycle that an entry of an operation belongs to. ``fed_from`` is the likely date of the stage since which a feeding must be in the log, if one must. ``latest`` is
    `latest_done` of the state, which all works of a tree share. ``fed_after`` are the waits after work of all fertilizing,
    ``leaves_back`` those of the work until leaves that were taken are back. ``fed`` is until when what was given last
    lasts, for fertilizing; without it the weeks of its operation count.
    """
    again = None if work.once else operations[work.operation].again_weeks
    done = latest.get(family_of(work.operation, operations))
    gap = (
        None if done is None else cycle - belongs(work.operation, done.on)
    )  # 0 is this cycle's, less a later one's
    against = (
        *_unfit(work, state),
        *_unfed(work, fed_from, latest.get(family_of(FEEDING, operations))),
        *_nothing_to_follow(work, state),
        *_already(work, state, cycle, belongs, gap, done, again),
    )
    held = [*_held(work, state), *leaves_back]
    feeds = is_feeding(work.operation, operations)
    if feeds:
        held += _waits(fed_after, state, held)
    holds = [
        *held,
        *_since_weeks(work, state),
        *(fed if feeds and fed is not None else _again(done, again, work)),
    ]
    until = max(end for end, _ in holds) if holds else None
    if against:
        return Decision(None, (), against, until)
    status, reasons = _claim(work, state, cycle, gap, done)
    return Decision(status, (*reasons, *_fit(work, state), *(reason for _, reason in holds)), (), until)


def _of(work: Work, code: str, **values: object) -> Reason:
    return _reason(code, basis=work.basis, source=work.source or "", **values)


@lru_cache(maxsize=4096, typed=True)  # trees share most of their reasons
def _reason(code: str, **values: Any) -> Reason:
    return Reason(code, **values)


def _unfit(work: Work, state: TreeState) -> list[Reason]:
    need, out = work.requires, []
    if state.aim not in need.aims:
        out.append(_of(work, "aim_unfit", found=state.aim, needed=", ".join(need.aims)))
    if state.vigour < need.vigour_min:
        out.append(_of(work, "vigour_low", found=state.vigour, needed=need.vigour_min))
    return out


def _unfed(work: Work, fed_from: date | None, last: Done | None) -> list[Reason]:
    if fed_from is None or (last is not None and last.on >= fed_from):
        return []
    return [_of(work, "not_fed", subject=work.requires.fed_since or "", needed=fed_from)]


def _nothing_to_follow(work: Work, state: TreeState) -> list[Reason]:
    """Work that undoes or follows another wants that in the log after its own last time, be it on the same day."""
    if work.requires.since is None:
        return []
    last = {done.operation: place for place, done in enumerate(state.done)}  # the log is in order
    if last.get(work.requires.since, -1) > last.get(work.operation, -1):
        return []
    return [_of(work, "nothing_since", subject=work.requires.since)]


def _fit(work: Work, state: TreeState) -> list[Reason]:
    if work.requires.vigour_min > 1:
        return [_of(work, "vigour_enough", found=state.vigour, needed=work.requires.vigour_min)]
    return []


def _already(
    work: Work,
    state: TreeState,
    cycle: int,
    belongs: Callable[[str, date], int],
    gap: int | None,
    last: Done | None,
    again_weeks: float | None,
) -> list[Reason]:
    """Done in this cycle, in one that must rest, or shut out by another operation of the same cycle."""
    if last is not None and gap is not None and again_weeks is None:
        if gap <= 0 and (work.rest_years or not asked_after(last.entry, work, state, cycle)):
            return [_of(work, "done", subject=work.operation, found=last.on)]
        if 0 < gap <= work.rest_years:
            return [
                _of(work, "rests", subject=work.operation, found=last.on, needed=work.rest_years, unit="a")
            ]
    for hold in work.holds:
        other = state.last(hold.after) if hold.same_cycle else None
        if other is not None and belongs(hold.after, other.on) == cycle:
            return [_of(work, "same_cycle", subject=hold.after, found=other.on)]
    return []


def _held(work: Work, state: TreeState) -> list[Held]:
    """Return the end of each hold with its reason."""
    out = []
    for hold in work.holds:
        other = state.last(hold.after) if hold.weeks is not None else None
        if hold.weeks is not None and other is not None:
            values = {"subject": hold.after, "found": other.on, "needed": hold.weeks, "unit": "wk"}
            reason = _reason("hold", basis=hold.basis, source=hold.source or "", **values)
            out.append((other.on + timedelta(weeks=hold.weeks), reason))
    return out


def _since_weeks(work: Work, state: TreeState) -> list[Held]:
    """Return until when work that follows another waits for it."""
    since, weeks = work.requires.since, work.requires.since_weeks
    last = state.last(since) if since is not None else None
    if last is None or weeks is None:
        return []
    return [
        (
            last.on + timedelta(weeks=weeks),
            _of(work, "hold", subject=since, found=last.on, needed=weeks, unit="wk"),
        )
    ]


def _waits(rules: Sequence[FeedAfter], state: TreeState, held: Sequence[Held]) -> list[Held]:
    """Return the waits of fertilizing that the work does not know itself; slow fertilizer need not wait for all."""
    known = {(reason.subject, reason.found) for _, reason in held}
    waits = [wait_after(rule, state) for rule in rules if not rule.dissolved]
    return [wait for wait in waits if wait is not None and (wait[1].subject, wait[1].found) not in known]


def _again(last: Done | None, again_weeks: float | None, work: Work) -> list[Held]:
    """Return until when work that comes again rests after its last time."""
    if last is None or again_weeks is None:
        return []
    reason = Reason("again", subject=work.operation, found=last.on, needed=again_weeks, unit="wk")
    return [(last.on + timedelta(weeks=again_weeks), reason)]


def _claim(
    work: Work, state: TreeState, cycle: int, gap: int | None, last: Done | None
) -> tuple[Status, list[Reason]]:
    if any(w.operation == work.operation and w.cycle in (None, cycle) for w in state.wishes):
        return "wished", [_of(work, "wished", subject=work.operation)]
    if work.due == "season":
        return "due", [_of(work, "season")]
    if work.due == "programme" and state.aim in work.programme:
        return "due", [_of(work, "programme", subject=state.aim)]
    if work.due == "interval" and work.every_years is not None:
        years = getattr(work.every_years, state.size)
        if last is None or gap is None:
            return "possible", [_of(work, "interval_unknown", subject=work.operation, needed=years, unit="a")]
        code = "interval" if gap >= years else "interval_early"
        reason = _of(work, code, subject=work.operation, found=last.on, needed=years, unit="a")
        return "due" if gap >= years else "possible", [reason]
    if work.due == "programme":
        return "possible", [_of(work, "other_aim", found=state.aim, needed=", ".join(work.programme))]
    return "possible", [_of(work, "not_wished", subject=work.operation)]
