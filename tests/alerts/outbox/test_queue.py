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

from alerts.notices import Channel, Gone, Message, Notice, Refused, Result, Retry, Sent, as_data, from_data
from alerts.outbox import channels, queue, standing
from alerts.outbox.push_key import push_key
from alerts.outbox.sending import send_due
from calendar_core.storage.engine import open_store
from calendar_core.storage.errors import StoreError
from calendar_core.storage.schema import tables
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


def the_channel(store: Store, garden: Garden) -> Channel:
    with store.read() as connection:
        (one,) = channels.list_channels(connection, garden.id)
        return one


def listed(store: Store, garden: Garden) -> queue.Listed:
    with store.read() as connection:
        (one,) = queue.list_messages(connection, garden.id)
        return one


def test_a_notice_comes_back_as_it_was(store: Store, garden: Garden, channel: Channel) -> None:
    notice = a_notice(references=("a,1,2015",), cap={"urgency": "Expected"}, text="34 °C\nwater")
    assert from_data(as_data(notice)) == notice
    plain = replace(notice, references=(), cap={})
    post(store, garden, plain)
    (message,) = send(store)
    assert (message.notice, message.channel) == (plain, channel)


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
    st.floats(0) | st.sampled_from([float("inf"), float("nan"), 99999999999999.0]),
    st.timedeltas(timedelta(seconds=1), timedelta(days=3)),
    st.uuids(),
)
def test_a_wait_that_is_asked_for_is_kept_within_bounds(
    tries: int, after_s: float, left: timedelta, name: UUID
) -> None:
    """Never for longer than an hour, nor past the hour that the warning is about."""
    message = Message(
        name, Channel(name, name, "mail", ""), a_notice(onset=NOW + left, expires=NOW + 2 * left)
    )
    gap = queue.gap_s(queue.Claim(message, "one", tries), after_s, NOW)
    half = left.total_seconds() / 2
    assert queue.FIRST_GAP_S <= gap <= max(queue.FIRST_GAP_S, half)
    assert gap <= queue.LONGEST_GAP_S * (1 + queue.JITTER)
    if after_s <= min(half, queue.LONGEST_GAP_S):
        assert gap >= after_s


@pytest.mark.parametrize("after_s", [2592000.0, 99999999999999.0])
def test_a_wait_without_bound_keeps_no_danger_past_its_hour(
    store: Store, garden: Garden, channel: Channel, after_s: float
) -> None:
    """RFC 9110 sets no limit to Retry-After; the danger that was not tried waits for its half too."""
    soon = a_notice(UUID(int=1), onset=NOW + timedelta(minutes=40), act_by=NOW + timedelta(minutes=20))
    post(store, garden, a_notice(UUID(int=2), onset=NOW + timedelta(minutes=30)))
    post(store, garden, soon)
    assert len(send(store, result=Retry("503", after_s))) == 1
    with store.read() as connection:
        due = [one.due_at - NOW for one in queue.list_messages(connection, garden.id)]
    assert sorted(due) == [timedelta(minutes=10), timedelta(minutes=15)]
    assert len(send(store, NOW + timedelta(minutes=15))) == 2


def test_what_quiet_hours_hold_is_not_brought_forward_by_another_that_fails(
    store: Store, garden: Garden, channel: Channel
) -> None:
    morning = NOW + timedelta(minutes=30)
    post(store, garden, a_notice(UUID(int=1), onset=NOW + timedelta(minutes=20)), due=lambda _: morning)
    post(store, garden, a_notice(UUID(int=2)))
    send(store, result=Retry("503", after_s=3600.0))
    assert send(store, morning - timedelta(seconds=1)) == []
    assert [message.notice.warning_id for message in send(store, morning)] == [UUID(int=1)]


def test_a_wait_without_bound_is_an_hour_where_there_is_time(
    store: Store, garden: Garden, channel: Channel
) -> None:
    for number in range(2):
        post(store, garden, a_notice(UUID(int=number)))
    send(store, result=Retry("503", after_s=2592000.0))
    assert len(send(store, NOW + timedelta(hours=1))) == 2


def test_what_is_too_late_is_dropped_as_such(store: Store, garden: Garden, channel: Channel) -> None:
    post(store, garden, a_notice())
    assert send(store, a_notice().expires) == []
    assert states(store, garden) == ["lapsed"]


def test_quiet_hours_end_before_it_is_sent(store: Store, garden: Garden, channel: Channel) -> None:
    morning = NOW + timedelta(hours=12)
    post(store, garden, a_notice(), due=lambda _: morning)
    assert send(store, morning - timedelta(seconds=1)) == []
    assert len(send(store, morning)) == 1


