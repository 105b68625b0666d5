"""The evening digest, and the notices that nothing was judged."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from alerts.notices import Notice
from alerts.policy.digest import cannot_judge_key, no_forecast_key, silence_key
from alerts.telling.warning import Told, heading
from calendar_core.wording.sentences import tree_list
from calendar_core.wording.warnings import warning_text as phrases

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime
    from uuid import UUID

    from alerts.policy.digest import Digest, DigestOutlook
    from alerts.telling.voice import Voice
    from calendar_core.planning.events import TimedEvent

SOON = timedelta(hours=36)  # to the end of tomorrow, when the next digest has told of what comes then
LAPSES = timedelta(hours=24)
"""When a digest is too late to be sent: as the next one comes."""


def digest_notice(voice: Voice, digest: Digest, now: datetime, returns: Iterable[TimedEvent] = ()) -> Notice:
    """Return the notice of an evening digest; ``returns`` are the ways back of trees that were moved."""
    return _notice((digest.id, digest.revision), tell_digest(voice, digest, now, returns), now)


def silence_notice(voice: Voice, garden_id: UUID, judged_at: datetime, now: datetime) -> Notice:
    """Return the notice that nothing has been judged since ``judged_at``; the same for one silence."""
    judged = voice.hour(judged_at, now)
    subject = voice.say(phrases.SILENCE_SUBJECT, judged=judged)
    text = voice.say(phrases.SILENCE, age=phrases.age(voice.style, now - judged_at), judged=judged)
    return _notice(silence_key(garden_id, judged_at), Told(subject, text), now)


def cannot_judge_notice(voice: Voice, garden_id: UUID, forecast_at: datetime, now: datetime) -> Notice:
    """Return the notice that the newest forecast is too old; the same for one forecast."""
    subject = voice.say(phrases.CANNOT_SUBJECT, age=phrases.age(voice.style, now - forecast_at))
    return _notice(
        cannot_judge_key(garden_id, forecast_at), Told(subject, _cannot(voice, forecast_at, now)), now
    )


def no_forecast_notice(voice: Voice, garden_id: UUID, evening: datetime, now: datetime) -> Notice:
    """Return the notice that there has never been a forecast to judge by; the same until the next ``evening``."""
    told = Told(voice.say(phrases.NO_FORECAST_SUBJECT), voice.say(phrases.NO_FORECAST))
    return _notice(no_forecast_key(garden_id, evening), told, now)


def tell_digest(voice: Voice, digest: Digest, now: datetime, returns: Iterable[TimedEvent] = ()) -> Told:
    """Return the text of an evening digest."""
    parts = [
        _cannot(voice, digest.forecast_at, now) if digest.cannot_judge else "",
        _stands(voice, digest),
        _unseen(voice, digest, now),
        _returns(voice, [event for event in returns if event.start < now + SOON], now),
        _ahead(voice, digest.outlook),
        f"{voice.judged(digest.judged_at, digest.forecast_at)} {voice.say(phrases.OFFICIAL)}",
    ]
    hazards = tree_list(
        list(dict.fromkeys(voice.hazard(standing.hazard, standing.levels) for standing in digest.standing))
    )
    if digest.cannot_judge:
        subject = voice.say(phrases.CANNOT_SUBJECT, age=phrases.age(voice.style, now - digest.forecast_at))
    elif hazards:
        subject = voice.say(phrases.DIGEST_SUBJECT, hazards=hazards)
    elif digest.unseen:
        subject = voice.say(phrases.DIGEST_SUBJECT_UNSEEN)
    else:
        subject = voice.say(phrases.DIGEST_SUBJECT_NONE)
    return Told(subject, "\n\n".join(part for part in parts if part))


def beside_warnings(voice: Voice, digest: Digest, now: datetime) -> str:
    """Return what a digest tells beside the warnings that stand: what may come after, and on what it was judged."""
    parts = [
        "" if digest.standing else _none(voice, digest),
        _unseen(voice, digest, now),
        _ahead(voice, digest.outlook),
        f"{voice.judged(digest.judged_at, digest.forecast_at)} {voice.say(phrases.OFFICIAL)}",
    ]
    return "\n\n".join(part for part in parts if part)


def _stands(voice: Voice, digest: Digest) -> str:
    if not digest.standing:
        return "" if digest.cannot_judge else _none(voice, digest)
    lines = [
        f"- {heading(voice, standing)}: {voice.names(standing.levels)}."
        + (f" {voice.say(phrases.FADING)}" if standing.missed else "")
        for standing in digest.standing
    ]
    return "\n".join([voice.say(phrases.DIGEST_STANDS), *lines])


def _none(voice: Voice, digest: Digest) -> str:
    return voice.say(phrases.DIGEST_NONE_SEEN if digest.unseen else phrases.DIGEST_NONE)


def _unseen(voice: Voice, digest: Digest, now: datetime) -> str:
    """Return of which hours until the end of tomorrow nothing is known."""
    if digest.cannot_judge or not digest.unseen:
        return ""
    spans = [
        voice.say(phrases.SPAN, begin=voice.hour(first, now), end=voice.hour(last, first))
        for first, last in digest.unseen
    ]
    return voice.say(phrases.UNSEEN, spans=tree_list(spans, len(spans)))


def _returns(voice: Voice, returns: Sequence[TimedEvent], now: datetime) -> str:
    lines = [f"- {event.summary}, {voice.hour(event.start, now)}." for event in returns]
    return "\n".join([voice.say(phrases.TO_BRING_BACK), *lines]) if lines else ""


def _ahead(voice: Voice, outlooks: tuple[DigestOutlook, ...]) -> str:
    lines = [
        voice.say(
            phrases.OUTLOOK_LINE,
            day=phrases.dated(voice.style, outlook.day),
            hazard=voice.hazard(outlook.hazard, outlook.trees),
            chance=voice.style.chance(outlook.chance),
            trees=phrases.tree_count(voice.style, len(outlook.trees)),
        )
        for outlook in outlooks
    ]
    return "\n".join([voice.say(phrases.OUTLOOK), *(f"- {line}" for line in lines)]) if lines else ""


def _cannot(voice: Voice, forecast_at: datetime, now: datetime) -> str:
    forecast = voice.hour(forecast_at, now)
    return voice.say(phrases.CANNOT, forecast=forecast, age=phrases.age(voice.style, now - forecast_at))


def _notice(key: tuple[UUID, int], told: Told, now: datetime) -> Notice:
    warning_id, revision = key
    return Notice(warning_id, revision, "digest", "Minor", now, now + LAPSES, told.subject, told.text)
