"""Mail over SMTP: one recipient, plain text, a stable Message-ID.

Sources: RFC 5321 (4yz may be tried again, 5yz should not), RFC 5322 (Message-ID, In-Reply-To, References), RFC 3834
(Auto-Submitted).
"""

from __future__ import annotations

import smtplib
import ssl
from contextlib import suppress
from dataclasses import dataclass, field
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime, formataddr
from typing import TYPE_CHECKING, Literal

from alerts.delivery.line import CONNECT_S, DEADLINE_S, connected, ends_by, said_of
from alerts.notices import Refused, Result, Retry, Sent, one_line

if TYPE_CHECKING:
    import socket
    from datetime import datetime
    from uuid import UUID

    from alerts.notices import Message

LONGEST = 990  # octets of a line, RFC 5322 allows 998: a subject that is folded may begin with a space
UNCHANGING = 500  # SMTP replies from here on are meant to be permanent


@dataclass(frozen=True, slots=True)
class MailServer:
    """The server that takes mail, and the sender's address and name. "none" is for a server on this machine."""

    host: str
    sender: str
    port: int = 587
    security: Literal["starttls", "tls", "none"] = "starttls"
    user: str = ""
    password: str = field(default="", repr=False)
    sender_name: str = ""


def written(message: Message, sender: str, now: datetime, sender_name: str = "") -> EmailMessage:
    """Return the mail of a message; an update or withdrawal answers what the recipient has had."""
    mail, notice = EmailMessage(SMTP.clone(max_line_length=LONGEST)), message.notice
    domain = sender.rpartition("@")[2]
    mail["From"] = formataddr((sender_name, sender))
    mail["To"] = message.channel.address
    mail["Subject"] = " ".join(notice.subject.split())
    mail["Date"] = format_datetime(now)
    mail["Message-ID"] = _message_id(message.id, domain)
    mail["Auto-Submitted"] = "auto-generated"
    if message.earlier:
        known = [_message_id(each, domain) for each in message.earlier]
        mail["In-Reply-To"] = known[-1]
        mail["References"] = " ".join(known)
    mail.set_content(notice.text)
    return mail


def send_mail(
    server: MailServer,
    message: Message,
    now: datetime,
    *,
    timeout_s: float = CONNECT_S,
    deadline_s: float = DEADLINE_S,
) -> Result:
    """Hand a message to the server.

    Only what it says of the recipient or the text is a refusal. One before that, of the password for instance, is the
    server's own and would silence every channel: it is tried again, and shown.
    """
    smtp = _client(server, timeout_s, deadline_s)
    with ends_by(deadline_s, lambda: getattr(smtp, "sock", None)):
        try:
            _log_in(smtp, server)
        except (OSError, ValueError) as error:
            smtp.close()
            return Retry(f"mail server {server.host}: {_said(error)}")
        try:
            return _hand_over(smtp, written(message, server.sender, now, server.sender_name))
        finally:
            with suppress(OSError, ValueError):  # the mail is taken or not, whatever the goodbye
                smtp.quit()
            smtp.close()


class _Smtp(smtplib.SMTP):
    """One that is connected by a deadline, however many addresses its host has."""

    deadline_s = DEADLINE_S

    def _get_socket(self, host: str, port: int, timeout: float) -> socket.socket:
        return connected(host, port, timeout, self.deadline_s, private_ok=True)


class _SmtpOverTls(smtplib.SMTP_SSL, _Smtp):
    """The same under TLS from the first byte: it wraps the line that the other makes."""


def _client(server: MailServer, timeout_s: float, deadline_s: float) -> smtplib.SMTP:
    smtp = (
        _SmtpOverTls(timeout=timeout_s, context=ssl.create_default_context())
        if server.security == "tls"
        else _Smtp(timeout=timeout_s)
    )
    smtp.deadline_s = deadline_s
    # connect() leaves it unset, and the certificate is checked against it.
    smtp._host = server.host  # type: ignore[attr-defined] # noqa: SLF001
    return smtp


def _log_in(smtp: smtplib.SMTP, server: MailServer) -> None:
    code, said = smtp.connect(server.host, server.port)
    if code != 220:
        raise smtplib.SMTPConnectError(code, said)
    if server.security == "starttls":
        smtp.starttls(context=ssl.create_default_context())
    if server.user:
        smtp.login(server.user, server.password)


def _hand_over(smtp: smtplib.SMTP, mail: EmailMessage) -> Result:
    try:
        smtp.send_message(mail)
    except smtplib.SMTPRecipientsRefused as error:
        ((code, said),) = error.recipients.values()
        return _refused(code, f"{code} {_text(said)}")
    except smtplib.SMTPDataError as error:
        return _refused(error.smtp_code, _said(error), text_only=True)
    except smtplib.SMTPNotSupportedError as error:
        return Refused(one_line(f"the mail server cannot write to this address: {error}"))
    except smtplib.SMTPResponseException as error:
        return Retry(_said(error))
    except (OSError, ValueError) as error:
        return Retry(f"the line broke: {_said(error)}", unsure=True)
    return Sent()


def _refused(code: int, said: str, *, text_only: bool = False) -> Result:
    return Refused(said, text_only) if code >= UNCHANGING else Retry(said)


def _said(error: Exception) -> str:
    if isinstance(error, smtplib.SMTPResponseException):
        return f"{error.smtp_code} {_text(error.smtp_error)}"
    return said_of(error)


def _text(said: bytes | str) -> str:
    text = said.decode("utf-8", "replace") if isinstance(said, bytes) else said
    return one_line(text)


def _message_id(identity: UUID, domain: str) -> str:
    return f"<{identity}@{domain}>"
