"""``leafclock watch``: as a process of its own, and its jobs on a clock of the test; weather, mail and hooks are real servers here."""

from __future__ import annotations

import asyncio
import re
import shutil
import signal
import socket
import subprocess
import threading
from collections import Counter
from contextlib import contextmanager
from datetime import UTC, date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from alerts.delivery.mail import MailServer, send_mail
from alerts.notices import Sent
from alerts.outbox.queue import LEASE
from alerts.schedule.watch import LEADING, STANDBY
from calendar_core.app.shell.clock import utc_now
from calendar_core.app.warnings.jobs import COPIES_KEPT, JUDGED_H
from tests.alerts.conftest import NOW, free_port
from tests.app.conftest import DAY, run
from tests.app.stage import Stage
from tests.app.test_bad_input import assert_refused
from tests.app.test_process import LEAFCLOCK, environment
from tests.app.weather_service import WeatherService

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from pytest_httpserver import HTTPServer

    from alerts.notices import Message, Result
    from tests.alerts.conftest import MailBox

pytestmark = pytest.mark.slow

INES = "ines@leafclock.example"
MINUTE = timedelta(minutes=1)


@pytest.fixture
def stage(founded: Path, folder: Path) -> Iterator[Callable[..., Stage]]:
    """Give what makes stages over the founded garden, which has a mail channel; they end with the test."""
    shutil.copy(founded, folder / "garden.db")
    assert run("channel", "add", "mail", INES).status == 0
    made: list[Stage] = []

    def staged(*given: Any, **more: Any) -> Stage:
        made.append(Stage(*given, **more))
        return made[-1]

    yield staged
    for one in made:
        one.end()


@pytest.fixture
def service(httpserver: HTTPServer, monkeypatch: pytest.MonkeyPatch, no_pauses: None) -> WeatherService:
    """Give a weather service that foretells forty degrees less than usual: danger in any season."""
    made = WeatherService(httpserver, date.fromisoformat(DAY), colder_by=40.0)
    monkeypatch.setenv("LEAFCLOCK_WEATHER", "open-meteo")
    monkeypatch.setenv("LEAFCLOCK_OPEN_METEO", made.base)
    return made


@contextmanager
def watching() -> Iterator[subprocess.Popen[str]]:
    """Run ``leafclock watch`` as a process of its own; what it leaves running is killed."""
    words = [*LEAFCLOCK, "watch"]
    with subprocess.Popen(
        words, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, env=environment()
    ) as made:
        try:
            yield made
        finally:
            made.kill()


def until(condition: Callable[[], object]) -> None:
    for _ in range(600):
        if condition():
            return
        threading.Event().wait(0.05)
    raise AssertionError("it did not come about in half a minute")


def subjects(mails: MailBox) -> list[str]:
    return [str(mail["Subject"]).strip() for mail in mails.mails]  # a long one may be folded at its beginning


def test_a_process_fetches_judges_sends_and_stops(
    stage: Callable[..., Stage], service: WeatherService, mails: MailBox
) -> None:
    service.today = utc_now().date()
    other = stage()
    other.now = utc_now()
    other.post()
    with watching() as process:
        until(lambda: subjects(mails) == ["warning 1"] and len(other.messages()) > 1)
        other.at(utc_now(), "sending")
        assert other.said == [STANDBY]
        process.send_signal(signal.SIGTERM)
        out, _ = process.communicate(timeout=60)
        assert process.returncode == 0
    lines = out.splitlines()
    assert all(re.match(r"\d{4}-\d\d-\d\d \d\d:\d\d:\d\d \S", line) for line in lines)
    said = [line[20:] for line in lines]
    assert said[0].startswith("watching ")
    assert said[1:] == [LEADING, "stopped"]
    other.at(utc_now(), "sending")
    assert other.said == [STANDBY, LEADING]
    assert {"/v1/ensemble", "/v1/forecast"} <= {one["path"] for one in service.asked}
    assert [text for text in subjects(mails) if text.startswith("Danger from ")]
    assert [one.state for one in other.messages()] == ["sent"] * len(mails.mails)


