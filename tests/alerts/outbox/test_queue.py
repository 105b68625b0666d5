"""The queue on both databases: what is posted is sent once, again where in doubt, never too late."""

from __future__ import annotations

import itertools
from collections import Counter
from dataclasses import replace
from datetime import datetime, timedelta
from threading import Thread
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid4

import pytest
from hypothesis import given
from hypothesis import strategies as st

from alerts.notices import Channel, Message, Notice, Permanent, Result, Retry, Sent, as_data, from_data
from alerts.outbox import channels, queue, standing
from alerts.outbox.sending import send_due
from calendar_core.storage.engine import open_store
from calendar_core.storage.errors import StoreError
from tests.alerts.conftest import NOW, a_notice, a_warning, add

if TYPE_CHECKING:
    from calendar_core.garden.model import Garden
    from calendar_core.storage.engine import Store


def post(store: Store, garden: Garden, notice: Notice, **more: Any) -> int:
    with store.begin() as connection:
        return queue.post(connection, garden.id, notice, NOW, **more)


def send(store: Store, now: datetime = NOW, result: Result | None = None) -> list[Message]:
    """Return what went out at a moment, each try ending in ``result``."""
    tried = send_due(store, lambda _: result or Sent(), "one", lambda: now)
    return [message for message, _ in tried]


def states(store: Store, garden: Garden) -> list[str]:
    with store.read() as connection:
        return [one.state for one in queue.list_messages(connection, garden.id)]


def listed(store: Store, garden: Garden) -> queue.Listed:
    with store.read() as connection:
        (one,) = queue.list_messages(connection, garden.id)
        return one


def test_a_notice_comes_back_as_it_was(store: Store, garden: Garden, channel: Channel) -> None:
    notice = a_notice(references=("a,1,2015",), cap={"urgency": "Expected"}, text="34 °C\nwater")
    assert from_data(as_data(notice)) == notice
    post(store, garden, notice)
    (message,) = send(store)
    assert (message.notice, message.channel) == (notice, channel)


def test_each_channel_is_told_once(
    store: Store, garden: Garden, channel: Channel, other_channel: Channel
) -> None:
    assert post(store, garden, a_notice()) == 2
    assert post(store, garden, a_notice()) == 0
    assert {message.channel for message in send(store)} == {channel, other_channel}
    assert send(store, NOW + timedelta(hours=1)) == []
    assert states(store, garden) == ["sent", "sent"]


def test_a_state_and_its_messages_are_kept_together(store: Store, garden: Garden, channel: Channel) -> None:
    warning = a_warning(garden, a_notice())
    with pytest.raises(ZeroDivisionError), store.begin() as connection:  # noqa: PT012 - to be undone
        standing.announce(connection, warning, a_notice(), NOW)
        raise ZeroDivisionError
    with store.read() as connection:
        assert standing.active_warnings(connection, garden.id) == ()
    assert states(store, garden) == []
    with store.begin() as connection:
        assert standing.announce(connection, warning, a_notice(), NOW) == 1
        assert standing.active_warnings(connection, garden.id) == (warning,)
        assert standing.expire_warnings(connection, warning.expires) == 1
        assert standing.active_warnings(connection, garden.id) == ()


def test_a_newer_revision_takes_the_place_of_one_not_sent(
    store: Store, garden: Garden, channel: Channel
) -> None:
    post(store, garden, a_notice())
    post(store, garden, a_notice(revision=2, action="update"))
    (message,) = send(store)
    assert (message.notice.revision, message.earlier) == (2, ())
    assert states(store, garden) == ["superseded", "sent"]


def test_an_update_names_what_the_channel_has_had(store: Store, garden: Garden, channel: Channel) -> None:
    post(store, garden, a_notice())
    (first,) = send(store)
    post(store, garden, a_notice(revision=2, action="update"))
    (second,) = send(store)
    post(store, garden, a_notice(revision=3, action="withdraw"))
    (third,) = send(store)
    assert second.earlier == (first.id,)
    assert third.earlier == (first.id, second.id)


