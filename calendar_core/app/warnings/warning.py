"""Warning a garden: judged, compared with what was told, and what changed put into the outbox."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from alerts.hazards.people import strain
from alerts.outbox.queue import drop_digests, post
from alerts.outbox.standing import (
    Judgement,
    StandingWarning,
    announce,
    expire_warnings,
    last_judgement,
    note_judgement,
    remember,
)
from alerts.policy import judging as policy
from alerts.policy.digest import digest, silence
from alerts.policy.quiet import due_after_quiet
from alerts.policy.standing import warning_id
from alerts.schedule.slots import daily
from alerts.telling.evening import cannot_judge_notice, digest_notice, no_forecast_notice, silence_notice
from alerts.telling.events import events_of
from alerts.telling.warning import advice_for, notice_of
from calendar_core.app.shell.json_text import as_json
from calendar_core.app.warnings.judging import AHEAD, Judged, OfOtherDays, judged
from calendar_core.app.warnings.stored_warnings import (
    active_now,
    asked_before,
    asks_the_same,
    goes_on,
    helped,
    helper_of,
    holding,
    known_warnings,
    lifted,
    returns_in,
    returns_now,
    standing_in,
    stored,
)
from calendar_core.app.warnings.voices import voice_of
from calendar_core.app.warnings.ways_back import held_back

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
    from datetime import date, datetime
    from uuid import UUID

    from sqlalchemy import Connection

    from alerts.notices import Channel, Notice
    from alerts.policy.judging import WarningChange
    from alerts.policy.standing import Standing
    from alerts.threats import Advice
    from calendar_core.app.shell.session import Session
    from calendar_core.knowledge.words import Hazard

    _AdviceByDay = Mapping[tuple[date, Hazard], Sequence[Advice]]

WORK_H = (8.0, 20.0)  # hours in which trees are moved and watered
DAY = timedelta(days=1)


@dataclass(frozen=True)
class Verdict:
    """What one judgement of a garden came to.

    ``judged`` is None where there is no forecast to judge by, or it is ``of_other_days``; ``stale`` tells that it is
    too old. ``notices`` are what
    is told now, ``standing`` the warnings that hold afterwards with the text they were last told in, ``messages`` how
    many messages were queued.
    """

    judged: Judged | None
    stale: bool = False
    of_other_days: OfOtherDays | None = None
    notices: tuple[Notice, ...] = ()
    standing: tuple[StandingWarning, ...] = ()
    messages: int = 0


@dataclass(frozen=True)
class _Outcome:
    """A warning as it now stands, with the notice of those that are told."""

    warning: StandingWarning
    notice: Notice | None = None


def judge_garden(session: Session, now: datetime, *, dry_run: bool = False) -> Verdict:
    """Judge a garden now; store what changed and queue its messages in one step, unless it is a dry run."""
    found = judged(session, now)
    if not isinstance(found, Judged):
        return Verdict(None, of_other_days=found, standing=active_now(session, now))
    rules, forecast_at = session.knowledge.warnings, found.stored.issued
    if policy.stale(forecast_at, now, rules):
        notice = cannot_judge_notice(voice_of(session), session.garden.id, forecast_at, now)
        messages = 0 if dry_run else _post(session, notice, now)
        return Verdict(
            found, stale=True, notices=(notice,), standing=active_now(session, now), messages=messages
        )
    if dry_run:
        with session.store.read() as connection:
            known = known_warnings(connection, session.garden.id, now)
        outcomes, messages = list(_outcomes(session, found, known, now)), 0
    else:
        with session.store.begin() as connection:
            known = known_warnings(connection, session.garden.id, now)
            outcomes = list(_outcomes(session, found, known, now))
            messages = _keep(session, connection, outcomes, now)
            note_judgement(connection, session.garden.id, Judgement(now, forecast_at))
    notices = tuple(outcome.notice for outcome in outcomes if outcome.notice is not None)
    after = known | {outcome.warning.id: outcome.warning for outcome in outcomes}
    return Verdict(found, notices=notices, standing=holding(after.values(), now), messages=messages)


def _outcomes(
    session: Session, found: Judged, known: dict[UUID, StandingWarning], now: datetime
) -> Iterator[_Outcome]:
    """Yield what becomes of warnings: first those whose trees were moved, then what the forecast changes.

    Last come those that were left to another to tell, which now tells of them no more.
    """
    spots = {tree: stand.spot.id for tree, stand in found.stands.items()}
    known, voice = dict(known), voice_of(session)
    for warning in list(known.values()):
        known[warning.id] = _held_back(session, found, lifted(voice, warning, spots, now, session.gone), now)
        if known[warning.id] != warning:
            yield _Outcome(known[warning.id])
    court = _Court(session, found, known, now)
    changes = court.judge(standing_in(warning) for warning in known.values())
    yield from court.outcomes(changes)
    changed = {change.standing.id for change in changes if change.action is not None}
    if left := court.left_untold(changed):
        yield from court.outcomes(court.judge(map(standing_in, left), {warning.id for warning in left}))


@dataclass(frozen=True)
class _Court:
    """One judgement of a garden; ``known`` are its warnings as far as they are judged."""

    session: Session
    found: Judged
    known: dict[UUID, StandingWarning]
    now: datetime

    def judge(self, standings: Iterable[Standing], untold: Collection[UUID] = ()) -> Sequence[WarningChange]:
        """Return what becomes of warnings, the earliest first: what that asks for serves the next.

        With ``untold``, of these alone, as if they were new.
        """
        found, threats = self.found, self.found.threats
        standings = list(standings)
        if untold:
            keys = {(standing.hazard, standing.day) for standing in standings}
            threats = tuple(threat for threat in threats if (threat.hazard, threat.day) in keys)
        changes = policy.judge(
            self.session.garden.id, threats, standings, found.stored.issued, self.now,
            self.session.knowledge.warnings, found.unseen, untold,
        )  # fmt: skip
        return sorted(changes, key=lambda change: change.standing.day)

    def outcomes(self, changes: Sequence[WarningChange]) -> Iterator[_Outcome]:
        """Yield how warnings stand after changes, each with its notice."""
        told = [change.standing for change in changes if change.action in ("new", "update")]
        advice = self._advice(told) if told else {}
        for change in changes:
            outcome = self._outcome(change, advice.get((change.standing.day, change.standing.hazard), ()))
            self.known[change.standing.id] = outcome.warning
            yield outcome

    def left_untold(self, changed: Collection[UUID]) -> list[StandingWarning]:
        """Return the warnings that were left to another to tell, where that was changed and tells of them no more.

        Those that were changed with it were left to it as it is now.
        """
        left = [
            (warning, by)
            for warning in self.known.values()
            if warning.state == "active"
            and warning.id not in changed
            and (by := helper_of(warning, self.known)) is not None
            and by.id in changed
        ]
        advice = self._advice() if left else {}
        return [warning for warning, by in left if not self._still_helps(by, standing_in(warning), advice)]

    def _still_helps(self, by: StandingWarning, standing: Standing, advice: _AdviceByDay) -> bool:
        of_day = advice.get((standing.day, standing.hazard), ())
        threats = [
            threat
            for threat in self.found.threats
            if (threat.day, threat.hazard) == (standing.day, standing.hazard)
        ]
        return goes_on(standing, by) or asks_the_same(by, standing, advice_for(standing, threats, of_day))

    def _advice(self, told: Sequence[Standing] = ()) -> _AdviceByDay:
        """Return what to do about the warnings that hold, and those that are told now."""
        stand = map(standing_in, self.known.values())
        wanted = [*told, *(standing for standing in stand if standing.state == "active")]
        return self.found.advice(
            self.session, {(standing.day, standing.hazard) for standing in wanted}, self.now
        )

    def _outcome(self, change: WarningChange, advice: Sequence[Advice]) -> _Outcome:
        session, found, now = self.session, self.found, self.now
        garden_id, voice = session.garden.id, voice_of(session)
        standing, before = change.standing, self.known.get(change.standing.id)
        due = asked_before(advice, _sooner(self.known.values(), standing, before, now))
        asks = change.action in ("new", "update")
        notice = None
        if change.action is not None:
            notice = notice_of(voice, change, due, now, feels_c=_feels_c(session, found, standing.day))
        spots = {tree: stand.spot.id for tree, stand in found.stands.items()}
        events = events_of(voice, change, due, now) if asks else ()
        warning = stored(garden_id, standing, notice, events, spots, before, now)
        if asks and (by := _helper(garden_id, change, due, self.known)):
            return _Outcome(helped(warning, by))
        return _Outcome(warning, notice)


def _held_back(session: Session, found: Judged, warning: StandingWarning, now: datetime) -> StandingWarning:
    """Return a warning whose trees come back as soon as the forecast lets them stand outside."""
    steps = returns_in(warning)
    later = [held_back(session, found, step, now) if step.start > now else step for step in steps]
    return warning if later == steps else replace(warning, data={**warning.data, "returns": as_json(later)})


def _sooner(
    known: Iterable[StandingWarning], standing: Standing, before: StandingWarning | None, now: datetime
) -> list[StandingWarning]:
    """Return the warnings that come before another, whose moves need not be asked for again; of two never both."""
    here = standing.onset, now if before is None else before.made_at, standing.id
    return [other for other in known if (other.onset, other.made_at, other.id) < here]


def _helper(
    garden_id: UUID, change: WarningChange, due: Sequence[Advice], known: dict[UUID, StandingWarning]
) -> StandingWarning | None:
    """Return a warning that already asks for what helps against another: that of the day before, or one beside it."""
    standing = change.standing
    before = known.get(warning_id(garden_id, standing.hazard, standing.day - DAY))
    if change.action == "new" and before is not None and goes_on(standing, before):
        return before
    advice = advice_for(standing, change.threats, due)
    return next((other for other in known.values() if asks_the_same(other, standing, advice)), None)


def _keep(session: Session, connection: Connection, outcomes: list[_Outcome], now: datetime) -> int:
    """Store warnings and queue the messages of those that are told; return how many messages."""
    messages = 0
    if any(outcome.notice is not None for outcome in outcomes):
        drop_digests(connection, session.garden.id)
    for outcome in outcomes:
        if outcome.notice is None:
            remember(connection, outcome.warning)
        else:
            due = due_for(session, outcome.notice, now)
            messages += announce(connection, outcome.warning, outcome.notice, now, due)
    expire_warnings(connection, now)
    return messages


def judged_since(session: Session, moment: datetime, now: datetime) -> bool:
    """Tell whether a garden was judged on a fresh forecast from a moment on; by a clock ahead of ``now`` it was not."""
    with session.store.read() as connection:
        last = last_judgement(connection, session.garden.id)
    return last is not None and moment <= last.judged_at <= now


def tell_evening(session: Session, now: datetime) -> int:
    """Judge a garden, and queue its evening digest; once an evening. Return the number of the digest's messages.

    One that was never judged is told that instead.
    """
    verdict = judge_garden(session, now)
    with session.store.read() as connection:
        last = last_judgement(connection, session.garden.id)
    if last is None:
        return tell_no_forecast(session, now)
    threats, unseen = (
        (verdict.judged.threats, verdict.judged.unseen) if verdict.judged else ((), [(now, now + AHEAD)])
    )
    made = digest(
        session.garden.id, map(standing_in, verdict.standing), threats, last.judged_at, last.forecast_at, now,
        ZoneInfo(session.garden.zone), session.knowledge.warnings, unseen,
    )  # fmt: skip
    notice = digest_notice(voice_of(session), made, now, returns_now(session, now))
    return _post(session, notice, now)


def tell_silence(session: Session, now: datetime) -> int:
    """Queue the notice that nothing was judged for long, once a silence. Return the number of messages."""
    with session.store.read() as connection:
        last = last_judgement(connection, session.garden.id)
    if last is None or not silence(last.judged_at, now, session.knowledge.warnings):
        return 0
    return _post(session, silence_notice(voice_of(session), session.garden.id, last.judged_at, now), now)


def tell_no_forecast(session: Session, now: datetime) -> int:
    """Queue the notice that there has never been a forecast, at once and each evening. Return the number of messages."""
    evening = daily(now, session.knowledge.warnings.digest.at, session.zone).astimezone(session.zone)
    return _post(session, no_forecast_notice(voice_of(session), session.garden.id, evening, now), now)


def _feels_c(session: Session, found: Judged, day: date) -> float | None:
    """Return how hot a day feels [degC] between morning and evening, where that is more than usual caution asks for."""
    at = strain(found.hours, found.place, session.knowledge.exposure, day, *WORK_H)
    return None if at is None or at.band in ("none", "caution") else at.bad_c


def _post(session: Session, notice: Notice, now: datetime) -> int:
    with session.store.begin() as connection:
        return post(connection, session.garden.id, notice, now, due_for(session, notice, now))


def due_for(session: Session, notice: Notice, now: datetime) -> Callable[[Channel], datetime | None]:
    """Return the function that says from when a channel may be used, None for one that is not meant."""
    zone = ZoneInfo(session.garden.zone)
    days = {now.astimezone(zone).date(), notice.onset.astimezone(zone).date()}
    away = any(first <= day <= last for day in days for first, last in session.absences)
    meant = away or notice.action == "withdraw"  # who was told of a warning is told that it is over

    def due(channel: Channel) -> datetime | None:
        return due_after_quiet(channel, notice, now, zone) if meant or not channel.while_away else None

    return due