def test_killed_while_sending_it_repeats_that_message_and_loses_none(
    stage: Callable[..., Stage], mails: MailBox, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The mail server takes a mail and is slow to say so: the sender cannot know, and sends it once more."""
    taken, over, take = threading.Event(), threading.Event(), mails.handle_DATA

    async def slowly(*given: Any) -> str:
        answer = await take(*given)
        taken.set()
        while not over.is_set():
            await asyncio.sleep(0.02)
        return answer

    monkeypatch.setattr(mails, "handle_DATA", slowly)
    again, start = stage(), utc_now()
    again.now = start
    for _ in range(3):
        again.post()
    with watching() as process:
        until(taken.is_set)
        process.kill()
    over.set()
    again.at(start + LEASE + MINUTE, "sending")
    again.at(start + LEASE + 2 * MINUTE, "sending")
    assert again.said == [LEADING]
    repeated = subjects(mails)[0]
    assert Counter(subjects(mails)) == Counter([repeated, "warning 1", "warning 2", "warning 3"])
    ids = {mail["Message-ID"] for mail in mails.mails if mail["Subject"] == repeated}
    assert len(ids) == 1  # so that a mail program shows it once (RFC 5322, section 3.6.4)


def test_told_twice_to_stop_it_does_not_wait_for_a_mail_server_that_stalls(
    stage: Callable[..., Stage], monkeypatch: pytest.MonkeyPatch
) -> None:
    later = stage()
    later.now = utc_now()
    later.post()
    with socket.create_server(("127.0.0.1", 0)) as stalling:
        monkeypatch.setenv("LEAFCLOCK_SMTP", f"127.0.0.1:{stalling.getsockname()[1]}")
        monkeypatch.setenv("LEAFCLOCK_SMTP_FROM", "garden@leafclock.example")
        monkeypatch.setenv("LEAFCLOCK_SMTP_SECURITY", "none")
        with watching() as process:
            line, _ = stalling.accept()
            process.send_signal(signal.SIGTERM)
            with pytest.raises(subprocess.TimeoutExpired):
                process.wait(timeout=1)
            process.send_signal(signal.SIGTERM)
            assert process.wait(timeout=5) == 1
            line.close()
    assert later.messages()[0].state == "sending"  # it is sent when the lease is over


def test_a_weather_service_that_is_dead_from_the_start_is_said_once(
    stage: Callable[..., Stage], service: WeatherService, mails: MailBox
) -> None:
    watch = stage()
    service.down_after = 0
    for hours in (0, 1):
        watch.at(NOW + timedelta(hours=hours))
    about = ["My garden, days to come", "My garden, hours to come"]
    assert [text.partition(": ")[0] for text in watch.said[1:]] == [*about, "hazards"]
    assert all("The service is overloaded" in text for text in watch.said[1:3])
    assert "judged as soon as there is one" in watch.said[3]
    assert subjects(mails) == ["No warnings yet: there is no forecast to judge by"]
    service.down_after = 10_000
    watch.at(NOW + timedelta(hours=JUDGED_H))
    assert watch.said[4:] == [f"{each}: works again" for each in [*about, "hazards"]]
    assert [text for text in subjects(mails) if text.startswith("Danger from ")]


def test_when_the_weather_service_dies_the_forecast_grows_old_and_that_is_told(
    stage: Callable[..., Stage], service: WeatherService, mails: MailBox
) -> None:
    watch = stage()
    service.today = NOW.astimezone(UTC).date()
    watch.at(NOW)
    service.down_after = 0
    for hours in (14, 20):
        watch.at(NOW + timedelta(hours=hours))
    assert [text for text in subjects(mails) if "Cannot judge" in text] == [
        "Cannot judge: the forecast is 14 hours old"
    ]


@pytest.mark.parametrize("answer", ["451 come later", "550 no such user here"])
def test_what_the_mail_server_refuses_is_said_once_and_others_get_theirs(
    stage: Callable[..., Stage], mails: MailBox, httpserver: HTTPServer, answer: str
) -> None:
    """RFC 5321, section 4.2.1: 4yz may be tried again, 5yz not."""
    httpserver.expect_request("/hook").respond_with_data("")
    run("channel", "add", "hook", httpserver.url_for("/hook"), "--private")
    watch = stage()
    watch.post()
    mails.answers["RCPT"] = answer
    for minutes in (0, 2, 8):
        watch.at(NOW + minutes * MINUTE, "sending")
    assert watch.said == [LEADING, f"sending to {INES}: {answer}"]
    assert len(httpserver.log) == 1
    mails.answers.clear()
    watch.at(NOW + 60 * MINUTE, "sending")
    assert subjects(mails) == ["warning 1"]
    assert watch.said[2:] == [f"sending to {INES}: works again"]


def failing(watch: Stage, hours: int, warnings_every_h: int = 6) -> None:
    """Let time pass, with a new warning now and then."""
    for hour in range(hours):
        watch.now = NOW + timedelta(hours=hour)
        if hour % warnings_every_h == 0:
            watch.post()
        for minutes in (0, 30, 31):
            watch.at(NOW + timedelta(hours=hour, minutes=minutes), "sending")


def test_that_a_channel_fails_is_told_once_over_the_others_and_what_waited_is_sent_when_it_is_mended(
    stage: Callable[..., Stage], mails: MailBox, httpserver: HTTPServer
) -> None:
    httpserver.expect_request("/hook").respond_with_data("")
    run("channel", "add", "hook", httpserver.url_for("/hook"), "--private")
    watch = stage()
    mails.answers["RCPT"] = "550 no such user here"
    failing(watch, 20)
    told = [request.get_json()["data"] for request, _ in httpserver.log]
    troubles = [one for one in told if "do not reach" in one["subject"]]
    assert [one["subject"] for one in troubles] == [f"Warnings do not reach {INES}"]
    assert (
        "Nothing from My garden has been taken there since 18:00. Last answer: 550 no such user here"
        in troubles[0]["text"]
    )
    assert "leafclock channel test " in troubles[0]["text"]
    assert len(told) == 5
    off = "; off: 550 no such user here, nothing taken since 24 June 2015, 18:00; 4 messages waiting"
    assert off in " ".join(run("channel", "list").out.split())
    assert subjects(mails) == []
    mails.answers.clear()
    watch.at(NOW + timedelta(hours=21), "sending")
    assert subjects(mails) == []
    run("channel", "on", INES)
    watch.at(NOW + timedelta(hours=22), "sending")
    assert subjects(mails) == [
        "warning 1",
        "warning 4",
        "warning 6",
        "warning 8",
    ]  # numbered by the messages before


def test_there_is_no_heartbeat_while_nobody_can_be_reached(
    stage: Callable[..., Stage], service: WeatherService, mails: MailBox, monkeypatch: pytest.MonkeyPatch, httpserver: HTTPServer,
) -> None:  # fmt: skip
    httpserver.expect_request("/beat").respond_with_data("")
    monkeypatch.setenv("LEAFCLOCK_HEARTBEAT", httpserver.url_for("/beat"))
    watch = stage()

    def beats() -> int:
        return sum(request.path == "/beat" for request, _ in httpserver.log)

    watch.at(NOW)
    assert beats() == 1
    mails.answers["RCPT"] = "550 no such user here"
    watch.post()
    watch.at(NOW + MINUTE, "sending")
    watch.at(NOW + timedelta(hours=JUDGED_H))
    assert beats() == 1
    assert watch.said[-1] == "hazards: no heartbeat, since warnings of My garden reach nobody"
    mails.answers.clear()
    watch.at(NOW + timedelta(hours=JUDGED_H, minutes=70), "sending")
    watch.at(NOW + timedelta(hours=JUDGED_H, minutes=71))
    assert beats() == 2
    assert watch.said[-1] == "hazards: works again"


def test_a_mail_server_that_stalls_or_is_not_there_ends_nothing(stage: Callable[..., Stage]) -> None:
    """The first takes a line and never greets; nobody listens at the second."""

    def deliver(message: Message) -> Result:
        server = MailServer("127.0.0.1", "garden@leafclock.example", port, "none")
        return send_mail(server, message, NOW, timeout_s=0.2, deadline_s=0.5)

    watch = stage(deliver=deliver)
    watch.post()
    with socket.create_server(("127.0.0.1", 0)) as stalling:
        port = stalling.getsockname()[1]
        watch.at(NOW, "sending")
    port = free_port()
    watch.at(NOW + 10 * MINUTE, "sending")
    started, *troubles = watch.said
    assert started == LEADING
    assert [text.startswith(f"sending to {INES}: mail server 127.0.0.1: ") for text in troubles] == [
        True,
        True,
    ]
    assert troubles[0].endswith("timed out")
    assert troubles[1].endswith("Connection refused")
    assert [one.state for one in watch.messages()] == ["pending"]


def test_what_went_wrong_with_a_message_that_was_taken_is_said(stage: Callable[..., Stage]) -> None:
    watch = stage(deliver=lambda _: Sent("only 1 of the address's 2 targets took it"))
    watch.post()
    for minutes in (0, 60):
        watch.at(NOW + minutes * MINUTE, "sending")
    assert watch.said == [LEADING, f"sending to {INES}: only 1 of the address's 2 targets took it"]
    assert [one.state for one in watch.messages()] == ["sent"]


def test_the_database_is_copied_each_day_and_old_copies_go(stage: Callable[..., Stage]) -> None:
    copies = Path("garden copies")
    copies.mkdir()
    for day in range(1, COPIES_KEPT + 1):
        (copies / f"2015-06-{day:02d}.db").touch()
    (copies / "mine.db").touch()
    watch = stage()
    for hours in (0, 1, 24, 25):
        watch.at(NOW + timedelta(hours=hours), "keeping")
    assert watch.said == [LEADING]
    kept = sorted(path.name for path in copies.iterdir())
    assert len(kept) == COPIES_KEPT + 1
    assert kept[-3:] == ["2015-06-25.db", "2015-06-26.db", "mine.db"]
    trees = run("tree", "list", "--db", "garden copies/2015-06-26.db").out
    assert trees == run("tree", "list").out != ""


def test_on_postgresql(empty_postgresql: str, service: WeatherService, mails: MailBox) -> None:
    here = ("--db", empty_postgresql)
    made = run("start", "--place", "Seattle", "--trees", "satsuki azalea", "--today", DAY, "--offline", *here)
    assert made.status == 0, made.err
    run("channel", "add", "mail", INES, *here)
    watch, other = Stage(empty_postgresql), Stage(empty_postgresql)
    watch.at(NOW)
    other.at(NOW)
    assert (watch.said, other.said) == ([LEADING], [STANDBY])
    assert [text for text in subjects(mails) if text.startswith("Danger from ")]
    watch.end()
    sent = len(mails.mails)
    other.at(NOW + MINUTE)
    assert other.said == [STANDBY, LEADING]
    assert len(mails.mails) == sent
    other.end()
    assert service.asked


def test_without_a_database_it_makes_none(folder: Path) -> None:
    assert_refused(
        run("watch"), "garden.db: there is no such database yet; right would be another, or: leafclock start"
    )
    assert not list(folder.iterdir())


def test_settings_that_do_not_fit_are_told_at_once(
    stage: Callable[..., Stage], mails: MailBox, monkeypatch: pytest.MonkeyPatch
) -> None:
    stage()
    monkeypatch.setenv("LEAFCLOCK_SMTP_FROM", "me")
    assert_refused(run("watch"), "LEAFCLOCK_SMTP_FROM is 'me'; right would be the mail address that sends")
    monkeypatch.setenv("LEAFCLOCK_SMTP_FROM", "garden@leafclock.example")
    for address in ("hc.example.org/uuid", "https://hc.example.org:99999/uuid", "https://[::1/uuid"):
        monkeypatch.setenv("LEAFCLOCK_HEARTBEAT", address)
        beat = "LEAFCLOCK_HEARTBEAT cannot be called; right would be an address such as https://HOST/PATH"
        assert_refused(run("watch"), beat)
    monkeypatch.delenv("LEAFCLOCK_HEARTBEAT")
    monkeypatch.setenv("LEAFCLOCK_WEATHER", "crystal")
    assert_refused(
        run("watch"),
        "LEAFCLOCK_WEATHER is 'crystal'; right would be one of open-meteo, nws, met-norway, off",
    )
    assert mails.mails == []
