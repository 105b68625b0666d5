"""From what subscribers were told and what the plan says now to what they are told next."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from datetime import date, datetime, timedelta
from math import ceil
from typing import TYPE_CHECKING, Literal, TypeVar

from calendar_core.planning.events import ComputedEvent, PublishedEvent

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from uuid import UUID

    from calendar_core.planning.events import EventStatus

E = TypeVar("E", PublishedEvent, ComputedEvent)
ChangeKind = Literal["added", "moved", "prolonged", "status", "text", "cancelled", "removed", "reinstated"]
TEXT = ("tree_ids", "summary", "description", "reminder", "categories", "begins", "minutes")
Outcome = tuple[PublishedEvent | None, ChangeKind | None]


@dataclass(frozen=True, slots=True)
class Damping:
    """How far and how often a told date may move.

    No standard sets these. All are estimates, chosen by replaying Seattle springs (2012 to 2015) day by day
    so that an event moves at most three times, and at most once where there is noise of a day either way.
    """

    band_d: int = 2
    """A shift worth telling; each move already told makes the next that much dearer."""
    dearest: int = 3
    """As many bands a move costs at most: a date that is told wrong must not stay so for good."""
    later_band_d: int = 3
    """The same for a last day that moves later: nothing is lost by keeping the earlier one."""
    soon_d: int = 14
    """Within so many days a last day that comes sooner is told at once, without surcharge."""
    far_share: float = 0.20
    """Beyond ``soon_d`` the band is this share of the days left: nothing is known so well so far ahead."""
    far_d: int = 30
    """Beyond so many days moves are ``far_rest_d`` apart, else ``rest_d``."""
    rest_d: int = 1
    far_rest_d: int = 7
    text_rest_d: int = 7
    cancelled_d: int = 7
    """How long a cancellation stays to be seen: most calendar programs look at least weekly."""
    kept_d: int = 60
    """How much of the past stays at least, so that programs do not drop their history."""
    many_share: float = 0.30
    """More than this share of at least ``many_from`` events lost at once is a fault, not the weather."""
    many_from: int = 10

    def band_at_d(self, lead_d: int) -> int:
        """Return the shift (days) worth telling when ``lead_d`` days are left."""
        return self.band_d if lead_d <= self.soon_d else max(self.band_d, ceil(self.far_share * lead_d))


DAMPING = Damping()


@dataclass(frozen=True, slots=True)
class Change:
    """What happened to one event; ``status`` is a change of status alone, ``moved`` one of dates.

    What is ``prolonged`` waits for the grower: no weather moved it.
    """

    uid: UUID
    kind: ChangeKind


@dataclass(frozen=True, slots=True)
class Revision:
    """The full new published state, sorted by uid, and what changed to get there."""

    events: tuple[PublishedEvent, ...]
    changes: tuple[Change, ...]


class MassWithdrawalError(ValueError):
    """So many events would vanish at once that a fault is likelier than the weather."""


@dataclass(frozen=True, slots=True)
class _Run:
    """The moment and the rules of one revision."""

    now: datetime
    today: date
    edited: frozenset[UUID]
    damping: Damping
    late: frozenset[UUID]
    gone: Mapping[UUID, PublishedEvent]

    def days_to(self, day: date) -> int:
        return (day - self.today).days

    def is_past(self, event: PublishedEvent | ComputedEvent) -> bool:
        return event.end < self.today

    def rested(self, told: PublishedEvent) -> bool:
        lead_d = self.days_to(told.start if told.start > self.today else told.end)
        rest_d = self.damping.far_rest_d if lead_d > self.damping.far_d else self.damping.rest_d
        return -self.days_to(told.dates_changed) >= rest_d

    def missed(self, told: PublishedEvent, plan: ComputedEvent) -> bool:
        """Tell whether what was told is over though the plan's window has yet to come, or has opened since."""
        return self.is_past(told) and told.end < plan.start and not self.is_past(plan)

    def prolongs(self, told: PublishedEvent, plan: ComputedEvent | None) -> bool:
        """Tell whether what was told is over though its trees still wait for it."""
        over = self.is_past(told) and plan is not None and not self.is_past(plan)
        return over and told.uid in self.late

    def stamp(self, told: PublishedEvent) -> datetime:
        """Return a LAST-MODIFIED that rises: some readers skip an event whose stamp is not newer."""
        return max(self.now, told.revised_at + timedelta(seconds=1))


