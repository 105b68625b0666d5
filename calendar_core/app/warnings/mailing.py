"""The way messages leave: the mail server as the environment sets it, and the carrier that uses it."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Literal, get_args
from urllib.parse import urlsplit

from alerts.delivery.carrier import Carrier
from alerts.delivery.mail import MailServer
from alerts.delivery.many import scheme_of
from calendar_core.app.shell.errors import Refusal

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import datetime

    from alerts.notices import Channel

Security = Literal["starttls", "tls", "none"]
PORTS: dict[Security, int] = {"starttls": 587, "tls": 465, "none": 25}  # RFC 6409, RFC 8314, RFC 5321
HELP = (
    "Mail is set in the environment: LEAFCLOCK_SMTP is the server (HOST or HOST:PORT), LEAFCLOCK_SMTP_FROM the sender, "
    "LEAFCLOCK_SMTP_USER and LEAFCLOCK_SMTP_PASSWORD its login, LEAFCLOCK_SMTP_SECURITY starttls, tls or none."
)


def carrier(now: Callable[[], datetime]) -> Carrier:
    """Return what carries messages. Raises Refusal for a mail server that is set by half."""
    return Carrier(mail_server(), now)


def leads_to(channel: Channel) -> str:
    """Return where a channel leads, without what its address may hold of secrets."""
    match channel.kind:
        case "mail":
            return channel.address
        case "hook":
            url = urlsplit(channel.address)
            return f"{url.scheme}://{url.hostname}"
        case "apprise":
            return f"{scheme_of(channel.address)}:// by Apprise"


def mail_server(environment: Mapping[str, str] = os.environ) -> MailServer | None:
    """Return the mail server that is set, None where none is. Raises Refusal for settings that do not fit."""
    where = environment.get("LEAFCLOCK_SMTP", "")
    if not where:
        return None
    sender = environment.get("LEAFCLOCK_SMTP_FROM", "")
    if "@" not in sender:
        raise Refusal(f"LEAFCLOCK_SMTP_FROM is '{sender}'; right would be the mail address that sends")
    host, _, port = where.partition(":")
    security = _security(environment.get("LEAFCLOCK_SMTP_SECURITY", "starttls"))
    if not host or (port and not (port.isdecimal() and 0 < int(port) < 65536)):
        raise Refusal(f"LEAFCLOCK_SMTP is '{where}'; right would be HOST or HOST:PORT")
    return MailServer(
        host,
        sender,
        int(port) if port else PORTS[security],
        security,
        environment.get("LEAFCLOCK_SMTP_USER", ""),
        environment.get("LEAFCLOCK_SMTP_PASSWORD", ""),
    )


def _security(text: str) -> Security:
    known: tuple[Security, ...] = get_args(Security)
    for security in known:
        if security == text:
            return security
    raise Refusal(f"LEAFCLOCK_SMTP_SECURITY is '{text}'; right would be one of {', '.join(known)}")
