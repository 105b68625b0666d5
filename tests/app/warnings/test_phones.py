"""Phones as channels: listed without secrets, tried against a real push service, forgotten when they are gone."""

from __future__ import annotations

import json
import shutil
from contextlib import closing
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING, Any
from uuid import uuid4

import pytest

from alerts.delivery.push import public_key
from alerts.notices import Channel
from alerts.outbox.channels import list_channels
from alerts.outbox.push_key import push_key
from alerts.outbox.queue import list_messages, post
from calendar_core.app.shell.clock import utc_now
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.warnings.jobs import Jobs
from calendar_core.app.warnings.mailing import carrier, push_contact
from calendar_core.storage import gardens
from calendar_core.storage.engine import open_store
from calendar_core.storage.errors import StoreError
from tests.alerts.conftest import a_notice, add
from tests.alerts.phones import Phone, PushService
from tests.app.shapes import SHAPES
from tests.app.test_bad_input import assert_refused

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from pytest_httpserver import HTTPServer

    from calendar_core.storage.engine import Store
    from tests.alerts.conftest import MailBox
    from tests.app.conftest import Program

INES = "ines@leafclock.example"
GONE = "localhost answers 410 GONE: its browser has let go of the subscription"


@pytest.fixture
def court(founded: Path, folder: Path, leafclock: Program) -> Program:
    """Give the function that runs the program in the founded garden."""
    shutil.copy(founded, folder / "garden.db")
    return leafclock


@pytest.fixture
def store(court: Program) -> Iterator[Store]:
    """Give the garden's database."""
    with closing(open_store("garden.db")) as opened:
        yield opened


@pytest.fixture
def service(httpserver: HTTPServer) -> PushService:
    return PushService(httpserver)


def a_phone(store: Store, service: PushService, person: str = "Ines' phone", path: str = "/tokEn") -> str:
    """Store a phone of a garden; return its channel's name."""
    phone = Phone()
    with store.read() as connection:
        garden = gardens.get_garden(connection)
    address = service.subscribe(phone, path)
    channel = Channel(uuid4(), garden.id, "push", address, phone.secret, person, private_ok=True)
    return add(store, channel).id.hex[:6]


def known(store: Store) -> tuple[Channel, ...]:
    with store.read() as connection:
        return list_channels(connection, gardens.get_garden(connection).id)


def warn(store: Store) -> None:
    """Queue a warning that is due."""
    now = utc_now()
    hours: dict[str, Any] = {"onset": now + timedelta(hours=8), "expires": now + timedelta(hours=12)}
    with store.begin() as connection:
        post(connection, gardens.get_garden(connection).id, a_notice(**hours), now)


def send(store: Store) -> list[str]:
    """Do the job of sending as ``watch`` does it; return what it says."""
    said: list[str] = []
    Jobs(store, carrier(utc_now, store), utc_now, said.append).send(utc_now())
    return said


def test_a_phone_is_a_channel_like_others(court: Program, store: Store, service: PushService) -> None:
    name = a_phone(store, service)
    told = court("channel", "list", "--json").out
    SHAPES["channel list"].validate_json(told)
    (one,) = json.loads(told)
    assert (one["kind"], one["address"]) == ("push", "Ines' phone by localhost")
    assert court("channel", "quiet", name, "22:00-07:00").status == 0
    assert court("channel", "off", name).status == 0
    assert court("channel", "on", name).status == 0
    shown = court("channel", "list").out
    assert shown == f"{name}  Ines' phone  Ines' phone by localhost, quiet 22:00 to 07:00\n"
    assert (
        court("channel", "test", name).out == "Sent to Ines' phone by localhost: look whether it has come.\n"
    )
    (pushed,) = service.taken
    assert pushed.shown["title"] == "Test from My garden"
    assert court("channel", "remove", name).out == f"Channel removed: {name}, Ines' phone by localhost.\n"
    assert "tokEn" not in told + shown


def test_all_phones_of_a_database_know_it_by_one_key(store: Store, service: PushService) -> None:
    a_phone(store, service)
    a_phone(store, service, "Ole's phone", "/tokEn-2")
    warn(store)
    assert send(store) == []
    key = push_key(store, lambda: "another")
    assert {pushed.sender for pushed in service.taken} == {public_key(key)}
    assert len(service.taken) == 2


def test_the_key_is_in_the_copy_of_the_database_and_in_no_export(
    court: Program, store: Store, service: PushService
) -> None:
    assert court("channel", "test", a_phone(store, service)).status == 0
    key = push_key(store, lambda: "another")
    assert court("export", "out").status == 0
    assert court("backup", "copy.db").status == 0
    with closing(open_store("copy.db")) as copy:
        assert push_key(copy, lambda: "another") == key
    exported = [each.read_bytes() for each in _files("out")]
    assert exported
    assert not [text for text in exported if key.encode() in text]


def _files(folder: str) -> list[Path]:
    from pathlib import Path

    return [each for each in Path(folder).rglob("*") if each.is_file()]


