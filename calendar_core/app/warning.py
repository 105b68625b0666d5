"""Warning a garden: judged, compared with what was told, and what changed put into the outbox."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any
from uuid import UUID
from zoneinfo import ZoneInfo

from alerts.hazards.people import strain
from alerts.outbox.queue import post
from alerts.outbox.standing import (
    Judgement,
    StandingWarning,
    announce,
    expire_warnings,
    last_judgement,
    note_judgement,
    remember,
    warnings_since,
)
from alerts.policy import judging as policy
from alerts.policy import standing as forms
from alerts.policy.digest import digest, silence
from alerts.policy.quiet import due_after_quiet
from alerts.telling.evening import cannot_judge_notice, digest_notice, silence_notice
from alerts.telling.events import events_of
from alerts.telling.voice import Voice
from alerts.telling.warning import notice_of
from calendar_core.app.judging import Judged, judged
from calendar_core.app.output import as_json
from calendar_core.planning.events import TimedEvent

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import date

    from sqlalchemy import Connection

    from alerts.notices import Channel, Notice
    from alerts.policy.judging import Change
    from alerts.policy.standing import Standing
    from alerts.threats import Advice, Hazard
    from calendar_core.app.session import Session
    from calendar_core.garden.model import Garden

WORK_H = (8.0, 20.0)  # hours in which trees are moved and watered
KEPT = timedelta(
    days=2
)  # a night belongs to the day of its morning, so a warning of yesterday may still matter


@dataclass(frozen=True)
class Verdict:
    """What one judgement of a garden came to.

    ``judged`` is None where there is no forecast to judge by; ``stale`` tells that it is too old. ``notices`` are what
    is told now, ``standing`` the warnings that hold afterwards with the text they were last told in, ``messages`` how
    many messages were queued.
    """

    judged: Judged | None
    stale: bool = False
    notices: tuple[Notice, ...] = ()
    standing: tuple[StandingWarning, ...] = ()
    messages: int = 0


@dataclass(frozen=True)
class _Told:
    change: Change
    notice: Notice | None
    events: tuple[TimedEvent, ...] = field(default=())


def judge_garden(session: Session, now: datetime, *, dry_run: bool = False) -> Verdict:
    """Judge a garden now; store what changed and queue its messages in one step, unless it is a dry run."""
    found = judged(session, now)
    if found is None:
        return Verdict(None, standing=_active(session, now))
    rules, forecast_at = session.knowledge.warnings, found.stored.issued
    if policy.stale(forecast_at, now, rules):
        notice = cannot_judge_notice(voice_of(session), session.garden.id, forecast_at, now)
        messages = 0 if dry_run else _post(session, notice, now)
        return Verdict(
            found, stale=True, notices=(notice,), standing=_active(session, now), messages=messages
        )
    if dry_run:
        with session.store.read() as connection:
            return _verdict(session, connection, found, now)
    with session.store.begin() as connection:
        return _verdict(session, connection, found, now, store=True)


def _verdict(
    session: Session, connection: Connection, found: Judged, now: datetime, *, store: bool = False
) -> Verdict:
    garden, known = session.garden, _known(connection, session.garden, now)
    standings = [forms.from_data(one.data["standing"]) for one in known.values()]
    rules, forecast_at = session.knowledge.warnings, found.stored.issued
    changes = policy.judge(garden.id, found.threats, standings, forecast_at, now, rules)
    told = _told(session, found, changes, now)
    messages = 0
    for one in told:
        warning = _stored(session, one, known, now)
        known[warning.id] = warning
        if store and one.notice is None:
            remember(connection, warning)
        elif store and one.notice is not None:
            messages += announce(connection, warning, one.notice, now, _due(garden, one.notice, now))
    if store:
        expire_warnings(connection, now)
        note_judgement(connection, garden.id, Judgement(now, forecast_at))
    return Verdict(
        found,
        notices=tuple(one.notice for one in told if one.notice is not None),
        standing=_holding(known.values(), now),
        messages=messages,
    )


def tell_evening(session: Session, now: datetime) -> int:
    """Queue the evening digest of a garden that was judged; once an evening. Return the number of messages."""
    with session.store.read() as connection:
        last = last_judgement(connection, session.garden.id)
        known = _known(connection, session.garden, now)
    if last is None:
        return 0
    found = judged(session, now)
    threats = found.threats if found is not None else ()
    standings = [forms.from_data(one.data["standing"]) for one in known.values()]
    made = digest(
        session.garden.id, standings, threats, last.judged_at, last.forecast_at, now,
        ZoneInfo(session.garden.zone), session.knowledge.warnings,
    )  # fmt: skip
    return _post(session, digest_notice(voice_of(session), made, now), now)


def tell_silence(session: Session, now: datetime) -> int:
    """Queue the notice that nothing was judged for long, once a silence. Return the number of messages."""
    with session.store.read() as connection:
        last = last_judgement(connection, session.garden.id)
    if last is None or not silence(last.judged_at, now, session.knowledge.warnings):
        return 0
    return _post(session, silence_notice(voice_of(session), session.garden.id, last.judged_at, now), now)


def timed_events(session: Session, now: datetime) -> tuple[TimedEvent, ...]:
    """Return what the warnings that hold ask to be done by an hour."""
    return tuple(_event(data) for one in _active(session, now) for data in one.data["events"])


def _event(data: Mapping[str, Any]) -> TimedEvent:
    moments = {name: datetime.fromisoformat(data[name]) for name in ("start", "end", "revised_at")}
    trees = tuple(UUID(tree) for tree in data["tree_ids"])
    return TimedEvent(**{**data, **moments, "uid": UUID(data["uid"]), "tree_ids": trees})


def voice_of(session: Session) -> Voice:
    """Return the voice in which a garden is told of its weather."""
    spots = {spot.id: spot.name for spot in session.spots.values()}
    known = session.knowledge
    return Voice(
        session.style, ZoneInfo(session.garden.zone), session.labels, spots, known.cautions, known.warnings
    )


def _told(session: Session, found: Judged, changes: tuple[Change, ...], now: datetime) -> list[_Told]:
    """Return changes with the notice and the timed events of those that are told."""
    wanted = {(one.standing.day, one.standing.hazard) for one in changes if one.action in ("new", "update")}
    advice: dict[tuple[Any, Hazard], tuple[Advice, ...]] = (
        found.advice(session, wanted, now) if wanted else {}
    )
    voice, out = voice_of(session), []
    for one in changes:
        if one.action is None:
            out.append(_Told(one, None))
            continue
        due = advice.get((one.standing.day, one.standing.hazard), ())
        events = () if one.action == "withdraw" else events_of(voice, one, due, now)
        feels_c = _feels_c(session, found, one.standing.day)
        out.append(_Told(one, notice_of(voice, one, due, now, feels_c=feels_c), events))
    return out


def _feels_c(session: Session, found: Judged, day: date) -> float | None:
    """Return how hot a day feels [degC] between morning and evening, where that is more than usual caution asks for."""
    at = strain(found.hours, found.place, session.knowledge.exposure, day, *WORK_H)
    return None if at is None or at.band in ("none", "caution") else at.bad_c


def _stored(
    session: Session, one: _Told, known: Mapping[Any, StandingWarning], now: datetime
) -> StandingWarning:
    """Return a warning as it is stored; what nobody is told keeps the text and events of before."""
    standing: Standing = one.change.standing
    before = known.get(standing.id)
    data: dict[str, Any] = dict(before.data) if before is not None else {}
    if one.notice is not None:
        data |= {"subject": one.notice.subject, "text": one.notice.text, "events": as_json(list(one.events))}
    data["standing"] = forms.as_data(standing)
    return StandingWarning(
        standing.id,
        session.garden.id,
        standing.hazard,
        standing.severity,
        standing.onset,
        standing.expires,
        standing.state,
        standing.revision,
        data,
        before.made_at if before is not None else now,
        standing.forecast_at,
    )


def _known(connection: Connection, garden: Garden, now: datetime) -> dict[Any, StandingWarning]:
    return {one.id: one for one in warnings_since(connection, garden.id, now - KEPT)}


def _active(session: Session, now: datetime) -> tuple[StandingWarning, ...]:
    with session.store.read() as connection:
        return _holding(_known(connection, session.garden, now).values(), now)


def _holding(known: Any, now: datetime) -> tuple[StandingWarning, ...]:
    holding = [one for one in known if one.state == "active" and one.expires > now]
    return tuple(sorted(holding, key=lambda one: (one.onset, one.hazard)))


def _post(session: Session, notice: Notice, now: datetime) -> int:
    with session.store.begin() as connection:
        return post(connection, session.garden.id, notice, now, _due(session.garden, notice, now))


def _due(garden: Garden, notice: Notice, now: datetime) -> Callable[[Channel], datetime]:
    zone = ZoneInfo(garden.zone)
    return lambda channel: due_after_quiet(channel, notice, now, zone)
