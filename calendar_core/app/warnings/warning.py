"""Warning a garden: judged, compared with what was told, and what changed put into the outbox."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from alerts.outbox.queue import drop_digests, post, take_back, was_posted
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
from alerts.policy.digest import cannot_judge_key, digest, silence
from alerts.policy.quiet import due_after_quiet
from alerts.schedule.slots import daily
from alerts.telling.evening import cannot_judge_notice, digest_notice, no_forecast_notice, silence_notice
from calendar_core.app.warnings.judging import AHEAD, Judged, OfOtherDays, judged
from calendar_core.app.warnings.outcomes import Outcome, outcomes_of
from calendar_core.app.warnings.stored_warnings import (
    active_now,
    holding,
    known_warnings,
    returns_now,
    standing_in,
)
from calendar_core.app.warnings.voices import voice_of
from calendar_core.storage.services import get_forecast_hours

if TYPE_CHECKING:
    from collections.abc import Callable, Collection
    from datetime import datetime
    from uuid import UUID

    from sqlalchemy import Connection

    from alerts.notices import Channel, Notice
    from calendar_core.app.shell.session import Session


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
        outcomes, messages = list(outcomes_of(session, found, known, now)), 0
    else:
        with session.store.begin() as connection:
            known = known_warnings(connection, session.garden.id, now)
            outcomes = list(outcomes_of(session, found, known, now))
            messages = _keep(session, connection, outcomes, now)
            note_judgement(connection, session.garden.id, Judgement(now, forecast_at))
    notices = tuple(outcome.notice for outcome in outcomes if outcome.notice is not None)
    after = known | {outcome.warning.id: outcome.warning for outcome in outcomes}
    return Verdict(found, notices=notices, standing=holding(after.values(), now), messages=messages)


def _keep(session: Session, connection: Connection, outcomes: list[Outcome], now: datetime) -> int:
    """Store warnings and queue the messages of those that are told; return how many messages."""
    messages = 0
    if any(outcome.notice is not None for outcome in outcomes):
        drop_digests(connection, session.garden.id)
    for outcome in outcomes:
        if outcome.notice is None:
            remember(connection, outcome.warning)
            stands, newest = outcome.warning.state == "active", outcome.warning.revision
            take_back(connection, outcome.warning.id, newest - 1 if stands else newest)
        else:
            due = due_for(session, outcome.notice, now)
            messages += announce(connection, outcome.warning, outcome.notice, now, due)
    expire_warnings(connection, now)
    return messages


def judge_where_left_out(session: Session, trees: Collection[UUID], now: datetime) -> None:
    """Judge a garden anew where a judgement took trees for moved that never were; else their warnings wait for the next."""
    with session.store.read() as connection:
        known = known_warnings(connection, session.garden.id, now)
    named = {str(tree) for tree in trees}
    if any(
        warning.expires > now and not named.isdisjoint(warning.data.get("moved", ()))
        for warning in known.values()
    ):
        judge_garden(session, now)


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
    """Queue the notice that nothing was judged for long, once a silence. Return the number of messages.

    Where it was told already that the forecast is too old to judge by, nothing is to be added.
    """
    garden = session.garden
    with session.store.read() as connection:
        last = last_judgement(connection, garden.id)
        hours = get_forecast_hours(connection, garden.latitude, garden.longitude)
        told = hours is not None and was_posted(connection, cannot_judge_key(garden.id, hours.issued))
    if last is None or told or not silence(last.judged_at, now, session.knowledge.warnings):
        return 0
    return _post(session, silence_notice(voice_of(session), garden.id, last.judged_at, now), now)


def tell_no_forecast(session: Session, now: datetime) -> int:
    """Queue the notice that there has never been a forecast, at once and each evening. Return the number of messages."""
    evening = daily(now, session.knowledge.warnings.digest.at, session.zone).astimezone(session.zone)
    return _post(session, no_forecast_notice(voice_of(session), session.garden.id, evening, now), now)


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