def test_only_those_who_were_told_hear_of_the_withdrawal(
    store: Store, garden: Garden, channel: Channel
) -> None:
    post(store, garden, a_notice())
    send(store)
    add(store, Channel(uuid4(), garden.id, "mail", "late@leafclock.example"))
    assert post(store, garden, a_notice(revision=2, action="withdraw")) == 1
    assert [message.channel for message in send(store)] == [channel]


def test_a_warning_nobody_had_is_withdrawn_in_silence(store: Store, garden: Garden, channel: Channel) -> None:
    post(store, garden, a_notice())
    send(store, result=Retry("451 busy"))
    assert post(store, garden, a_notice(revision=2, action="withdraw")) == 0
    assert send(store, NOW + timedelta(hours=1)) == []


@pytest.mark.parametrize("after_the_crash", [True, False])
def test_who_may_have_been_told_hears_of_the_withdrawal(
    store: Store, garden: Garden, channel: Channel, after_the_crash: bool
) -> None:
    post(store, garden, a_notice())
    if after_the_crash:
        with store.begin() as connection:
            assert queue.claim(connection, "killed", NOW)
        send(store, NOW + queue.LEASE, Retry("451 busy"))  # the next try says nothing about the first
    else:
        send(store, result=Retry("the line broke", unsure=True))
    assert post(store, garden, a_notice(revision=2, action="withdraw")) == 1


@pytest.mark.slow
def test_gaps_grow_and_never_pass_the_end(store: Store, garden: Garden, channel: Channel) -> None:
    notice = a_notice()
    post(store, garden, notice)
    now, tries = NOW, []
    while listed(store, garden).state == "pending":
        if send(store, now, Retry("451 busy")):
            tries.append(now)
        now = min(max(listed(store, garden).due_at, now + timedelta(seconds=1)), notice.expires)
        assert now <= notice.expires
    gaps = [(b - a).total_seconds() for a, b in itertools.pairwise(tries)]
    growing = gaps[:8]
    assert growing == sorted(growing)
    assert 30 <= gaps[0] <= 40
    assert max(gaps) <= 3600 * 1.25
    assert timedelta(0) < notice.expires - tries[-1] < timedelta(minutes=2)  # a last try near the end
    assert listed(store, garden).state == "lapsed"


@given(
    st.integers(1, 500),
    st.floats(0, 1e5),
    st.timedeltas(timedelta(seconds=1), timedelta(days=3)),
    st.uuids(),
)
def test_a_wait_that_is_asked_for_is_kept(tries: int, after_s: float, left: timedelta, name: UUID) -> None:
    message = Message(name, Channel(name, name, "mail", ""), a_notice(expires=NOW + left))
    gap = queue.gap_s(queue.Claim(message, "one", tries), after_s, NOW)
    assert gap >= max(after_s, queue.FIRST_GAP_S)
    assert gap <= max(after_s, queue.FIRST_GAP_S, left.total_seconds() / 2)


def test_what_is_too_late_is_dropped_as_such(store: Store, garden: Garden, channel: Channel) -> None:
    post(store, garden, a_notice())
    assert send(store, a_notice().expires) == []
    assert states(store, garden) == ["lapsed"]


def test_quiet_hours_end_before_it_is_sent(store: Store, garden: Garden, channel: Channel) -> None:
    morning = NOW + timedelta(hours=12)
    post(store, garden, a_notice(), due=lambda _: morning)
    assert send(store, morning - timedelta(seconds=1)) == []
    assert len(send(store, morning)) == 1


def test_a_refusal_for_good_switches_the_channel_off(store: Store, garden: Garden, channel: Channel) -> None:
    post(store, garden, a_notice())
    send(store, result=Permanent("550 no such user"))
    post(store, garden, a_notice(UUID(int=8)))
    with store.read() as connection:
        assert channels.list_channels(connection, garden.id) == (
            replace(channel, why_off="550 no such user"),
        )
    assert states(store, garden) == ["dead"]
    with store.begin() as connection:
        channels.switch_on(connection, channel.id)
    assert post(store, garden, a_notice(UUID(int=8))) == 1


