"""The ways warnings reach people: ``channel``."""

from __future__ import annotations

import sys
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import time, timedelta
from typing import Annotated, get_args
from urllib.parse import urlsplit
from uuid import UUID, uuid4

import typer
from sqlalchemy import Connection

from alerts.delivery.carrier import check_address
from alerts.delivery.hook import new_secret
from alerts.notices import Channel, ChannelKind, Message, Notice, Sent
from alerts.outbox import channels
from alerts.outbox.queue import Listed, list_messages
from calendar_core.app.plan.line_names import LENGTH, short
from calendar_core.app.shell.clock import utc_now
from calendar_core.app.shell.days import time_of
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.forms import Label, Strict, as_option, checked
from calendar_core.app.shell.options import Db, GardenName, Json
from calendar_core.app.shell.output import columns, print_json, say
from calendar_core.app.shell.session import Session, open_session
from calendar_core.app.warnings.channel_notices import standing_notices, tell_standing
from calendar_core.app.warnings.mailing import HELP, carrier, leads_to, mail_server
from calendar_core.app.warnings.reach import since_when
from calendar_core.wording.style import Style
from calendar_core.wording.warnings.judged_text import CHANNELS, catching_up, channel_words

channel_app = typer.Typer(
    help=f"The ways warnings reach people. {HELP}", no_args_is_help=True, rich_markup_mode=None
)
KINDS: tuple[ChannelKind, ...] = get_args(ChannelKind)
NO_QUIET = "none"
TYPED = "-"
LONGEST_ADDRESS = 2000  # signs; more is no address (estimate)

Name = Annotated[str, typer.Argument(metavar="NAME", help="As printed by: leafclock channel list.")]
Quiet = Annotated[
    str | None,
    typer.Option(
        metavar="HH:MM-HH:MM",
        help="Hours without messages, but for danger that begins before they end; or none.",
    ),
]


class Who(Strict):
    """Whom a channel reaches."""

    person: Label | None = None


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.add_typer(channel_app, name="channel")


@channel_app.command("add")
def channel_add(
    kind: Annotated[str, typer.Argument(help=f"One of: {', '.join(KINDS)}.")],
    address: Annotated[
        str,
        typer.Argument(
            help="A mail address, an https address, or an address as Apprise writes it for one target; "
            "- reads it from standard input, so that a secret in it stays out of the shell's history."
        ),
    ],
    person: Annotated[str | None, typer.Option(help="Whom it reaches.")] = None,
    quiet: Quiet = None,
    private: Annotated[
        bool,
        typer.Option(
            "--private", help="Allow an address on this machine or its network, a web hook also without TLS."
        ),
    ] = False,
    while_away: Annotated[
        bool,
        typer.Option(
            "--while-away", help="Use it only on days written down with leafclock away: for a helper."
        ),
    ] = False,
    db: Db = None,
    garden: GardenName = None,
) -> None:
    """Add a channel; try it with: leafclock channel test."""
    session = open_session(db, garden, None)
    if kind not in KINDS:
        raise Refusal(f"kind '{kind}'; right would be one of {', '.join(KINDS)}")
    known: ChannelKind = next(listed for listed in KINDS if listed == kind)
    begins, ends = _quiet(quiet)
    who = checked(Who, {"person": person}, as_option).person or ""
    secret = new_secret() if known == "hook" else ""
    made = Channel(
        uuid4(), session.garden.id, known, _address(address), secret, who, begins, ends, private,
        while_away=while_away,
    )  # fmt: skip
    _check(made)
    if any(_same_mail(other, made.address) for other in _all(session)):
        raise Refusal(f"the garden has a mail channel to {made.address} already; right would be another")
    notices = standing_notices(session)
    with session.store.begin() as connection:
        channels.add_channel(connection, made)
        standing = tell_standing(session, connection, made, notices)
    words = session.style.say
    say(words(CHANNELS["added"], name=short(made.id), to=leads_to(made)))
    if standing:
        say(catching_up(session.style, standing))
    if secret:
        say(words(CHANNELS["secret"]))
        say(secret)


