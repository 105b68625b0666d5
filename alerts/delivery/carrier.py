"""Choosing the way by the channel's kind, and checking an address before a channel is added."""

from __future__ import annotations

from dataclasses import dataclass
from email.errors import HeaderParseError
from email.headerregistry import Address
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from alerts.delivery.hook import send_hook, signature
from alerts.delivery.mail import MailServer, send_mail
from alerts.delivery.many import check_service, send_by_apprise
from alerts.delivery.push import PushSender, send_push
from alerts.delivery.subscription import check_endpoint, keys_of
from alerts.notices import Result, Retry

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from alerts.notices import Channel, Message


@dataclass(frozen=True, slots=True)
class Carrier:
    """Carries messages; ``mail_server`` is None where none is set, ``now`` gives the present moment.

    ``push_sender`` gives who sends to phones; it is asked for each message, since the key may be made by the first.
    """

    mail_server: MailServer | None
    now: Callable[[], datetime]
    push_sender: Callable[[], PushSender] | None = None

    def __call__(self, message: Message) -> Result:
        """Carry one message over its channel."""
        match message.channel.kind:
            case "mail":
                if self.mail_server is None:
                    return Retry("no mail server is set")
                return send_mail(self.mail_server, message, self.now())
            case "hook":
                return send_hook(message, self.now())
            case "apprise":
                return send_by_apprise(message)
            case "push":
                if self.push_sender is None:
                    return Retry("there is no key to send to phones with")
                return send_push(self.push_sender(), message, self.now())


def check_address(channel: Channel) -> None:
    """Refuse what no message could be carried to. Raises ValueError in one line, without the secret."""
    match channel.kind:
        case "mail":
            _check_mail(channel.address)
        case "hook":
            _check_hook(channel)
        case "apprise":
            check_service(channel.address, private_ok=channel.private_ok)
        case "push":
            check_endpoint(channel.address, private_ok=channel.private_ok)
            keys_of(channel.secret)


def _check_mail(address: str) -> None:
    try:
        known = Address(addr_spec=address)
    except (HeaderParseError, ValueError, IndexError) as error:
        raise ValueError(f"{address!r} is no mail address; right would be name@host") from error
    if not (known.username and known.domain):
        raise ValueError(f"{address!r} is no mail address; right would be name@host")


def _check_hook(channel: Channel) -> None:
    url = urlsplit(channel.address)
    schemes = {"https", "http"} if channel.private_ok else {"https"}
    if url.scheme not in schemes or not url.hostname:
        raise ValueError(
            "a web hook's address begins with https://HOST; on this machine or its network http:// is taken with --private"
        )
    if url.username or url.password:
        raise ValueError("a web hook's address holds no user or password: it is signed instead")
    signature(channel.secret, "", 0, b"")