def test_a_refusal_is_tried_again_and_what_is_taken_then_makes_it_forgotten(
    store: Store, garden: Garden, channel: Channel
) -> None:
    post(store, garden, a_notice())
    for minutes in (0, 2, 8):
        assert len(send(store, NOW + timedelta(minutes=minutes), Refused("404"))) == 1
    found = the_channel(store, garden)
    assert (found.why_off, found.failing_since, found.why_failing, found.refusals) == ("", NOW, "404", 1)
    assert len(send(store, NOW + timedelta(hours=1))) == 1
    assert the_channel(store, garden) == channel
    assert states(store, garden) == ["sent"]


def refused_for(store: Store, garden: Garden, how_long: timedelta, result: Result) -> datetime:
    """Try again and again for so long; return the last moment."""
    now = NOW
    while now - NOW < how_long:
        send(store, now, result)
        now += timedelta(minutes=30)
    return now


def test_refused_for_half_a_day_a_channel_is_switched_off_and_what_waits_is_sent_when_it_is_on_again(
    store: Store, garden: Garden, channel: Channel
) -> None:
    post(store, garden, a_notice())
    refused_for(store, garden, timedelta(hours=10), Refused("550 no such user"))
    assert the_channel(store, garden).why_off == ""
    now = refused_for(store, garden, timedelta(hours=20), Refused("550 no such user"))
    off = the_channel(store, garden)
    assert (off.why_off, off.failing_since) == ("550 no such user", NOW)
    assert post(store, garden, a_notice(UUID(int=8))) == 1
    assert send(store, now) == []
    with store.begin() as connection:
        channels.switch_on(connection, channel.id)
        assert queue.catch_up(connection, channel, [], now, lambda _channel, _notice: now) == 0
    assert the_channel(store, garden) == channel
    assert len(send(store, now)) == 2


def refusals(channel: Channel, *hours: float) -> Channel:
    for hour in hours:
        channel = channels.after_failure(channel, "404", NOW + timedelta(hours=hour), refused=True)
    return channel


def test_few_refusals_however_far_apart_and_many_at_once_switch_nothing_off(channel: Channel) -> None:
    few = [24.0 * number for number in range(channels.REFUSALS - 1)]
    assert refusals(channel, *few).why_off == ""
    assert refusals(channel, *few, 999.0).why_off == "404"
    assert refusals(channel, *(number / 10 for number in range(100))).why_off == ""


def test_a_clock_that_jumps_makes_no_refusals_of_half_a_day(channel: Channel) -> None:
    assert refusals(channel, 0.0, -72.0, 0.1, 72.0, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8).why_off == ""


def test_a_line_that_is_down_switches_nothing_off(store: Store, garden: Garden, channel: Channel) -> None:
    post(store, garden, a_notice())
    refused_for(store, garden, timedelta(hours=20), Retry("timed out"))
    assert the_channel(store, garden).why_off == ""
    assert channels.is_cut_off(the_channel(store, garden), NOW + timedelta(hours=20))


def test_a_text_that_is_refused_holds_nothing_else_back_and_switches_nothing_off(
    store: Store, garden: Garden, channel: Channel
) -> None:
    for number in range(3):
        post(store, garden, a_notice(UUID(int=number)))
    bad = UUID(int=1)

    def deliver(message: Message) -> Result:
        return Refused("554 spam", text_only=True) if message.notice.warning_id == bad else Sent()

    assert len(send_due(store, deliver, "one", lambda: NOW)) == 3
    assert Counter(states(store, garden)) == {"sent": 2, "pending": 1}
    now = refused_for(store, garden, timedelta(hours=20), Refused("554 spam", text_only=True))
    assert the_channel(store, garden).why_off == ""
    assert channels.is_cut_off(the_channel(store, garden), now)  # nothing else was taken since


def test_a_channel_that_is_gone_is_tried_once_and_no_more(
    store: Store, garden: Garden, channel: Channel
) -> None:
    post(store, garden, a_notice())
    assert len(send(store, NOW, Gone("410 Gone"))) == 1
    gone = the_channel(store, garden)
    assert (gone.gone, gone.why_off, gone.failing_since) == (True, "410 Gone", NOW)
    assert channels.is_cut_off(gone, NOW)
    assert not channels.works(gone, NOW)
    assert send(store, NOW + timedelta(hours=2)) == []
    assert states(store, garden) == ["pending"]
    with store.begin() as connection:
        channels.remove_channel(connection, gone.id)
    assert states(store, garden) == []


