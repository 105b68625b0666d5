"""Real receivers on this machine, and a database of each kind with a garden and channels to them."""

from __future__ import annotations

import socket
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from email import message_from_bytes, policy
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid4

import pytest
from aiosmtpd.controller import Controller

from alerts.delivery.hook import new_secret
from alerts.delivery.mail import MailServer
from alerts.notices import Channel, Message, Notice
from alerts.outbox.channels import add_channel
from alerts.outbox.standing import StandingWarning
from calendar_core.garden.model import Garden, MonthDay
from calendar_core.storage import gardens
from calendar_core.storage.engine import open_store
from tests.databases import migrated
from tests.postgresql import tell

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from email.message import EmailMessage
    from pathlib import Path

    from calendar_core.storage.engine import Store

NOW = datetime(2015, 6, 25, 1, 0, tzinfo=UTC)
"""18:00 at the garden, the evening before a hot day."""


@dataclass
class MailBox:
    """What a real SMTP server was handed; ``answers`` are its replies to commands instead of its own."""

    answers: dict[str, str] = field(default_factory=dict)
    mails: list[EmailMessage] = field(default_factory=list)

    async def handle_RCPT(  # noqa: N802 - the server's name
        self, _server: Any, _session: Any, envelope: Any, address: str, _options: Any
    ) -> str:
        envelope.rcpt_tos.append(address)
        return self.answers.get("RCPT", "250 OK")

    async def handle_DATA(self, _server: Any, _session: Any, envelope: Any) -> str:  # noqa: N802
        if answer := self.answers.get("DATA"):
            return answer
        self.mails.append(message_from_bytes(envelope.content, policy=policy.default))
        return "250 OK"


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@pytest.fixture
def mail_box() -> MailBox:
    """Give the box of the mail server."""
    return MailBox()


@pytest.fixture
def mail_server(mail_box: MailBox) -> Iterator[MailServer]:
    """Give a real mail server on this machine."""
    controller = Controller(mail_box, hostname="127.0.0.1", port=free_port())
    controller.start()
    yield MailServer("127.0.0.1", "garden@leafclock.example", controller.port, "none")
    controller.stop()


@pytest.fixture(scope="session")
def alerts_postgresql(postgresql_url: str) -> str:
    """Give the URL of a migrated database for these tests."""
    tell(postgresql_url.format("postgres"), "CREATE DATABASE alerts")
    url = postgresql_url.format("alerts")
    open_store(url).close()
    return url


@pytest.fixture(params=["sqlite", "postgresql"])
def address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where a migrated database without rows is: a file or a URL."""
    if request.param == "sqlite":
        return str(migrated(tmp_path / "garden.db"))
    url: str = request.getfixturevalue("alerts_postgresql")
    tell(url, "TRUNCATE garden, job_run CASCADE")
    return url


@pytest.fixture
def store(address: str) -> Iterator[Store]:
    """Give an open store without rows."""
    opened = open_store(address)
    yield opened
    opened.close()


@pytest.fixture
def garden(store: Store) -> Garden:
    """Give a stored garden, invented; the place is Seattle-Tacoma airport."""
    zone, fall, cold = "America/Los_Angeles", MonthDay(11, 9), MonthDay(12, 17)
    made = Garden(uuid4(), "Court", "Seattle", 47.45, -122.31, 130.0, zone, "metric", fall, cold)
    with store.begin() as connection:
        gardens.add_garden(connection, made)
    return made


@pytest.fixture
def channel(store: Store, garden: Garden) -> Channel:
    """Give a stored mail channel."""
    return add(store, Channel(uuid4(), garden.id, "mail", "ines@leafclock.example"))


@pytest.fixture
def other_channel(store: Store, garden: Garden) -> Channel:
    """Give a stored second mail channel."""
    return add(store, Channel(uuid4(), garden.id, "mail", "ole@leafclock.example"))


def add(store: Store, channel: Channel) -> Channel:
    with store.begin() as connection:
        add_channel(connection, channel)
    return channel


HEAT = UUID(int=7)


def a_notice(warning_id: UUID = HEAT, revision: int = 1, **more: Any) -> Notice:
    """Invented."""
    fields: dict[str, Any] = {
        "action": "new",
        "severity": "Severe",
        "onset": NOW + timedelta(hours=18),
        "expires": NOW + timedelta(hours=24),
        "subject": "Heat tomorrow: move 2 maples",
        "text": "Maple 1 and Maple 2 into the shade by 11.",
    }
    return Notice(warning_id, revision, **(fields | more))


def a_warning(garden: Garden, notice: Notice, **more: Any) -> StandingWarning:
    fields: dict[str, Any] = {"state": "active", "data": {"trees": ["Maple 1"]}, "made_at": NOW}
    head = (notice.warning_id, garden.id, "heat", notice.severity, notice.onset, notice.expires)
    return StandingWarning(*head, revision=notice.revision, **(fields | more))


@pytest.fixture
def hook_message(httpserver: Any) -> Callable[..., Message]:
    """Give the function that makes a message to the HTTP receiver of this test."""

    def made(path: str = "/hook", **more: Any) -> Message:
        fields: dict[str, Any] = {"secret": new_secret(), "private_ok": True}
        channel = Channel(uuid4(), uuid4(), "hook", httpserver.url_for(path), **(fields | more))
        return Message(uuid4(), channel, a_notice())

    return made
