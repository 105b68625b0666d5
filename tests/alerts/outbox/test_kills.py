"""kill -9 between every two steps: every warning arrives, repeated at most once a kill, none too late.

Real processes, a real mail server and a real web hook receiver. All points: ``python -m
tests.benchmarks.outbox_kills``.
"""

from __future__ import annotations

from collections import Counter
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import pytest

from alerts.outbox import queue
from calendar_core.storage.engine import open_store
from tests.alerts.kills import FREE, Season, found_garden, notices, starter
from tests.databases import migrated
from tests.postgresql import tell

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from uuid import UUID

    from pytest_httpserver import HTTPServer

    from alerts.delivery.mail import MailServer
    from alerts.notices import Channel
    from tests.alerts.conftest import MailBox
    from tests.alerts.kills import Starter

pytestmark = pytest.mark.slow

POINTS = 40


@pytest.fixture(scope="module")
def forks() -> Iterator[Starter]:
    """Give the program that forks senders."""
    with starter() as made:
        yield made


def arrived(mails: Sequence[Any], hooks: Sequence[Any]) -> list[tuple[str, str, datetime]]:
    """Return the way, the subject and the moment of sending of all that came in, by the receivers' account."""
    by_mail = [("mail", str(mail["Subject"]), mail["Date"].datetime) for mail in mails]
    by_hook = [
        (
            "hook",
            str(request.get_json()["data"]["subject"]),
            datetime.fromtimestamp(int(request.headers["webhook-timestamp"]), UTC),
        )
        for request in hooks
    ]
    return by_mail + by_hook


def check(came: list[tuple[str, str, datetime]], database: str, garden: UUID, kills: int) -> tuple[int, int]:
    """Hold what came in against what was to come; return how many repeated and how many lapsed."""
    counted = Counter((way, subject) for way, subject, _ in came)
    for notice in notices():
        for way in ("mail", "hook"):
            lapsing = notice.subject.startswith("brief") and kills > 1
            assert counted[way, notice.subject] >= (0 if lapsing else 1), (way, notice.subject)
        assert all(at < notice.expires for _, subject, at in came if subject == notice.subject)
    repeats = sum(count - 1 for count in counted.values())
    assert repeats <= kills
    store = open_store(database)
    with store.read() as connection:
        ended = [one.state for one in queue.list_messages(connection, garden)]
    store.close()
    assert set(ended) <= {"sent", "lapsed"}
    return repeats, ended.count("lapsed")


def steps_in_all(
    forks: Starter, address: str, server: MailServer, hook: HTTPServer
) -> tuple[int, UUID, list[Channel]]:
    """Return the number of steps of an undisturbed run."""
    store = open_store(address)
    garden, channels = found_garden(store, "127.0.0.1", hook.port)
    store.close()
    season = Season(forks, address, garden, server.port)
    season.run(FREE)
    assert season.kills == 0
    return season.steps, garden, channels


def test_kills_at_forty_points(
    tmp_path: Any, forks: Starter, mail_server: MailServer, mail_box: MailBox, httpserver: HTTPServer
) -> None:
    httpserver.expect_request("/hook").respond_with_data("")
    whole = str(migrated(tmp_path / "whole.db"))
    steps, garden, _ = steps_in_all(forks, whole, mail_server, httpserver)
    check(arrived(mail_box.mails, [r for r, _ in httpserver.log]), whole, garden, 0)
    assert steps > POINTS
    kills = 0
    for point in range(POINTS):
        mail_box.mails.clear()
        httpserver.clear_log()
        step = 1 + point * steps // POINTS
        database = str(migrated(tmp_path / f"{point}.db"))
        kills += killed_at((step, 1 + point), database, forks, mail_server, mail_box, httpserver)[0]
    assert kills >= POINTS


def killed_at(
    steps: tuple[int, int], address: str, forks: Starter, server: MailServer, box: MailBox, hook: HTTPServer
) -> tuple[int, int, int]:
    """Run a season killed at a step and at one of the next start, check it, and return the numbers of kills, repeats and lapsed messages."""
    store = open_store(address)
    garden, _ = found_garden(store, "127.0.0.1", hook.port)
    store.close()
    season = Season(forks, address, garden, server.port)
    season.run(*steps)
    repeats, lapsed = check(
        arrived(box.mails, [request for request, _ in hook.log]), address, garden, season.kills
    )
    return season.kills, repeats, lapsed


def test_a_kill_on_postgresql(
    alerts_postgresql: str,
    forks: Starter,
    mail_server: MailServer,
    mail_box: MailBox,
    httpserver: HTTPServer,
) -> None:
    httpserver.expect_request("/hook").respond_with_data("")
    for step in (5, 17, 23, 31, 42, 60):
        tell(alerts_postgresql, "TRUNCATE garden, job_run CASCADE")
        mail_box.mails.clear()
        httpserver.clear_log()
        assert killed_at((step, step), alerts_postgresql, forks, mail_server, mail_box, httpserver)[0] > 0