def test_a_phone_that_is_gone_is_forgotten_and_the_others_are_told(
    store: Store, service: PushService
) -> None:
    a_phone(store, service)
    a_phone(store, service, "Ole's phone", "/tokEn-2")
    service.answers = [410]
    warn(store)
    send(store)
    (left,) = known(store)
    send(store)
    assert [pushed.shown["title"] for pushed in service.taken][1:] == [
        f"Warnings do not reach {_other(left.person)} by localhost any more"
    ]
    assert GONE in service.taken[-1].shown["body"]
    assert len(service.taken) == 2
    send(store)
    assert len(service.taken) == 2


def _other(person: str) -> str:
    return "Ines' phone" if person == "Ole's phone" else "Ole's phone"


def test_the_last_phone_that_is_gone_stays_to_be_seen_until_another_way_works(
    court: Program, store: Store, service: PushService, mails: MailBox
) -> None:
    name = a_phone(store, service)
    service.answers = [404]
    warn(store)
    assert send(store) == [
        "sending to Ines' phone by localhost: " + GONE.replace("410 GONE", "404 NOT FOUND")
    ]
    (gone,) = known(store)
    assert gone.gone
    assert json.loads(court("today", "--json").out)["cut_off"] == [name]
    lines = court("today").out.splitlines()
    assert [line for line in lines if line.startswith("Warnings have not reached Ines' phone by localhost")]
    assert f"  leafclock channel remove {name}" in lines
    on = court("channel", "on", name)
    assert_refused(
        on,
        "Ines' phone by localhost: its browser has let go of the subscription; right would be to allow warnings on it "
        f"anew, or: leafclock channel remove {name}",
    )
    assert court("channel", "add", "mail", INES).status == 0
    send(store)
    assert [channel.kind for channel in known(store)] == ["mail"]
    with store.read() as connection:
        garden = gardens.get_garden(connection)
        assert [one.state for one in list_messages(connection, garden.id)] == ["pending"]
    send(store)
    assert [mail["Subject"] for mail in mails.mails] == [
        "Warnings do not reach Ines' phone by localhost any more"
    ]


def test_a_helpers_phone_does_not_make_the_last_one_of_the_grower_be_forgotten(
    store: Store, service: PushService
) -> None:
    a_phone(store, service)
    service.answers = [410]
    warn(store)
    send(store)
    (mine,) = known(store)
    helper = replace(
        mine, id=uuid4(), address=service.subscribe(Phone(), "/helper"), while_away=True, gone=False
    )
    add(store, replace(helper, why_off="", failing_since=None, why_failing=""))
    send(store)
    assert len(known(store)) == 2


def test_a_test_finds_out_that_a_phone_is_gone(court: Program, store: Store, service: PushService) -> None:
    name = a_phone(store, service)
    service.answers = [410]
    assert_refused(court("channel", "test", name), f"not sent to Ines' phone by localhost: {GONE}")
    (gone,) = known(store)
    assert (gone.gone, gone.why_off) == (True, GONE)


def test_a_phone_is_not_added_by_a_command(court: Program, store: Store) -> None:
    line = "kind 'push': a phone is added on itself; right would be its page Phone, as served by: leafclock serve"
    assert_refused(court("channel", "add", "push", "https://push.leafclock.example/tokEn"), line)
    assert known(store) == ()


@pytest.mark.parametrize(
    ("settings", "contact"),
    [
        ({}, ""),
        ({"LEAFCLOCK_PUSH_CONTACT": INES}, f"mailto:{INES}"),
        ({"LEAFCLOCK_PUSH_CONTACT": f"mailto:{INES}"}, f"mailto:{INES}"),
        ({"LEAFCLOCK_PUSH_CONTACT": "https://leafclock.example/garden"}, "https://leafclock.example/garden"),
        ({"LEAFCLOCK_SMTP": "mail.leafclock.example", "LEAFCLOCK_SMTP_FROM": f"Leafclock <{INES}>"}, f"mailto:{INES}"),
        ({"LEAFCLOCK_SMTP_FROM": INES}, ""),
    ],
)  # fmt: skip
def test_the_contact_is_what_is_set_or_the_mails_sender(settings: dict[str, str], contact: str) -> None:
    assert push_contact(settings) == contact


@pytest.mark.parametrize(
    "given", ["ines", "http://leafclock.example", "https://", "https://a\nb", "a@b@c", "ä@leafclock.example"]
)
def test_a_contact_that_is_none_is_refused(given: str) -> None:
    with pytest.raises(Refusal, match="LEAFCLOCK_PUSH_CONTACT is"):
        push_contact({"LEAFCLOCK_PUSH_CONTACT": given})


def test_one_subscription_is_one_channel(store: Store, service: PushService) -> None:
    a_phone(store, service)
    with pytest.raises(StoreError, match="has this push channel already"):
        a_phone(store, service)