def revise(
    published: Sequence[PublishedEvent],
    computed: Sequence[ComputedEvent],
    *,
    now: datetime,
    today: date,
    edited: frozenset[UUID] = frozenset(),
    late: frozenset[UUID] = frozenset(),
    gone: Mapping[UUID, PublishedEvent] | None = None,
    allow_many: bool = False,
    damping: Damping = DAMPING,
) -> Revision:
    """Move the published state towards the computed one, by as few changes as the trees allow.

    Parameters
    ----------
    now
        The instant of the run, in UTC; cut to whole seconds.
    today
        The garden's local day.
    edited
        Events the grower has just changed something about: told at once and in full.
    late
        Events that wait for the grower although their last day has passed: they do not end before they are answered.
    gone
        Events that left the calendar, as they were last told.
    allow_many
        Publish even if many events vanish.

    Raises
    ------
    MassWithdrawalError
        If more than ``many_share`` of at least ``many_from`` coming or open events would vanish unasked.
    ValueError
        If ``now`` is not UTC, a uid comes twice, or an event ends before it starts.

    Notes
    -----
    RFC 5545 3.8.7.3 and 3.8.7.4: SEQUENCE rises with dates and status, LAST-MODIFIED with any change.
    Both never fall, nor does CREATED change, when an event comes back after it left the calendar: a program that has
    kept it would pass over what looks older.
    """
    if now.utcoffset() != timedelta(0):
        raise ValueError("now must be in UTC")
    run = _Run(now.replace(microsecond=0), today, edited, damping, late, gone or {})
    old, new = _by_uid(published), _by_uid(computed)
    new = {uid: event for uid, event in new.items() if event.status != "CANCELLED"}
    if not allow_many:
        _refuse_many(old, new, run)
    events: list[PublishedEvent] = []
    changes: list[Change] = []
    for uid in sorted(old.keys() | new.keys()):
        event, kind = _next(old.get(uid), new.get(uid), run)
        if event is not None:
            events.append(event)
        if kind is not None:
            changes.append(Change(uid, kind))
    return Revision(tuple(events), tuple(changes))


def _by_uid(events: Sequence[E]) -> dict[UUID, E]:
    found: dict[UUID, E] = {}
    for event in events:
        if event.uid in found:
            raise ValueError(f"event {event.uid} comes twice")
        if event.end < event.start:
            raise ValueError(f"event {event.uid} ends on {event.end}, before it starts on {event.start}")
        found[event.uid] = event
    return found


def _refuse_many(old: dict[UUID, PublishedEvent], new: dict[UUID, ComputedEvent], run: _Run) -> None:
    live = [uid for uid, told in old.items() if told.status != "CANCELLED" and not run.is_past(told)]
    lost = [uid for uid in live if uid not in new and uid not in run.edited]
    if len(live) >= run.damping.many_from and len(lost) > run.damping.many_share * len(live):
        raise MassWithdrawalError(
            f"{len(lost)} of {len(live)} coming events would vanish; nothing was published"
        )


def _next(told: PublishedEvent | None, plan: ComputedEvent | None, run: _Run) -> Outcome:
    """Return the next published state of one event (None: not in the calendar) and what happened to it."""
    if told is None:
        return (None, None) if plan is None or run.is_past(plan) else (_first(plan, run), "added")
    if told.status == "CANCELLED":
        return _after_cancelling(told, plan, run)
    asked_again = told.uid in run.edited and plan is not None and not run.is_past(plan)
    still_to_come = plan is not None and (run.missed(told, plan) or run.prolongs(told, plan))
    if run.is_past(told) and not (asked_again or still_to_come):
        return _history(told, run)
    return _follow(told, plan, run) if plan is not None else (_cancel(told, run), "cancelled")


def _first(plan: ComputedEvent, run: _Run) -> PublishedEvent:
    before = run.gone.get(plan.uid)
    return PublishedEvent(
        **{field.name: getattr(plan, field.name) for field in fields(plan)},
        sequence=0 if before is None else before.sequence + 1,
        created_at=run.now if before is None else before.created_at,
        revised_at=run.now if before is None else run.stamp(before),
        dates_changed=run.today,
        text_changed=run.today,
    )


def _cancel(told: PublishedEvent, run: _Run) -> PublishedEvent:
    return _tell(told, None, run, (told.start, told.end), "CANCELLED")


def _after_cancelling(told: PublishedEvent, plan: ComputedEvent | None, run: _Run) -> Outcome:
    asked = told.uid in run.edited or run.rested(told)
    if plan is not None and not run.is_past(plan) and asked:
        return _tell(told, plan, run, (plan.start, plan.end), plan.status), "reinstated"
    if -run.days_to(told.dates_changed) >= run.damping.cancelled_d:
        return None, "removed"
    return told, None


