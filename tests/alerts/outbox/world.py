"""A garden's outbox on a real database, receivers that are well or not, and what must hold of what they get.

Nothing here knows what makes the steps: a test of examples, or a machine that invents them.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Literal
from uuid import UUID, uuid4, uuid5

from alerts.notices import Channel, Message, Notice, Refused, Result, Retry, Sent, as_data
from alerts.outbox import channels, queue
from alerts.outbox.sending import send_due
from calendar_core.garden.model import Garden, MonthDay
from calendar_core.storage import gardens
from tests.alerts.conftest import NOW

if TYPE_CHECKING:
    from calendar_core.storage.engine import Store

Mood = Literal["well", "down", "busy", "refusing", "picky", "forgetful"]
"""``picky`` refuses the text alone, ``forgetful`` takes a message and says nothing, ``busy`` asks for a wait without end."""
ANSWERS: dict[Mood, Result] = {
    "well": Sent(),
    "down": Retry("timed out"),
    "busy": Retry("503", after_s=1e13),
    "refusing": Refused("404"),
    "picky": Refused("554 spam", text_only=True),
    "forgetful": Retry("the line broke", unsure=True),
}
QUIET = timedelta(minutes=40)


@dataclass
class World:
    """``clock`` is what the program is told, ``now`` is true. What a receiver gets is checked, and told in ``faults``.

    ``taken`` are the messages that a sender knows to be taken, ``perhaps`` the channels and warnings of which a process
    died before it said whether it had sent.
    """

    store: Store
    now: datetime = NOW
    ahead: timedelta = timedelta()
    garden: Garden = field(init=False)
    moods: dict[UUID, Mood] = field(default_factory=dict)
    channels: dict[UUID, Channel] = field(default_factory=dict)
    newest: dict[UUID, Notice] = field(default_factory=dict)
    taken: set[UUID] = field(default_factory=set)
    had: dict[UUID, list[Message]] = field(default_factory=lambda: defaultdict(list))
    perhaps: set[tuple[UUID, UUID]] = field(default_factory=set)
    under_way: list[tuple[queue.Claim, datetime]] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        fall, cold = MonthDay(11, 9), MonthDay(12, 17)
        self.garden = Garden(uuid4(), "Court", "Seattle", 47.45, -122.31, 130.0, "UTC", "metric", fall, cold)
        with self.store.begin() as connection:
            gardens.add_garden(connection, self.garden)

    def clock(self) -> datetime:
        return self.now + self.ahead

    # -- steps ----------------------------------------------------------------------------------------

    def add_channel(self) -> Channel:
        """Add a channel that is well; it gets what stands."""
        made = Channel(uuid4(), self.garden.id, "mail", f"{len(self.channels)}@leafclock.example")
        self.channels[made.id], self.moods[made.id] = made, "well"
        with self.store.begin() as connection:
            channels.add_channel(connection, made)
            queue.catch_up(connection, made, self.standing(), self.clock(), lambda _to, _notice: self.clock())
        return made

    def switch(self, channel: Channel, *, on: bool) -> None:
        """Switch a channel on, which then gets what stands, or off."""
        with self.store.begin() as connection:
            if not on:
                channels.switch_off(connection, channel.id, "by hand")
                return
            channels.switch_on(connection, channel.id)
            queue.catch_up(
                connection, channel, self.standing(), self.clock(), lambda _to, _notice: self.clock()
            )

    def post(self, notice: Notice, *, quiet: bool = False) -> None:
        """Post a notice; where it is quiet the first channel is not to be disturbed."""
        self.newest[notice.warning_id] = notice
        first = next(iter(self.channels), None)
        due = {
            each: self.clock() + (QUIET if quiet and each == first else timedelta()) for each in self.channels
        }
        with self.store.begin() as connection:
            queue.post(connection, self.garden.id, notice, self.clock(), lambda to: due[to.id])

    def send(self) -> None:
        """Hold a round."""
        send_due(self.store, self._deliver, f"{uuid4()}", self.clock)

    def set_clock(self, ahead: timedelta) -> None:
        """Move the clock; who was sending dies of it, since nobody could tell whether its lease is over."""
        self.ahead = ahead
        self.under_way.clear()

    def take(self) -> None:
        """Let a process take a message that it has not handed over yet."""
        with self.store.begin() as connection:
            claimed = queue.claim(connection, f"{uuid4()}", self.clock())
        if claimed is not None:
            message = claimed.message
            self.perhaps.add((message.channel.id, message.notice.warning_id))
            self.under_way.append((claimed, self.now))

    def finish(self, *, settled: bool) -> None:
        """Let the process that took a message first hand it over, and die before that is written down if not settled.

        One that has not done so within its lease has died before.
        """
        if not self.under_way:
            return
        claimed, since = self.under_way.pop(0)
        if self.now - since >= queue.LEASE or self.moods[claimed.message.channel.id] != "well":
            return
        self._arrive(claimed.message, under_way=True)
        if settled:
            with self.store.begin() as connection:
                if queue.settle(connection, claimed, Sent(), self.clock()):
                    self.taken.add(claimed.message.id)

    def recover(self) -> None:
        """Let all be well: the clock right, each receiver well and its channel on; and time pass.

        Longer than the longest gap between tries, a lease and the quiet hours: then all that waits has arrived.
        """
        self.set_clock(timedelta())
        for channel in self.channels.values():
            self.moods[channel.id] = "well"
            self.switch(channel, on=True)
        start = self.now
        for minutes in (0, 6, 40, 100):
            self.now = start + timedelta(minutes=minutes)
            self.send()

    # -- what is true ---------------------------------------------------------------------------------

    def standing(self) -> list[Notice]:
        """Return what was last told of the warnings that stand."""
        return [notice for notice in self.newest.values() if notice.action != "withdraw"]

    def missing(self) -> list[str]:
        """Return what should have come to a receiver that is well, and has not."""
        return [
            f"{notice.action} {notice.revision} of {notice.warning_id} at {channel.address}"
            for notice in self.newest.values()
            for channel in self.channels.values()
            if notice.expires > self.now
            and (notice.action != "withdraw" or self._was_told(channel, notice))
            and _message_id(channel, notice) not in self.taken
        ]

    def _was_told(self, channel: Channel, notice: Notice) -> bool:
        return any(message.notice.warning_id == notice.warning_id for message in self.had[channel.id])

    def _deliver(self, message: Message) -> Result:
        mood = self.moods[message.channel.id]
        if mood in ("well", "forgetful"):
            self._arrive(message)
        if mood == "well":
            self.taken.add(message.id)
        return ANSWERS[mood]

    def _arrive(self, message: Message, *, under_way: bool = False) -> None:
        """Check what a receiver gets against what it has had; what is ``under_way`` may be overtaken by what is new."""
        notice, had = message.notice, self.had[message.channel.id]
        about = [each for each in had if each.notice.warning_id == notice.warning_id]
        heard = about or (message.channel.id, notice.warning_id) in self.perhaps
        wrong = {
            "told twice though it was taken": message.id in self.taken,
            "told too late": not under_way and notice.expires <= self.clock(),
            "told what is no longer so": (
                not under_way and notice.revision < self.newest[notice.warning_id].revision
            ),
            "told in another order": any(each.notice.revision > notice.revision for each in about),
            "told of a change of what it never heard of": notice.action == "update" and not heard,
            "two contents under one id": any(
                each.id == message.id and as_data(each.notice) != as_data(notice) for each in about
            ),
        }
        self.faults += [f"{what}: {notice.subject}" for what, is_so in wrong.items() if is_so]
        had.append(message)


def _message_id(channel: Channel, notice: Notice) -> UUID:
    return uuid5(channel.id, f"{notice.warning_id}:{notice.revision}:{notice.action}")
