"""What becomes of a garden's warnings by one judgement: each as it then stands, and what is told of it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import timedelta
from typing import TYPE_CHECKING

from alerts.hazards.people import strain
from alerts.policy import judging as policy
from alerts.policy.standing import warning_id
from alerts.telling.events import events_of
from alerts.telling.to_do import advice_for
from alerts.telling.warning import Carried, notice_of
from calendar_core.app.shell.json_text import as_json
from calendar_core.app.warnings.stored_warnings import (
    helped,
    helper_of,
    is_carried,
    lifted,
    returns_in,
    standing_in,
    stored,
)
from calendar_core.app.warnings.tellers import asked_before, asks_the_same, can_carry, goes_on
from calendar_core.app.warnings.voices import voice_of
from calendar_core.app.warnings.ways_back import held_back

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
    from datetime import date, datetime
    from uuid import UUID

    from alerts.notices import Notice
    from alerts.outbox.standing import StandingWarning
    from alerts.policy.judging import WarningChange
    from alerts.policy.standing import Standing
    from alerts.threats import Advice, Threat
    from calendar_core.app.shell.session import Session
    from calendar_core.app.warnings.judging import Judged
    from calendar_core.knowledge.words import Hazard
    from calendar_core.planning.events import TimedEvent

    AdviceByDay = Mapping[tuple[date, Hazard], Sequence[Advice]]

WORK_H = (8.0, 20.0)  # hours in which trees are moved and watered
DAY = timedelta(days=1)


@dataclass(frozen=True)
class Outcome:
    """A warning as it now stands, with the notice of those that are told."""

    warning: StandingWarning
    notice: Notice | None = None


@dataclass
class _Draft:
    """A change as it is to be told; ``carried`` are the warnings that its message tells of too."""

    change: WarningChange
    due: Sequence[Advice]
    before: StandingWarning | None
    outcome: Outcome
    carried: list[Carried] = field(default_factory=list)


def outcomes_of(
    session: Session, found: Judged, known: Mapping[UUID, StandingWarning], now: datetime
) -> Iterator[Outcome]:
    """Yield what becomes of warnings: first those whose trees were moved, then what the forecast changes.

    Last come those that were left to another to tell, which now tells of them no more.
    """
    hearing = _Hearing(session, found, dict(known), now)
    yield from hearing.after_moves()
    changes = hearing.judge(standing_in(warning) for warning in hearing.known.values())
    yield from hearing.outcomes(changes)
    changed = {change.standing.id for change in changes if change.action is not None}
    if left := hearing.left_untold(changed):
        untold = {warning.id for warning in left}
        yield from hearing.outcomes(hearing.judge(map(standing_in, left), untold))


@dataclass(frozen=True)
class _Hearing:
    """One judgement of a garden; ``known`` are its warnings as far as they are judged."""

    session: Session
    found: Judged
    known: dict[UUID, StandingWarning]
    now: datetime

    def after_moves(self) -> Iterator[Outcome]:
        """Yield the warnings whose trees were moved since, or may come back later than was told."""
        voice, gone = voice_of(self.session), self.session.gone
        for warning in list(self.known.values()):
            after = self._held_back(lifted(voice, warning, self._spots, self.now, gone))
            self.known[warning.id] = after
            if after != warning:
                yield Outcome(after)

    def judge(self, standings: Iterable[Standing], untold: Collection[UUID] = ()) -> Sequence[WarningChange]:
        """Return what becomes of warnings, the earliest first: what that asks for serves the next.

        With ``untold``, of these alone, as if they were new.
        """
        standings, threats = list(standings), self.found.threats
        if untold:
            keys = {(standing.hazard, standing.day) for standing in standings}
            threats = tuple(threat for threat in threats if (threat.hazard, threat.day) in keys)
        changes = policy.judge(
            self.session.garden.id, threats, standings, self.found.stored.issued, self.now,
            self.session.knowledge.warnings, self.found.unseen, untold,
        )  # fmt: skip
        return sorted(changes, key=lambda change: change.standing.day)

    def outcomes(self, changes: Sequence[WarningChange]) -> Iterator[Outcome]:
        """Yield how warnings stand after changes, each with its notice; one notice may carry others of its day."""
        told = [change.standing for change in changes if change.action in ("new", "update")]
        advice = self._advice(told) if told else {}
        drafts: list[_Draft] = []
        for change in changes:
            draft = self._draft(change, advice.get((change.standing.day, change.standing.hazard), ()))
            lead = next((each for each in drafts if _leads(each, draft)), None)
            if lead is not None:
                lead.carried.append(Carried(change.standing, change.threats, draft.due))
                draft.outcome = Outcome(helped(draft.outcome.warning, lead.outcome.warning, carried=True))
            self.known[change.standing.id] = draft.outcome.warning
            drafts.append(draft)
        told_again: list[Carried] = []
        for draft in drafts:
            carried = self._carried_before(draft, drafts, advice)
            draft.carried += carried
            if draft.change.action != "withdraw":
                told_again += carried
            if draft.carried:
                draft.outcome = self._outcome(draft.change, draft.due, draft.before, draft.carried)
            self.known[draft.change.standing.id] = draft.outcome.warning
            yield draft.outcome
        yield from (Outcome(self._asked_anew(carried)) for carried in told_again)

    def left_untold(self, changed: Collection[UUID]) -> list[StandingWarning]:
        """Return the warnings that were left to another to tell, where that was changed and tells of them no more.

        Those that were changed with it were left to it as it is now. One that no forecast shows just then waits until
        one does, or is withdrawn too.
        """
        left = [
            (warning, by)
            for warning in self.known.values()
            if warning.state == "active"
            and warning.id not in changed
            and (by := helper_of(warning, self.known)) is not None
            and (by.id in changed or by.state == "withdrawn")
        ]
        advice = self._advice() if left else {}
        return [warning for warning, by in left if not self._still_helps(by, warning, advice)]

    def _still_helps(self, by: StandingWarning, warning: StandingWarning, advice: AdviceByDay) -> bool:
        standing = standing_in(warning)
        if is_carried(warning):
            return can_carry(by, standing)
        key = standing.day, standing.hazard
        due = advice_for(standing, self._threats(standing), advice.get(key, ()))
        return goes_on(standing, by) or asks_the_same(by, standing, due)

    def _carried_before(self, draft: _Draft, drafts: Sequence[_Draft], advice: AdviceByDay) -> list[Carried]:
        """Return the warnings that an earlier message of the same one told of too: those that are over with it, or go on."""
        lead = draft.outcome
        if lead.notice is None:
            return []
        carried = [
            warning
            for warning in self.known.values()
            if is_carried(warning)
            and warning.data["helped_by"] == str(lead.warning.id)
            and warning.state == lead.warning.state
        ]
        if lead.notice.action != "withdraw":
            changed = {each.change.standing.id for each in drafts if each.change.action is not None}
            carried = [
                warning
                for warning in carried
                if warning.id not in changed
                and warning.expires > self.now
                and can_carry(lead.warning, standing_in(warning))
            ]
        return [
            Carried(standing, self._threats(standing), advice.get((standing.day, standing.hazard), ()))
            for standing in map(standing_in, carried)
            if standing.levels  # none where its trees were moved
        ]

    def _asked_anew(self, carried: Carried) -> StandingWarning:
        """Return a warning that is told along again, with what is asked for it now."""
        change = policy.WarningChange("update", carried.standing, carried.threats)
        events = events_of(voice_of(self.session), change, carried.advice, self.now)
        warning = self.known[carried.standing.id]
        warning = replace(warning, data={**warning.data, "events": as_json(list(events))})
        self.known[warning.id] = warning
        return warning

    def _threats(self, standing: Standing) -> tuple[Threat, ...]:
        """Return the threats that a warning may name."""
        key = standing.day, standing.hazard
        return tuple(threat for threat in self.found.threats if (threat.day, threat.hazard) == key)

    def _advice(self, told: Sequence[Standing] = ()) -> AdviceByDay:
        """Return what to do about the warnings that hold, and those that are told now."""
        stand = map(standing_in, self.known.values())
        wanted = [*told, *(standing for standing in stand if standing.state == "active")]
        days = {(standing.day, standing.hazard) for standing in wanted}
        return self.found.advice(self.session, days, self.now)

    def _draft(self, change: WarningChange, advice: Sequence[Advice]) -> _Draft:
        before = self.known.get(change.standing.id)
        due = asked_before(advice, _sooner(self.known.values(), change.standing, before, self.now))
        outcome = self._outcome(change, due, before)
        if change.action in ("new", "update") and (by := self._helper(change, due)):
            outcome = Outcome(helped(outcome.warning, by))
        return _Draft(change, due, before, outcome)

    def _outcome(
        self,
        change: WarningChange,
        due: Sequence[Advice],
        before: StandingWarning | None,
        carried: Sequence[Carried] = (),
    ) -> Outcome:
        """Return a warning after a change, with its notice, if it is to be told."""
        voice, notice = voice_of(self.session), None
        if change.action is not None:
            feels_c = self._feels_c(change.standing.day)
            notice = notice_of(voice, change, due, self.now, feels_c=feels_c, carried=carried)
        events: list[TimedEvent] = []
        if change.action in ("new", "update"):
            events += events_of(voice, change, due, self.now)
        garden_id = self.session.garden.id
        warning = stored(garden_id, change.standing, notice, events, self._spots, before, self.now)
        return Outcome(warning, notice)

    def _helper(self, change: WarningChange, due: Sequence[Advice]) -> StandingWarning | None:
        """Return a warning that already asks for what helps against another: that of the day before, or one beside it."""
        standing = change.standing
        before = self.known.get(warning_id(self.session.garden.id, standing.hazard, standing.day - DAY))
        if change.action == "new" and before is not None and goes_on(standing, before):
            return before
        advice = advice_for(standing, change.threats, due)
        return next((other for other in self.known.values() if asks_the_same(other, standing, advice)), None)

    @property
    def _spots(self) -> dict[UUID, UUID]:
        return {tree: stand.spot.id for tree, stand in self.found.stands.items()}

    def _held_back(self, warning: StandingWarning) -> StandingWarning:
        """Return a warning whose trees come back as soon as the forecast lets them stand outside."""
        steps = returns_in(warning)
        later = [
            held_back(self.session, self.found, step, self.now) if step.start > self.now else step
            for step in steps
        ]
        if later == steps:
            return warning
        return replace(warning, data={**warning.data, "returns": as_json(later)})

    def _feels_c(self, day: date) -> float | None:
        """Return how hot a day feels [degC] between morning and evening, where that is more than usual caution asks for."""
        exposure = self.session.knowledge.exposure
        at = strain(self.found.hours, self.found.place, exposure, day, *WORK_H)
        return None if at is None or at.band in ("none", "caution") else at.bad_c


def _leads(lead: _Draft, draft: _Draft) -> bool:
    """Tell whether the message of one change can tell of another too: who reads it has the same trees before them."""
    told = [each.outcome.notice for each in (lead, draft)]
    if any(notice is None or notice.action == "withdraw" for notice in told):
        return False
    return can_carry(lead.outcome.warning, draft.change.standing)


def _sooner(
    known: Iterable[StandingWarning], standing: Standing, before: StandingWarning | None, now: datetime
) -> list[StandingWarning]:
    """Return the warnings that come before another, whose moves need not be asked for again; of two never both."""
    here = standing.onset, now if before is None else before.made_at, standing.id
    return [other for other in known if (other.onset, other.made_at, other.id) < here]