@channel_app.command("list")
def channel_list(db: Db = None, garden: GardenName = None, as_data: Json = False) -> None:
    """List the channels, without what is secret of them."""
    session = open_session(db, garden, None)
    found, waiting = _all(session), _waiting(session)
    if as_data:
        print_json(
            [
                {
                    "id": channel.id,
                    "name": short(channel.id),
                    "kind": channel.kind,
                    "address": leads_to(channel),
                    "person": channel.person,
                    "quiet_from": channel.quiet_from,
                    "quiet_to": channel.quiet_to,
                    "why_off": channel.why_off,
                    "failing_since": channel.failing_since,
                    "why_failing": channel.why_failing,
                    "while_away": channel.while_away,
                    "waiting": len(waiting[channel.id]),
                    "why_waiting": _why_waiting(waiting[channel.id]),
                }
                for channel in found
            ]
        )
        return
    if not found:
        say(session.style.say(CHANNELS["none"]))
    columns(
        [
            (short(channel.id), channel.person, _row(session, channel, waiting[channel.id]))
            for channel in found
        ],
        indent=0,
    )


@channel_app.command("quiet")
def channel_quiet(
    name: Name,
    hours: Annotated[str, typer.Argument(metavar="HH:MM-HH:MM|none")],
    db: Db = None,
    garden: GardenName = None,
) -> None:
    """Set a channel's quiet hours."""
    begins, ends = _quiet(hours)
    session = open_session(db, garden, None)
    channel = _changed(session, name, lambda at, key: channels.set_quiet(at, key, begins, ends))
    now = _row(session, replace(channel, quiet_from=begins, quiet_to=ends))
    say(Style().say(CHANNELS["is"], name=short(channel.id), channel=now))


@channel_app.command("on")
def channel_on(name: Name, db: Db = None, garden: GardenName = None) -> None:
    """Use a channel again; what waits for it and is not too late is sent, and the warnings that stand."""
    session = open_session(db, garden, None)
    channel, notices = _named(session, name), standing_notices(session)
    with session.store.begin() as connection:
        channels.switch_on(connection, channel.id)
        standing = tell_standing(session, connection, channel, notices)
    say(Style().say(CHANNELS["on"], name=short(channel.id)))
    if standing:
        say(catching_up(session.style, standing))


@channel_app.command("off")
def channel_off(name: Name, db: Db = None, garden: GardenName = None) -> None:
    """Send nothing over a channel for the time being."""
    why = Style().say(CHANNELS["by_hand"])
    session = open_session(db, garden, None)
    channel = _changed(session, name, lambda at, key: channels.switch_off(at, key, why))
    say(Style().say(CHANNELS["off"], name=short(channel.id)))


@channel_app.command("remove")
def channel_remove(name: Name, db: Db = None, garden: GardenName = None) -> None:
    """Forget a channel and its messages."""
    channel = _changed(open_session(db, garden, None), name, channels.remove_channel)
    say(Style().say(CHANNELS["removed"], name=short(channel.id), to=leads_to(channel)))


@channel_app.command("test")
def channel_test(name: Name, db: Db = None, garden: GardenName = None) -> None:
    """Send a message over a channel now, and tell how it went."""
    session = open_session(db, garden, None)
    channel, now = _named(session, name), utc_now()
    if channel.kind == "mail" and mail_server() is None:
        raise Refusal(
            "no mail server is set; right would be HOST or HOST:PORT in LEAFCLOCK_SMTP and the sender in LEAFCLOCK_SMTP_FROM"
        )
    words = session.style.say
    subject, text = words(CHANNELS["test_subject"], garden=session.garden.name), words(CHANNELS["test"])
    notice = Notice(uuid4(), 1, "new", "Unknown", now, now + timedelta(hours=1), subject, text)
    result = carrier(utc_now)(Message(uuid4(), channel, notice))
    if not isinstance(result, Sent):
        raise Refusal(f"not sent to {leads_to(channel)}: {result.why}")
    if not channel.why_off:  # it works again; one that was switched off is switched on by hand
        with session.store.begin() as connection:
            channels.note_success(connection, channel.id)
    say(words(CHANNELS["tested"], to=leads_to(channel)))