def test_a_dead_server_holds_up_a_round_once(
    store: Store, garden: Garden, channel: Channel, other_channel: Channel
) -> None:
    for number in range(3):
        post(store, garden, a_notice(UUID(int=number)))
    tried = send_due(store, lambda m: Retry("silent") if m.channel == channel else Sent(), "one", lambda: NOW)
    assert Counter(message.channel.id for message, _ in tried) == {channel.id: 1, other_channel.id: 3}
    assert len(send(store, NOW + timedelta(minutes=1))) == 3


def test_a_carrier_that_raises_is_a_try_that_failed(store: Store, garden: Garden, channel: Channel) -> None:
    post(store, garden, a_notice())
    send_due(store, lambda _: 1 / 0, "one", lambda: NOW)  # type: ignore[arg-type, return-value]
    assert listed(store, garden).last_error == "ZeroDivisionError: division by zero"
    assert len(send(store, NOW + timedelta(minutes=1))) == 1


def test_a_lease_keeps_others_away_until_it_is_over(store: Store, garden: Garden, channel: Channel) -> None:
    post(store, garden, a_notice())
    with store.begin() as connection:
        first = queue.claim(connection, "first", NOW)
        assert first is not None
    assert send(store, NOW + queue.LEASE - timedelta(seconds=1)) == []
    assert [message.id for message in send(store, NOW + queue.LEASE)] == [first.message.id]
    with store.begin() as connection:
        assert not queue.settle(connection, first, Retry("late"), NOW + queue.LEASE)
    assert states(store, garden) == ["sent"]


def test_two_that_live_never_send_the_same(
    address: str, store: Store, garden: Garden, channel: Channel, other_channel: Channel
) -> None:
    for number in range(20):
        post(store, garden, a_notice(UUID(int=number)))
    seen: list[UUID] = []

    def deliver(message: Message) -> Result:
        seen.append(message.id)
        return Sent()

    def work(name: str) -> None:
        own = open_store(address)
        send_due(own, deliver, name, lambda: NOW)
        own.close()

    threads = [Thread(target=work, args=(name,)) for name in ("one", "two", "three")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(seen) == len(set(seen)) == 40


def test_channels_are_listed_and_refused_twice(store: Store, garden: Garden, channel: Channel) -> None:
    with pytest.raises(StoreError, match="already"):
        add(store, replace(channel, id=uuid4()))
    assert "ines" not in repr(channel)
    post(store, garden, a_notice())
    with store.begin() as connection:
        channels.remove_channel(connection, channel.id)
        assert channels.list_channels(connection, garden.id) == ()
    assert states(store, garden) == []


def test_the_last_judgement_is_kept(store: Store, garden: Garden) -> None:
    with store.begin() as connection:
        assert standing.last_judgement(connection, garden.id) is None
        first, second = (standing.Judgement(NOW + timedelta(hours=n), NOW) for n in (0, 1))
        standing.note_judgement(connection, garden.id, first)
        standing.note_judgement(connection, garden.id, second)
        assert standing.last_judgement(connection, garden.id) == second


def test_a_full_disk_is_said_and_nothing_is_lost(tmp_path: Any) -> None:
    """SQLite: "PRAGMA max_page_count" gives the error of a full disk."""
    file = tmp_path / "full.db"
    small = open_store(file)
    from tests.alerts.kills import found_garden  # the same garden as in the kill tests

    garden, _ = found_garden(small, "127.0.0.1", 1)
    with pytest.raises(StoreError, match="free some space"), small.begin() as connection:  # noqa: PT012
        connection.exec_driver_sql("PRAGMA max_page_count=1")
        for number in range(500):
            queue.post(connection, garden, a_notice(UUID(int=number), text="x" * 4000), NOW)
    small.close()
    again = open_store(file)
    with again.begin() as connection:
        assert queue.list_messages(connection, garden) == ()
        queue.post(connection, garden, a_notice(), NOW)
    assert len(send(again)) == 2
    again.close()
