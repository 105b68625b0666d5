"""What a tree's log starts to follow: beginnings, the looks since, and what has ended them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from calendar_core.garden.parts import Look

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from uuid import UUID

    from calendar_core.garden.parts import Part
    from calendar_core.garden.state import Done, TreeState
    from calendar_core.knowledge.forms.aftercare import FollowUp, MeasureLimit


@dataclass(frozen=True)
class Followed:
    """One rule that follows one entry of a tree, or one part of it.

    ``looks`` are all of them in order: which look is the next is told by their number. ``on`` is when it began, or
    when its part was last directed.
    """

    rule: str
    entry: UUID
    on: date
    operation: str  # "" for a part that was written down
    part: Part | None
    looks: Sequence[Look]

    @property
    def fresh(self) -> Sequence[Look]:
        """The looks since it began: of a part that is directed anew those before say nothing any more."""
        return [look for look in self.looks if look.on >= self.on]

    @property
    def last(self) -> Look | None:
        """The latest look since it began."""
        return self.fresh[-1] if self.fresh else None

    @property
    def since(self) -> date:
        """The day from which the next look is counted."""
        return self.last.on if self.last else self.on

    @property
    def born(self) -> date:
        """The day whose cycle it belongs to: a part that is directed anew stays in its own."""
        return self.on if self.operation or self.part is None else self.part.since

    @property
    def concern(self) -> bool:
        """Whether the last look went badly: open until one goes well."""
        return self.last is not None and not self.last.well


def followed(rule: str, form: FollowUp, state: TreeState) -> Iterator[Followed]:
    """Yield what a rule follows of a tree, ended or not: of each part, and of the tree, the latest beginning."""
    latest: dict[UUID | None, tuple[date, UUID, str]] = {}
    for part in state.parts.values():
        if part.kind in form.of and _directed(part, form):
            since = part.since if form.directive is None else part.directed or part.since
            latest[part.id] = (since, part.began, "")
    for done in state.done:
        if done.operation in form.after and (done.share or 0.0) >= (form.share_from or 0.0):
            for where in done.parts or (() if form.only_parts else (None,)):
                there = where is None or where in state.parts
                if there and (where not in latest or latest[where][0] <= done.on):
                    latest[where] = (done.on, done.entry, done.operation)
    for where, (on, entry, operation) in latest.items():
        looks = [look for look in state.looks if (look.rule, look.of, look.part) == (rule, entry, where)]
        here = state.parts[where] if where else None
        if here is not None and form.measure:
            looks = sorted([*looks, *_measurings(here, form, on, looks)], key=lambda look: look.on)
        yield Followed(rule, entry, on, operation, here, looks)


def _measurings(part: Part, form: FollowUp, since: date, looks: Sequence[Look]) -> Iterator[Look]:
    """Yield as looks the days on which all was measured that a look asks for; what was not well stays so."""
    taken = [{measure.on for measure in part.course(what) if measure.on > since} for what in form.measure]
    for day in sorted(set.intersection(*taken) - {look.on for look in looks}):
        before = [look.well for look in looks if look.on < day]
        yield Look(rule=form.label, of=part.began, on=day, well=before[-1] if before else True, part=part.id)


def _directed(part: Part, form: FollowUp) -> bool:
    """Tell whether a part has, or had, the directive that a rule follows: what was decided ends it."""
    return form.directive in (None, part.directive) or (
        form.directive == "undecided" and part.decide_by != ""
    )


def ended(follow_up: Followed, form: FollowUp, state: TreeState, today: date) -> date | None:
    """Return the day on which a follow-up ended, None while it is open. A concern ends with the part or its work only."""
    ends, days = form.ends, []
    if follow_up.part is not None and follow_up.part.gone is not None:
        days.append(follow_up.part.gone)
    if follow_up.part is not None and form.directive not in (None, follow_up.part.directive):
        days.append(follow_up.part.directed or follow_up.on)
    days += [
        done.on
        for done in _since(follow_up, state)
        if done.operation in ends.after and _there(done, follow_up.part)
    ]
    if follow_up.part is not None and ends.measure is not None:
        days += _measured(follow_up.part, ends.measure, follow_up.on)
    if not follow_up.concern:
        if (
            ends.good is not None
            and len(follow_up.fresh) >= ends.good
            and all(look.well for look in follow_up.fresh[-ends.good :])
        ):
            days.append(follow_up.fresh[-1].on)
        last = last_day(follow_up, form)
        if last is not None and last < today:
            days.append(last)
    return min(days, default=None)


def last_day(follow_up: Followed, form: FollowUp) -> date | None:
    """Return the day after which nothing is looked at any more, if the rule knows one."""
    return None if form.ends.weeks is None else follow_up.on + timedelta(weeks=form.ends.weeks)


def _since(follow_up: Followed, state: TreeState) -> list[Done]:
    """Return the work after a beginning, in the order in which it was done."""
    begun = [place for place, done in enumerate(state.done) if done.entry == follow_up.entry]
    after = state.done[begun[-1] + 1 :] if begun else state.done
    return [done for done in after if done.on >= follow_up.on]


def _there(done: Done, part: Part | None) -> bool:
    """Tell whether work was on a part or, of what is followed on the whole tree, on all of it."""
    return not done.parts or (part is not None and part.id in done.parts)


def _measured(part: Part, limit: MeasureLimit, since: date) -> list[date]:
    return [
        measure.on
        for measure in part.course(limit.what)
        if measure.on >= since
        and (
            (limit.at_most is not None and measure.value <= limit.at_most)
            or (limit.at_least is not None and measure.value >= limit.at_least)
        )
    ]


def concerns(state: TreeState, rules: Mapping[str, FollowUp], today: date) -> list[Followed]:
    """Return what went badly at the last look and is open still."""
    return [
        follow_up
        for rule, form in rules.items()
        for follow_up in followed(rule, form, state)
        if follow_up.concern and ended(follow_up, form, state, today) is None
    ]