def _history(told: PublishedEvent, run: _Run) -> Outcome:
    """Keep what is past as it was; drop the oldest in one step a month, not a little every day."""
    oldest = run.today.replace(day=1) - timedelta(days=run.damping.kept_d)
    return (None, "removed") if told.end < oldest else (told, None)


def _follow(told: PublishedEvent, plan: ComputedEvent, run: _Run) -> Outcome:
    dates = _dates(told, plan, run)
    moved = dates != (told.start, told.end)
    event = _tell(told, plan, run, dates, _status(told, plan, run, moved=moved))
    if event == told:
        return told, None
    if moved:
        return event, "prolonged" if run.prolongs(told, plan) else "moved"
    return event, "status" if event.status != told.status else "text"


def _tell(
    told: PublishedEvent, plan: ComputedEvent | None, run: _Run, dates: tuple[date, date], status: EventStatus
) -> PublishedEvent:
    """Return ``told`` with these dates and status, and with the plan's text if it is time to tell it."""
    dated = (*dates, status) != (told.start, told.end, told.status)
    text_due = dated or told.uid in run.edited or -run.days_to(told.text_changed) >= run.damping.text_rest_d
    worded = _with_text_of(plan, told, run.today) if plan is not None and text_due else told
    timed = worded.begins != told.begins or (worded.begins is not None and worded.minutes != told.minutes)
    if not dated and worded == told:
        return told
    return replace(
        worded,
        start=dates[0],
        end=dates[1],
        status=status,
        sequence=told.sequence + (dated or timed),
        moves=told.moves + (dates != (told.start, told.end) and told.uid not in run.edited | run.late),
        revised_at=run.stamp(told),
        dates_changed=run.today if dated else told.dates_changed,
    )


def _with_text_of(plan: ComputedEvent, told: PublishedEvent, today: date) -> PublishedEvent:
    worded = replace(told, **{name: getattr(plan, name) for name in TEXT})
    return told if worded == told else replace(worded, text_changed=today)


def _dates(told: PublishedEvent, plan: ComputedEvent, run: _Run) -> tuple[date, date]:
    """Return the dates to tell. An opening that has been stays, unless the plan's window is quite another."""
    if told.uid in run.edited or run.missed(told, plan):
        return plan.start, plan.end
    if run.prolongs(told, plan):
        return told.start, plan.end
    sooner = _closes_sooner(told, plan, run)
    if not sooner and not (run.rested(told) and _worth_moving(told, plan, run)):
        return told.start, told.end
    overlap = told.start <= plan.end and plan.start <= told.end
    start = told.start if told.start <= run.today and overlap else plan.start
    if sooner:
        # A last day that keeps coming sooner is told with days in hand, one more for each move so far (0, 1, 3),
        # or it would have to be told again and again.
        moves = _dearness(told, run) - 1
        in_hand = plan.end - timedelta(days=moves * (moves + 1) // 2)
        return start, max(in_hand, min(plan.end, max(start, run.today)))
    later_d = (plan.end - told.end).days
    keep_end = 0 < later_d < run.damping.later_band_d and start <= told.end
    return start, told.end if keep_end else plan.end


def _closes_sooner(told: PublishedEvent, plan: ComputedEvent, run: _Run) -> bool:
    """Tell whether the last day comes sooner than told, and soon: a late one can cost the tree."""
    soon = run.days_to(plan.end) <= run.damping.soon_d
    return soon and (told.end - plan.end).days >= run.damping.band_d


def _worth_moving(told: PublishedEvent, plan: ComputedEvent, run: _Run) -> bool:
    damping, dearer = run.damping, _dearness(told, run)
    if run.days_to(told.start) == 1 and (plan.start - told.start).days >= damping.later_band_d:
        return True  # on its eve an opening that comes later is told, or the work is begun too soon
    opens_d = abs((plan.start - told.start).days) if told.start > run.today else 0
    closes_d = (plan.end - told.end).days
    end_band_d = damping.band_at_d(run.days_to(told.end))
    return (
        opens_d >= dearer * damping.band_at_d(run.days_to(told.start))
        or -closes_d >= dearer * end_band_d
        or closes_d >= dearer * max(end_band_d, damping.later_band_d)
    )


def _dearness(told: PublishedEvent, run: _Run) -> int:
    """Return how many bands the next move costs: the weather's moves count, not what the grower ticked off."""
    return min(1 + told.moves, run.damping.dearest)


def _status(told: PublishedEvent, plan: ComputedEvent, run: _Run, *, moved: bool) -> EventStatus:
    """Confirm as soon as the rest allows; fall back to tentative only together with a move still ahead."""
    if told.uid in run.edited or (moved and told.start > run.today):
        return plan.status
    return plan.status if plan.status == "CONFIRMED" and (moved or run.rested(told)) else told.status