def _address(given: str) -> str:
    """Return the address that is given, or typed."""
    return (sys.stdin.readline(LONGEST_ADDRESS) if given == TYPED else given).strip()


def _changed(session: Session, name: str, change: Callable[[Connection, UUID], None]) -> Channel:
    """Change the channel of a name in one step, and return it as it was."""
    channel = _named(session, name)
    with session.store.begin() as connection:
        change(connection, channel.id)
    return channel


def _all(session: Session) -> tuple[Channel, ...]:
    with session.store.read() as connection:
        return channels.list_channels(connection, session.garden.id)


def _named(session: Session, name: str) -> Channel:
    """Return the channel of a short name or a mail address. Raises Refusal."""
    wanted = name.strip().lower()
    found = [
        channel
        for channel in _all(session)
        if (len(wanted) >= LENGTH and channel.id.hex.startswith(wanted)) or _same_mail(channel, wanted)
    ]
    if len(found) != 1:
        raise Refusal(f"no channel '{name}'; right would be a name as printed by: leafclock channel list")
    return found[0]


def _same_mail(channel: Channel, address: str) -> bool:
    """Tell whether a channel is mail to an address; no server in use tells capitals apart (common practice)."""
    return channel.kind == "mail" and channel.address.lower() == address.lower()


def _check(made: Channel) -> None:
    """Refuse an address that cannot be used, without repeating it: it may hold a secret. Raises Refusal."""
    if not made.address.isprintable():
        raise Refusal("the address holds control characters; right would be one without")
    if made.kind == "hook" and not _can_be_read(made.address):
        raise Refusal("the web hook's address cannot be read; right would be one such as https://HOST/PATH")
    try:
        check_address(made)
    except ValueError as error:
        raise Refusal(str(error)) from None


def _can_be_read(url: str) -> bool:
    try:
        return urlsplit(url).port != 0
    except ValueError:  # brackets without an end, or a port that is none
        return False


def _waiting(session: Session) -> dict[UUID, list[Listed]]:
    """Return the messages that wait to be sent by channel, the oldest first."""
    waiting: dict[UUID, list[Listed]] = defaultdict(list)
    with session.store.read() as connection:
        for message in list_messages(connection, session.garden.id):
            if message.state in ("pending", "sending"):
                waiting[message.channel_id].append(message)
    return waiting


def _why_waiting(waiting: Sequence[Listed]) -> str:
    return next((message.last_error for message in reversed(waiting) if message.last_error), "")


def _row(session: Session, channel: Channel, waiting: Sequence[Listed] = ()) -> str:
    failing = (since_when(session, channel), channel.why_failing) if channel.failing_since else None
    return channel_words(
        session.style,
        leads_to(channel),
        (channel.quiet_from, channel.quiet_to) if channel.quiet_from and channel.quiet_to else None,
        while_away=channel.while_away,
        why_off=channel.why_off,
        failing=failing,
        waiting=len(waiting),
        why_waiting=_why_waiting(waiting),
    )


def _quiet(text: str | None) -> tuple[time, time] | tuple[None, None]:
    if text is None or text.strip().lower() == NO_QUIET:
        return None, None
    try:
        begins, ends = map(time_of, text.split("-"))
    except ValueError:
        begins = ends = time()
    if begins == ends:
        raise Refusal(f"quiet '{text}'; right would be two times, such as 22:00-07:00, or none")
    return begins, ends
