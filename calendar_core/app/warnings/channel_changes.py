"""The ways warnings reach people: added, tried, switched on and off, made quiet, removed."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import time, timedelta
from typing import TYPE_CHECKING, get_args
from urllib.parse import urlsplit
from uuid import uuid4

from alerts.delivery.carrier import check_address
from alerts.delivery.hook import new_secret
from alerts.notices import Channel, ChannelKind, Gone, Message, Notice, Sent
from alerts.outbox import channels
from alerts.outbox.queue import Listed, list_messages
from calendar_core.app.plan.line_names import LENGTH, short
from calendar_core.app.shell.days import time_of
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.forms import Label, Strict, as_option, checked
from calendar_core.app.shell.receipt import Receipt
from calendar_core.app.warnings.channel_notices import standing_notices, tell_standing
from calendar_core.app.warnings.mailing import carrier, leads_to, mail_server
from calendar_core.app.warnings.reach import since_when
from calendar_core.wording.warnings.judged_text import CHANNELS, catching_up, channel_words

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import datetime
    from uuid import UUID

    from calendar_core.app.shell.session import Session

PHONE: ChannelKind = "push"
KINDS: tuple[ChannelKind, ...] = tuple(kind for kind in get_args(ChannelKind) if kind != PHONE)
"""What an address can be typed for."""
NO_QUIET = "none"


class Who(Strict):
    """Whom a channel reaches."""

    person: Label | None = None


@dataclass(frozen=True)
class AddedChannel:
    """A channel that was added, and the ``secret`` that signs its messages: it is told once."""

    channel: Channel
    receipt: Receipt
    secret: str


def add_channel(
    session: Session,
    kind: str,
    address: str,
    *,
    person: str | None = None,
    quiet: str | None = None,
    private: bool = False,
    while_away: bool = False,
) -> AddedChannel:
    """Add a channel, and tell over it what stands. Raises Refusal; no refusal repeats the address."""
    if kind == PHONE:
        raise Refusal(
            "kind 'push': a phone is added on itself; right would be its page Phone, as served by: leafclock serve"
        )
    if kind not in KINDS:
        raise Refusal(f"kind '{kind}'; right would be one of {', '.join(KINDS)}")
    known: ChannelKind = next(listed for listed in KINDS if listed == kind)
    begins, ends = quiet_of(quiet)
    who = checked(Who, {"person": person}, as_option).person or ""
    secret = new_secret() if known == "hook" else ""
    made = Channel(
        uuid4(), session.garden.id, known, address, secret, who, begins, ends, private, while_away=while_away
    )
    _check(made)
    if any(_same_mail(other, made.address) for other in channels_of(session)):
        raise Refusal(f"the garden has a mail channel to {made.address} already; right would be another")
    notices = standing_notices(session)
    with session.store.begin() as connection:
        channels.add_channel(connection, made)
        standing = tell_standing(session, connection, made, notices)
    told = [session.style.say(CHANNELS["added"], name=short(made.id), to=leads_to(made))]
    told += [catching_up(session.style, standing)] if standing else []
    return AddedChannel(made, Receipt(tuple(told)), secret)


def set_quiet(session: Session, channel: Channel, hours: str) -> Receipt:
    """Set the hours without messages of a channel, or none. Raises Refusal."""
    begins, ends = quiet_of(hours)
    with session.store.begin() as connection:
        channels.set_quiet(connection, channel.id, begins, ends)
    now = channel_line(session, replace(channel, quiet_from=begins, quiet_to=ends))
    return _receipt(session, "is", name=short(channel.id), channel=now)


def switch_on(session: Session, channel: Channel) -> Receipt:
    """Use a channel again: what waits for it and is not too late is sent, and the warnings that stand. Raises Refusal."""
    if channel.gone:
        raise Refusal(
            f"{leads_to(channel)}: its browser has let go of the subscription; right would be to allow warnings on it anew, "
            f"or: leafclock channel remove {short(channel.id)}"
        )
    notices = standing_notices(session)
    with session.store.begin() as connection:
        channels.switch_on(connection, channel.id)
        standing = tell_standing(session, connection, channel, notices)
    told = [session.style.say(CHANNELS["on"], name=short(channel.id))]
    return Receipt((*told, *([catching_up(session.style, standing)] if standing else [])))


def switch_off(session: Session, channel: Channel) -> Receipt:
    """Send nothing over a channel for the time being."""
    with session.store.begin() as connection:
        channels.switch_off(connection, channel.id, session.style.say(CHANNELS["by_hand"]))
    return _receipt(session, "off", name=short(channel.id))


def remove_channel(session: Session, channel: Channel) -> Receipt:
    """Forget a channel and its messages."""
    with session.store.begin() as connection:
        channels.remove_channel(connection, channel.id)
    return _receipt(session, "removed", name=short(channel.id), to=leads_to(channel))


def try_channel(session: Session, channel: Channel, utc_now: Callable[[], datetime]) -> Receipt:
    """Send a message over a channel now. Raises Refusal with why it did not arrive."""
    if channel.kind == "mail" and mail_server() is None:
        raise Refusal(
            "no mail server is set; right would be HOST or HOST:PORT in LEAFCLOCK_SMTP and the sender in LEAFCLOCK_SMTP_FROM"
        )
    words, now = session.style.say, utc_now()
    subject, text = words(CHANNELS["test_subject"], garden=session.garden.name), words(CHANNELS["test"])
    notice = Notice(uuid4(), 1, "new", "Unknown", now, now + timedelta(hours=1), subject, text)
    result = carrier(utc_now, session.store)(Message(uuid4(), channel, notice))
    if isinstance(result, Gone):
        with session.store.begin() as connection:
            channels.note_gone(connection, channel.id, result.why, now)
    if not isinstance(result, Sent):
        raise Refusal(f"not sent to {leads_to(channel)}: {result.why}")
    if not channel.why_off:  # it works again; one that was switched off is switched on by hand
        with session.store.begin() as connection:
            channels.note_success(connection, channel.id)
    return _receipt(session, "tested", to=leads_to(channel))


def _receipt(session: Session, phrase: str, **values: str) -> Receipt:
    return Receipt((session.style.say(CHANNELS[phrase], **values),))


def channels_of(session: Session) -> tuple[Channel, ...]:
    """Return the channels of the garden."""
    with session.store.read() as connection:
        return channels.list_channels(connection, session.garden.id)


def channel_named(session: Session, name: str) -> Channel:
    """Return the channel of a short name or a mail address. Raises Refusal."""
    wanted = name.strip().lower()
    found = [
        channel
        for channel in channels_of(session)
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


def waiting_messages(session: Session) -> dict[UUID, list[Listed]]:
    """Return the messages that wait to be sent by channel, the oldest first."""
    waiting: dict[UUID, list[Listed]] = defaultdict(list)
    with session.store.read() as connection:
        for message in list_messages(connection, session.garden.id):
            if message.state in ("pending", "sending"):
                waiting[message.channel_id].append(message)
    return waiting


def why_waiting(waiting: Sequence[Listed]) -> str:
    """Return why the latest of some messages waits; empty where nobody knows."""
    return next((message.last_error for message in reversed(waiting) if message.last_error), "")


def channel_line(session: Session, channel: Channel, waiting: Sequence[Listed] = ()) -> str:
    """Return where a channel leads, and how it is."""
    failing = (since_when(session, channel), channel.why_failing) if channel.failing_since else None
    return channel_words(
        session.style,
        leads_to(channel),
        (channel.quiet_from, channel.quiet_to) if channel.quiet_from and channel.quiet_to else None,
        while_away=channel.while_away,
        why_off=channel.why_off,
        failing=failing,
        waiting=len(waiting),
        why_waiting=why_waiting(waiting),
    )


def quiet_of(text: str | None) -> tuple[time, time] | tuple[None, None]:
    """Return quiet hours as typed, such as 22:00-07:00, or "none". Raises Refusal."""
    if text is None or text.strip().lower() == NO_QUIET:
        return None, None
    try:
        begins, ends = map(time_of, text.split("-"))
    except ValueError:
        begins = ends = time()
    if begins == ends:
        raise Refusal(f"quiet '{text}'; right would be two times, such as 22:00-07:00, or none")
    return begins, ends
