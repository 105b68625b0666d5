"""How strong a tree is fertilized on a day, or what it waits for: from its windows, its state and the heat to come."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

from calendar_core.garden.past_work import last_like
from calendar_core.planning.feeding.cakes import Cakes, cakes
from calendar_core.planning.feeding.holds import (
    FeedingCase,
    FeedingHold,
    heat_c,
    heat_hold,
    heat_turns,
    holds,
    waits_ahead,
)
from calendar_core.planning.feeding.last_feeding import every_weeks, fed_until
from calendar_core.planning.feeding.season import (
    LOW_NITROGEN,
    FeedingWindow,
    bloom_starts,
    open_on,
    phase_starts,
    season_end,
    windows,
)
from calendar_core.planning.items import Reason

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from calendar_core.knowledge.forms import feeding as species_feeding
    from calendar_core.knowledge.forms.feeding import FeedingRules, Row
    from calendar_core.knowledge.forms.operations import Operation

Pair = tuple[float, float]
NOTHING: Pair = (0.0, 0.0)
REST, AUTUMN, FIRST = "rest", "autumn", "new growth"


@dataclass(frozen=True, slots=True)
class Strength:
    """Per cent of the label's rate and nitrogen of what is poured [mg/L], each from low to high, and why."""

    percent: Pair = NOTHING
    n_mg_l: Pair = NOTHING
    reasons: tuple[Reason, ...] = ()

    def times(self, share: float, why: Reason) -> Strength:
        """Return a share of it."""
        return self._cut((self.percent[0] * share, self.percent[1] * share), why) if share < 1 else self

    def within(self, usual: species_feeding.StrengthRow | None, why: Reason) -> Strength:
        """Return it with no more than is usual, nothing where that is nothing."""
        if usual is None:
            return Strength()
        percent, n_mg_l = (
            (min(mine[0], most[0]), min(mine[1], most[1]))
            for mine, most in ((self.percent, usual.percent), (self.n_mg_l, usual.n_mg_l))
        )
        return Strength(percent, n_mg_l, (*self.reasons, why))

    def at_most(self, percent: float, why: Reason) -> Strength:
        """Return it with nothing above so many per cent."""
        low, high = self.percent
        return self._cut((min(low, percent), min(high, percent)), why) if high > percent else self

    def _cut(self, percent: Pair, why: Reason) -> Strength:
        """Return it at less; nitrogen falls in the same measure."""
        parts = zip(self.n_mg_l, percent, self.percent, strict=True)
        low, high = sorted(n * new / old if old else n for n, new, old in parts)
        return Strength(percent, (low, high), (*self.reasons, why))


@dataclass(frozen=True, slots=True)
class Feeding:
    """What is given from ``day`` on, each time: per cent of the label's rate and nitrogen of what is poured [mg/L].

    ``hold`` are the reasons why nothing is, until ``not_before`` where that is known. ``reasons`` tell the
    strength, ``until`` when another one or the end of the season comes. ``next_on`` is the next time.
    """

    day: date
    phase: str
    percent: Pair
    n_mg_l: Pair
    every_weeks: float
    low_nitrogen: bool
    next_on: date | None
    until: date | None
    hold: tuple[Reason, ...]
    not_before: date | None
    reasons: tuple[Reason, ...]
    cakes: Cakes

    @property
    def given(self) -> tuple[object, ...]:
        """What is given, and how often; what is not is told by the reasons for it."""
        return self.percent, self.n_mg_l, self.every_weeks, self.low_nitrogen, self.hold, self.reasons[1:]

    def dates(self, last: date, before: date | None = None) -> list[date]:
        """Return the days to fertilize up to ``last`` at this strength; ``before`` is the time before, if one is planned."""
        out, day = [], self.next_on
        if day is not None and before is not None:
            day = max(day, before + timedelta(weeks=self.every_weeks))
        while day is not None and day <= last and (self.until is None or day < self.until):
            out.append(day)
            day += timedelta(weeks=self.every_weeks)
        return out


def feeding(
    case: FeedingCase, rules: FeedingRules, operations: Mapping[str, Operation], day: date
) -> Feeding:
    """Return what a tree is given on a day, today or later.

    The plan's windows tell its season, ``rules`` how strong it is then: by aim, kind and phase, less on hot days,
    for weak trees and while leaves are missing. Any hold stops it.
    """
    season = windows(case.items, operations)
    now = open_on(season, day)
    row, changes = (
        rules.row_of(case.state.aim, case.state.vigour, case.profile.kind),
        _changes(case, rules, season, now),
    )
    phase = _phase(now, changes, day)
    until = min((turn for turn in _turns(case, rules, operations, changes, day) if turn > day), default=None)
    given = strength(case, rules, row, phase, day)
    stops = holds(case, rules, operations, season, now, day)
    lasting = [stop for stop in stops if not stop.dissolved]
    on_pot = 0.0 if lasting else given.percent[1]
    stays = {stop.reason.code for stop in lasting} == {"work_ahead"}  # until that work is done
    stops += heat_hold(case, rules.heat, day, row.hot_percent)  # cakes may lie through a hot day
    if not stops and given.percent[1] == 0:
        none = Reason("feeding_none", case.state.aim, phase, basis=row.basis, source=row.source or "")
        stops = [FeedingHold(none, until)]
    given, every = Strength() if stops else given, every_weeks(case.state, case.profile, rules)
    rested = [end for end, _ in fed_until(case.state, case.profile, rules, operations)]
    end = None if now is None else season_end(season, now)
    return Feeding(
        day, phase, given.percent, given.n_mg_l, every, phase == AUTUMN,
        None if stops else max([day, *rested]), until,
        tuple(stop.reason for stop in stops), _last([stop.end for stop in stops]), given.reasons,
        cakes(case.state, rules.cakes, on_pot, day, end, heat_c(case, rules.heat, day), stays=stays),
    )  # fmt: skip