def test_the_key_is_made_once_whoever_asks_first(store: Store) -> None:
    with store.begin() as connection:
        connection.execute(tables.push_key.delete())
    numbers = itertools.count()
    made: list[str] = []
    threads = [
        Thread(target=lambda: made.append(push_key(store, lambda: f"key {next(numbers)}"))) for _ in range(8)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(made) == 8
    assert set(made) == {push_key(store, lambda: "another")}


def test_a_failure_under_a_clock_that_ran_ahead_began_no_later_than_the_next(channel: Channel) -> None:
    ahead = channels.after_failure(channel, "404", NOW + timedelta(days=3), refused=True)
    after = channels.after_failure(ahead, "404", NOW, refused=True)
    assert (after.failing_since, after.refusals) == (NOW, 2)


@pytest.mark.parametrize(
    ("off", "reached"),
    [((), True), ((1,), True), ((0,), False), ((0, 1), False)],
)  # fmt: skip
def test_nobody_is_reached_where_only_a_helper_who_is_not_meant_today_is(
    channel: Channel, off: tuple[int, ...], reached: bool
) -> None:
    mine = [channel, replace(channel, id=uuid4(), while_away=True)]
    found = tuple(replace(one, why_off="x" * (number in off)) for number, one in enumerate(mine))
    assert channels.reaches_nobody(found, NOW) is not reached
    assert not channels.reaches_nobody((), NOW)
    failing = replace(channel, failing_since=NOW)
    assert not channels.reaches_nobody((failing,), NOW)
    assert channels.reaches_nobody((failing,), NOW + channels.CUT_OFF_AFTER)


def test_a_channel_that_comes_late_gets_what_stands_and_it_has_not_had(
    store: Store, garden: Garden, channel: Channel
) -> None:
    first = a_notice()
    newest = replace(
        first, revision=2, action="update", subject="Changed", anew_subject="Heat", anew_text="All of it."
    )
    for notice in (first, newest):
        post(store, garden, notice)
        send(store)
    late = add(store, Channel(uuid4(), garden.id, "mail", "late@leafclock.example"))
    over = a_notice(UUID(int=8), expires=NOW)

    def caught_up(to: Channel) -> int:
        with store.begin() as connection:
            return queue.catch_up(connection, to, [newest, over], NOW, lambda _channel, _notice: NOW)

    assert (caught_up(channel), caught_up(late), caught_up(late)) == (0, 1, 0)
    (message,) = send(store)
    assert message.channel == late
    assert (message.notice.action, message.notice.subject, message.notice.text) == (
        "new",
        "Heat",
        "All of it.",
    )
    assert caught_up(late) == 0


CAP = {"sender": "urn:uuid:g", "identifier": "7.1", "sent": "2015-06-25T01:00:00-00:00", "msgType": "Alert"}


def test_one_that_has_heard_nothing_hears_of_an_update_as_of_something_new(
    store: Store, garden: Garden, channel: Channel, other_channel: Channel
) -> None:
    """Common Alerting Protocol 1.2: an Alert has no references, an Update those of what it updates."""
    morning = NOW + timedelta(hours=12)
    post(store, garden, a_notice(cap=CAP), due=lambda to: NOW if to == channel else morning)
    (first,) = send(store)
    changed: dict[str, Any] = {
        "anew_subject": "Danger from heat",
        "anew_text": "Both maples.",
        "subject": "Changed: Danger from heat",
    }
    post(store, garden, a_notice(revision=2, action="update", cap={**CAP, "msgType": "Update"}, **changed))
    told = {message.channel.id: message for message in send(store)}
    update, new = told[channel.id], told[other_channel.id]
    assert (update.notice.action, update.notice.subject) == ("update", "Changed: Danger from heat")
    assert (new.notice.action, new.notice.subject, new.notice.text) == (
        "new",
        "Danger from heat",
        "Both maples.",
    )
    assert (update.notice.anew_text, new.notice.anew_text) == ("", "")
    assert [one.notice.cap["identifier"] for one in (first, update, new)] == [
        str(one.id) for one in (first, update, new)
    ]
    assert [one.notice.cap["msgType"] for one in (first, update, new)] == ["Alert", "Update", "Alert"]
    assert update.notice.references == (f"urn:uuid:g,{first.id},2015-06-25T01:00:00-00:00",)
    assert (first.notice.references, new.notice.references) == ((), ())


def test_a_message_says_the_same_at_every_try(store: Store, garden: Garden, channel: Channel) -> None:
    """Its first revision is on its way while the second waits: only when that is over is it known what to refer to."""
    post(store, garden, a_notice(cap=CAP))
    with store.begin() as connection:
        first = queue.claim(connection, "one", NOW)
    assert first is not None
    post(store, garden, a_notice(revision=2, action="update", cap=CAP))
    assert send(store) == []
    with store.begin() as connection:
        assert queue.settle(connection, first, Sent(), NOW)
    (once,) = send(store, result=Retry("451 busy"))
    (again,) = send(store, NOW + timedelta(minutes=1))
    assert (once.notice, once.earlier) == (again.notice, again.earlier)
    assert once.earlier == (first.message.id,)


def test_what_was_closed_by_a_clock_that_ran_ahead_is_sent_after_all(
    store: Store, garden: Garden, channel: Channel
) -> None:
    post(store, garden, a_notice())
    assert send(store, NOW + timedelta(days=3)) == []
    assert states(store, garden) == ["lapsed"]
    assert len(send(store, NOW + timedelta(minutes=1))) == 1


@pytest.mark.parametrize("action", ["update", "withdraw"])
def test_what_was_closed_by_a_clock_that_ran_ahead_stays_so_behind_a_newer_revision(
    store: Store, garden: Garden, channel: Channel, action: str
) -> None:
    post(store, garden, a_notice())
    send(store, NOW + timedelta(days=3))
    post(store, garden, a_notice(revision=2, action=action))
    assert [message.notice.revision for message in send(store)] == ([2] if action == "update" else [])


def test_what_was_put_off_by_a_clock_that_ran_ahead_is_due_now(
    store: Store, garden: Garden, channel: Channel
) -> None:
    ahead = NOW + timedelta(hours=20)
    post(store, garden, a_notice())
    send(store, ahead, Retry("451 busy"))
    assert len(send(store, NOW)) == 1
    post(store, garden, a_notice(UUID(int=8)))
    with store.begin() as connection:
        assert queue.claim(connection, "killed", ahead)
    assert send(store, NOW) == []
    assert len(send(store, NOW + queue.LEASE)) == 1


def test_what_is_due_at_one_moment_goes_danger_first_and_digests_last(
    store: Store, garden: Garden, channel: Channel
) -> None:
    """Ids are random to whoever made the warnings: several orders of them come out the same."""
    hour = timedelta(hours=1)
    kinds: list[dict[str, Any]] = [
        {"action": "digest", "severity": "Minor", "onset": NOW, "subject": "5 digest"},
        {"severity": "Moderate", "onset": NOW + 3 * hour, "subject": "3 caution"},
        {"severity": "Severe", "onset": NOW + 18 * hour, "subject": "2 danger tomorrow"},
        {"severity": "Extreme", "onset": NOW + 2 * hour, "subject": "1 danger today"},
        {"severity": "Moderate", "onset": NOW + 4 * hour, "subject": "4 caution later"},
    ]
    for turn in range(len(kinds)):
        made = [*kinds[turn:], *kinds[:turn]]
        for number, kind in enumerate(made):
            post(store, garden, a_notice(UUID(int=10 * turn + number), **kind))
        assert [message.notice.subject[0] for message in send(store)] == ["1", "2", "3", "4", "5"]


def test_a_slow_channel_leaves_time_for_the_others(
    store: Store, garden: Garden, channel: Channel, other_channel: Channel
) -> None:
    for number in range(20):
        post(store, garden, a_notice(UUID(int=number)))
    now = NOW

    def deliver(message: Message) -> Result:
        nonlocal now
        now += timedelta(seconds=20 if message.channel == channel else 0)
        return Sent()

    tried = send_due(store, deliver, "one", lambda: now)
    assert Counter(message.channel.id for message, _ in tried) == {channel.id: 3, other_channel.id: 20}
    assert len(send_due(store, deliver, "one", lambda: now)) == 3


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


def test_what_the_other_side_says_is_kept_without_signs_that_a_terminal_obeys(
    store: Store, garden: Garden, channel: Channel
) -> None:
    def deliver(message: Message) -> Result:
        raise ValueError("bu\0sy \x1b[2J\u202e\r\nX" + 999 * "y")

    post(store, garden, a_notice())
    send_due(store, deliver, "one", lambda: NOW)
    said = listed(store, garden).last_error
    assert said.startswith("ValueError: bu sy [2J Xyyy")
    assert len(said) <= 200
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
