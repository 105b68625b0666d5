"""The way messages leave: mail server, contact and heartbeat as the environment sets them, and the carrier."""

from __future__ import annotations

import os
from email.errors import HeaderParseError
from email.headerregistry import Address
from email.utils import getaddresses
from ipaddress import ip_address
from typing import TYPE_CHECKING, Literal, get_args
from urllib.parse import urlsplit

from alerts.delivery.carrier import Carrier
from alerts.delivery.mail import MailServer
from alerts.delivery.many import scheme_of
from alerts.delivery.push import PushSender, new_key
from alerts.outbox.push_key import push_key
from calendar_core.app.shell.errors import Refusal

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import datetime

    from alerts.notices import Channel
    from calendar_core.storage.engine import Store

Security = Literal["starttls", "tls", "none"]
PORTS: dict[Security, int] = {"starttls": 587, "tls": 465, "none": 25}  # RFC 6409, RFC 8314, RFC 5321
HELP = (
    "Mail is set in the environment: LEAFCLOCK_SMTP is the server (HOST or HOST:PORT), LEAFCLOCK_SMTP_FROM the sender, "
    "LEAFCLOCK_SMTP_USER and LEAFCLOCK_SMTP_PASSWORD its login, LEAFCLOCK_SMTP_SECURITY starttls, tls or none. "
    "Phones are added on themselves, at the page Phone of leafclock serve; LEAFCLOCK_PUSH_CONTACT is the mail address that "
    "their push services are told, else it is the mail's sender, else the page's own address."
)


def carrier(now: Callable[[], datetime], store: Store) -> Carrier:
    """Return what carries messages. Raises Refusal for a mail server that is set by half, or a contact that is none."""
    contact = push_contact()
    return Carrier(mail_server(), now, lambda: PushSender(push_key(store, new_key), contact))


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
        case "push":
            return f"{channel.person or 'a phone'} by {urlsplit(channel.address).hostname}"


def mail_server(environment: Mapping[str, str] = os.environ) -> MailServer | None:
    """Return the mail server that is set, None where none is. Raises Refusal for settings that do not fit."""
    where = environment.get("LEAFCLOCK_SMTP", "")
    if not where:
        return None
    name, sender = _sender(environment.get("LEAFCLOCK_SMTP_FROM", ""))
    host, port = _host_and_port(where)
    security = _security(environment.get("LEAFCLOCK_SMTP_SECURITY", "starttls"))
    user = environment.get("LEAFCLOCK_SMTP_USER", "")
    if security == "none" and user and not _is_here(host):
        raise Refusal(
            f"LEAFCLOCK_SMTP_SECURITY is 'none', which sends the password to {host} for all to read; right would be starttls or tls"
        )
    password = environment.get("LEAFCLOCK_SMTP_PASSWORD", "")
    return MailServer(host, sender, port or PORTS[security], security, user, password, name)


def push_contact(environment: Mapping[str, str] = os.environ) -> str:
    """Return the contact that push services are told, "" where none is set. Raises Refusal for one that is none.

    Source: RFC 8292, section 2.1 (mailto: or https:).
    """
    given = environment.get("LEAFCLOCK_PUSH_CONTACT", "").strip()
    if not given:
        server = mail_server(environment)
        return "" if server is None else f"mailto:{server.sender}"
    if given.startswith("https://") and urlsplit(given).hostname and given.isprintable():
        return given
    address = given.removeprefix("mailto:")
    try:
        known = Address(addr_spec=address)
    except (HeaderParseError, ValueError, IndexError):
        known = Address()
    if not (known.username and known.domain and address.isascii() and address.isprintable()):
        raise Refusal(
            f"LEAFCLOCK_PUSH_CONTACT is '{given}'; right would be a mail address, or an address such as https://HOST"
        )
    return f"mailto:{address}"


def heartbeat(environment: Mapping[str, str] = os.environ) -> str:
    """Return the address that a monitor elsewhere is told by, "" where none is set. Raises Refusal, without what it holds."""
    address = environment.get("LEAFCLOCK_HEARTBEAT", "")
    try:
        url = urlsplit(address)
        fits = url.scheme in ("http", "https") and bool(url.hostname) and url.port != 0
    except ValueError:  # brackets without an end, or a port that is none
        fits = False
    if address and not fits:
        raise Refusal(
            "LEAFCLOCK_HEARTBEAT cannot be called; right would be an address such as https://HOST/PATH"
        )
    return address


def _sender(text: str) -> tuple[str, str]:
    """Return the name and the address of who sends: NAME <ADDRESS>, or the address alone."""
    try:
        ((name, address),) = getaddresses([text])
        known = Address(addr_spec=address)
    except (HeaderParseError, ValueError, IndexError):  # none, several, or one that cannot be
        name, address, known = "", "", Address()
    if not (known.username and known.domain and text.isprintable()):
        raise Refusal(f"LEAFCLOCK_SMTP_FROM is '{text}'; right would be the mail address that sends")
    return name, address


def _host_and_port(where: str) -> tuple[str, int]:
    """Return the mail server's host, and its port or 0. An IPv6 address stands in brackets."""
    try:
        url = urlsplit(f"//{where}")
        host, port = url.hostname, url.port
    except ValueError:
        host, port = None, None
    if not host or port == 0 or where.endswith(":") or set(where) & set("/?#@ "):
        raise Refusal(f"LEAFCLOCK_SMTP is '{where}'; right would be HOST or HOST:PORT")
    return host, port or 0


def _is_here(host: str) -> bool:
    """Tell whether a host is this machine."""
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def _security(text: str) -> Security:
    known: tuple[Security, ...] = get_args(Security)
    for security in known:
        if security == text:
            return security
    raise Refusal(f"LEAFCLOCK_SMTP_SECURITY is '{text}'; right would be one of {', '.join(known)}")
