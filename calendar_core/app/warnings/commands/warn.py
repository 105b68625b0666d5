"""Warnings of heat, sun, drought and frost: ``warn`` judges now."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated
from uuid import uuid4
from zoneinfo import ZoneInfo

import typer

from alerts.notices import Gone, Sent
from alerts.outbox.channels import list_channels
from alerts.outbox.sending import send_due
from alerts.policy.digest import digest
from alerts.telling.evening import beside_warnings
from calendar_core.app.plan.line_names import name_of_move, short
from calendar_core.app.shell.clock import clock, utc_now
from calendar_core.app.shell.options import Db, GardenName, Json, Today, day_or_none
from calendar_core.app.shell.output import command, heading, line, print_json, say
from calendar_core.app.shell.session import Session, open_session
from calendar_core.app.warnings.mailing import carrier, leads_to
from calendar_core.app.warnings.stored_warnings import (
    MOVED,
    events_in,
    goes_on_from_before,
    helper_of,
    is_told,
    standing_in,
    timed_events,
)
from calendar_core.app.warnings.voices import voice_of
from calendar_core.app.warnings.warning import Verdict, judge_garden
from calendar_core.app.warnings.warning_data import warning_data
from calendar_core.wording.warnings.judged_text import (
    JUDGED,
    SENT,
    gone_since,
    messages,
    moved_since,
    not_sent,
    other_days,
    would_be_sent,
)

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from alerts.notices import Message, Result
    from alerts.outbox.standing import StandingWarning
    from calendar_core.app.warnings.judging import Judged, OfOtherDays


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command()(warn)


def warn(
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Store and send nothing.")] = False,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """Judge now what heat, sun, drought, frost and wind threaten, tell it, and send what is new.

    With --today of another day it is only shown.
    """
    session = open_session(db, garden, day_or_none(today))
    now, shown = session.clock.now, session.today != clock(session.garden.zone).today
    dry_run = dry_run or shown
    verdict = judge_garden(session, now, dry_run=dry_run)
    tried = (
        ()
        if dry_run
        else send_due(session.store, carrier(utc_now, session.store), f"warn {uuid4().hex}", utc_now)
    )
    if as_data:
        print_json(_data(verdict, tried, now))
        return
    _print(session, verdict, now, dry_run=dry_run)
    if shown:
        say(session.style.say(JUDGED["shown"]))
    for text in _sent(session, tried):
        say(text)
    if verdict.notices or verdict.standing:
        for text in _channels(session, len(verdict.notices), dry_run=dry_run):
            say(text)


def _channels(session: Session, waiting: int, *, dry_run: bool) -> list[str]:
    """Return over what channels messages go, where that is not told by how they went."""
    with session.store.read() as connection:
        on = [channel for channel in list_channels(connection, session.garden.id) if not channel.why_off]
    if not on:
        return [session.style.say(SENT["no_channel"])]
    if not dry_run or not waiting:
        return []
    return [would_be_sent(session.style, waiting, len(on))]


def _sent(session: Session, tried: Sequence[tuple[Message, Result]]) -> list[str]:
    """Return how messages went."""
    style = session.style
    with session.store.read() as connection:
        off = {channel.id for channel in list_channels(connection, session.garden.id) if channel.why_off}
    arrived = sum(isinstance(result, Sent) for _, result in tried)
    lines = [style.say(SENT["sent"], messages=messages(style, arrived))] if arrived else []
    return lines + [
        not_sent(
            style,
            leads_to(message.channel),
            result.why,
            "gone" if isinstance(result, Gone) else "off" if message.channel.id in off else "again",
        )
        for message, result in tried
        if not isinstance(result, Sent)
    ]


def _print(session: Session, verdict: Verdict, now: datetime, *, dry_run: bool) -> None:
    say(f"{session.garden.name}, {session.style.weekday(session.today)}.")
    if verdict.of_other_days is not None:
        say(_other_days(session, verdict.of_other_days))
        return
    if verdict.judged is None:
        say(session.style.say(JUDGED["no_hours"]))
        command("weather", "fetch")
        return
    if verdict.stale:
        say(verdict.notices[0].text)
    told: set[str] = set()
    for warning in verdict.standing:
        heading(str(warning.data["subject"]))
        # Before the text, which was told when they still stood there and names them.
        moved = [label for tree, label in session.labels.items() if str(tree) in warning.data["moved"]]
        if moved:
            say(moved_since(session.style, moved), indent=2)
        gone = [label for tree, label in session.labels.items() if str(tree) in warning.data.get("gone", ())]
        if gone:
            say(gone_since(session.style, gone), indent=2)
        by = helper_of(warning, {other.id: other for other in verdict.standing})
        _print_text(session, warning, by, told)
        for todo in _left_out(warning, by):
            say(f"- {todo}", indent=2, hanging=2)
    if not dry_run:
        _print_moves(session, now)
    if not verdict.stale:
        _print_rest(session, verdict.judged, verdict.standing, now)


def _other_days(session: Session, found: OfOtherDays) -> str:
    zone = ZoneInfo(session.garden.zone)
    issued, last = (moment.astimezone(zone).date() for moment in (found.stored.issued, found.ends))
    return other_days(session.speaker, issued, last)


def _print_text(
    session: Session, warning: StandingWarning, by: StandingWarning | None, told: set[str]
) -> None:
    """Print what was told of a warning, but for its age, for paragraphs that stood in another and what ``by`` tells."""
    *paragraphs, _ = str(warning.data["text"]).split("\n\n")
    if goes_on_from_before(warning):
        say(session.style.say(JUDGED["goes_on"]), indent=2)
        return
    if by is not None:
        say(session.style.say(JUDGED["helped"], hazard=_called(session, by)), indent=2)
        return
    for paragraph in [part for part in paragraphs if part not in told]:
        if paragraph is not paragraphs[0]:
            line()
        for text in paragraph.splitlines():
            say(text, indent=2)
    told.update(paragraphs)


def _called(session: Session, warning: StandingWarning) -> str:
    standing = standing_in(warning)
    return voice_of(session).hazard(standing.hazard, standing.levels)


def _print_moves(session: Session, now: datetime) -> None:
    """Print how moves are written down, after which trees are judged where they then stand."""
    moves = [event for event in timed_events(session, now) if event.to is not None]
    voice = voice_of(session)
    if moves:
        heading(session.style.say(JUDGED["moves"]))
    for event in moves:
        command("answer", name_of_move(event), MOVED)
        say(f"{event.summary}, {voice.hour(event.start, now)}", indent=4, hanging=2)


def _left_out(warning: StandingWarning, by: StandingWarning | None) -> list[str]:
    """Return what a warning asks for that its text, or that of ``by``, made for a phone, had no room for."""
    if not is_told(warning) and (by is not None or goes_on_from_before(warning)):
        return []
    asked = [event.description.partition("\n\n")[0] for event in events_in(warning)]
    return [paragraph for paragraph in asked if paragraph not in (by or warning).data["text"]]


def _print_rest(session: Session, known: Judged, standing: Sequence[StandingWarning], now: datetime) -> None:
    """Print what may come after, and on what it was judged."""
    voice = voice_of(session)
    made = digest(
        session.garden.id, map(standing_in, standing), known.threats, now, known.stored.issued, now, voice.zone,
        session.knowledge.warnings, known.unseen,
    )  # fmt: skip
    for paragraph in beside_warnings(voice, made, now).split("\n\n"):
        line()
        for text in paragraph.splitlines():
            say(text, hanging=2 if text.startswith("- ") else 0)


def _data(verdict: Verdict, tried: Sequence[tuple[Message, Result]], now: datetime) -> dict[str, object]:
    known, unfit = verdict.judged, verdict.of_other_days
    stored = known.stored if known else unfit.stored if unfit else None
    return {
        "judged_at": now,
        "forecast_at": stored.issued if stored else None,
        "forecast_of": stored.source if stored else None,
        "cannot_judge": known is None or verdict.stale,
        "warnings": [warning_data(warning) for warning in verdict.standing],
        "sent": [
            {"channel": short(message.channel.id), "why_not": "" if isinstance(result, Sent) else result.why}
            for message, result in tried
        ],
        "told_now": [notice.warning_id for notice in verdict.notices],
        "threats": known.threats if known else (),
    }