def outlook(
    case: FeedingCase, rules: FeedingRules, operations: Mapping[str, Operation], last: date
) -> list[tuple[Feeding, list[date]]]:
    """Return what a tree is given from today to ``last``, one strength or wait after the other, each with its dates."""
    out: list[tuple[Feeding, list[date]]] = []
    day: date | None = case.today
    before = None
    while day is not None and day <= last:
        found = feeding(case, rules, operations, day)
        days = found.dates(last, before)
        before = days[-1] if days else before
        if out and found.given == out[-1][0].given:
            out[-1] = (replace(out[-1][0], until=found.until), [*out[-1][1], *days])
        elif days or found.hold or not out:
            out.append((found, days))
        following = found.not_before if found.hold else found.until
        day = following if following is not None and following > day else None
    return out


def strength(case: FeedingCase, rules: FeedingRules, row: Row, phase: str, day: date) -> Strength:
    """Return how strong it is in a phase, with what makes it less; nothing where the row names no such phase."""
    table = _table(row, phase)
    if table is None:
        return Strength()
    aim = Reason(
        "feeding_phase", phase, case.state.aim, basis=row.basis, source=row.source or "", note=row.note or ""
    )
    frost = [Reason("feeding_low_nitrogen", basis=rules.low_nitrogen.basis)] if phase == AUTUMN else []
    found = Strength(table.percent, table.n_mg_l, (aim, *frost))
    if rules.is_weak(case.state.vigour):
        found = found.within(_table(rules.row(case.state.aim, case.profile.kind), phase), _weak(case, rules))
    for part, why, _ in _releafing(case, rules, day):
        found = found.times(part, why)
    heat, now = rules.heat, heat_c(case, rules.heat, day)
    if now is not None and now >= heat.less_from_c:
        why = Reason("feeding_warm", needed=heat.less_from_c, unit="degC", basis=heat.basis)
        found = found.at_most(row.hot_percent, why)
    return found


def _table(row: Row, phase: str) -> species_feeding.StrengthRow | None:
    return {str(name): value for name, value in row.phases.items()}.get(phase)


def _weak(case: FeedingCase, rules: FeedingRules) -> Reason:
    basis, source = rules.vigour.basis, rules.vigour.source or ""
    return Reason("feeding_weak", found=case.state.vigour, basis=basis, source=source)


def _changes(
    case: FeedingCase, rules: FeedingRules, season: list[FeedingWindow], now: FeedingWindow | None
) -> list[tuple[date, str]]:
    """Return the days on which the phase changes in the cycle of the open window, in order."""
    if now is None:
        return []
    end = season_end(season, now) + timedelta(days=1)
    low = [
        window.opens for window in season if window.operation == LOW_NITROGEN and window.cycle == now.cycle
    ]
    if now.cycle in case.frosts and any(work.operation == LOW_NITROGEN for work in case.profile.work):
        low.append(case.frosts[now.cycle] - timedelta(days=rules.low_nitrogen.days_before_frost))
    autumn = min(low, default=end)
    starts = phase_starts(case.stages, rules.begins, case.profile.kind, now.cycle)
    before = [(start, name) for start, name in starts if start < min(autumn, end)]
    return [*before, *([(autumn, AUTUMN)] if autumn < end else []), (end, REST)]


def _turns(
    case: FeedingCase,
    rules: FeedingRules,
    operations: Mapping[str, Operation],
    changes: list[tuple[date, str]],
    day: date,
) -> Iterator[date]:
    """Yield the days on which what is given may change: phases, bloom, leaves that are back, planned work, heat."""
    yield from (start for start, _ in changes)
    yield from bloom_starts(case.stages)
    yield from (back for _, _, back in _releafing(case, rules, day))
    yield from (first for first, _ in waits_ahead(case, rules, operations))
    yield from heat_turns(case, rules.heat, day)


def _phase(now: FeedingWindow | None, changes: list[tuple[date, str]], day: date) -> str:
    if now is None:
        return REST
    return next((name for start, name in reversed(changes) if start <= day), FIRST)


def _releafing(case: FeedingCase, rules: FeedingRules, day: date) -> Iterator[tuple[float, Reason, date]]:
    """Yield what share is given after work that took the leaves, with the day by which they are back."""
    back = case.profile.aftercare.releaf_weeks
    for rule in rules.after if back is not None else ():
        done = last_like(rule, case.state)
        if done is None or back is None or rule.then_percent == 100:
            continue
        end = done.on + timedelta(weeks=back.high)
        if day < end:
            reason = Reason("feeding_releaf", done.operation, done.on, basis=rule.basis)
            yield rule.then_percent / 100, reason, end


def _last(ends: list[date | None]) -> date | None:
    """Return the last of some ends, None where one is not known."""
    known = [end for end in ends if end is not None]
    return max(known) if known and len(known) == len(ends) else None
