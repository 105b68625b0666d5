"""The outbox under steps that nobody thought of: receivers that fail and come back, clocks that jump, processes that die."""

from __future__ import annotations

import tempfile
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, get_args
from uuid import UUID

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from calendar_core.storage.engine import open_store
from tests.alerts.conftest import a_notice
from tests.alerts.outbox.world import Mood, World
from tests.databases import migrated

if TYPE_CHECKING:
    from alerts.notices import Channel

MOST_CHANNELS = 3
CAP = {"sender": "urn:uuid:g", "sent": "2015-06-25T01:00:00-00:00"}
some = st.integers(0, MOST_CHANNELS - 1)


class Outbox(RuleBasedStateMachine):
    """What holds at every step is checked by the receivers; at the end all is well again, and nothing may be missing."""

    @initialize()
    def begin(self) -> None:
        self.folder = tempfile.TemporaryDirectory()
        self.store = open_store(migrated(Path(self.folder.name) / "garden.db"))
        self.world = World(self.store)
        self.world.add_channel()

    def _channel(self, number: int) -> Channel:
        known = list(self.world.channels.values())
        return known[number % len(known)]

    @rule(
        warning=st.integers(1, 2),
        severity=st.sampled_from(["Extreme", "Moderate"]),
        minutes=st.sampled_from([5, 62, 401, 1200, 1800]),
        withdrawn=st.booleans(),
        quiet=st.booleans(),
        at_once=st.booleans(),
    )
    def tell(
        self, warning: int, severity: str, minutes: int, withdrawn: bool, quiet: bool, at_once: bool
    ) -> None:
        before = self.world.newest.get(UUID(int=warning))
        stands = before is not None and before.action != "withdraw"
        action = ("withdraw" if withdrawn else "update") if stands else "new"
        revision = 1 if before is None else before.revision + 1
        ends = self.world.now + timedelta(minutes=minutes)
        words = {"subject": f"{warning}.{revision}", "anew_subject": "anew" if action == "update" else ""}
        notice = a_notice(
            UUID(int=warning), revision, action=action, severity=severity, onset=ends - timedelta(minutes=50),
            expires=ends, cap=CAP, **words,
        )  # fmt: skip
        self.world.post(notice, quiet=quiet)
        if at_once:
            self.world.send()

    @rule(number=some, mood=st.sampled_from(get_args(Mood)), minutes=st.sampled_from([0, 1, 6, 31, 61, 400]))
    def hold_a_round(self, number: int, mood: Mood, minutes: int) -> None:
        self.world.moods[self._channel(number).id] = mood
        self.world.now += timedelta(minutes=minutes)
        self.world.send()

    @rule(number=some, on=st.booleans())
    def switch(self, number: int, on: bool) -> None:
        self.world.switch(self._channel(number), on=on)

    @rule()
    def add(self) -> None:
        if len(self.world.channels) < MOST_CHANNELS:
            self.world.add_channel()

    @rule(hours=st.sampled_from([-72, -2, 0, 2, 72]))
    def set_clock(self, hours: int) -> None:
        self.world.set_clock(timedelta(hours=hours))

    @rule(hours=st.sampled_from([-72, 72]))
    def hold_a_round_by_a_wrong_clock(self, hours: int) -> None:
        right = self.world.ahead
        self.world.set_clock(right + timedelta(hours=hours))
        self.world.send()
        self.world.set_clock(right)

    @rule()
    def take(self) -> None:
        self.world.take()

    @rule(settled=st.booleans())
    def finish(self, settled: bool) -> None:
        self.world.finish(settled=settled)

    @invariant()
    def nobody_got_what_is_wrong(self) -> None:
        assert not hasattr(self, "world") or self.world.faults == []

    def teardown(self) -> None:
        if not hasattr(self, "world"):
            return
        try:
            self.world.recover()
            assert self.world.faults + self.world.missing() == []
        finally:
            self.store.close()
            self.folder.cleanup()


TestOutbox = Outbox.TestCase
TestOutbox.settings = settings(max_examples=25, stateful_step_count=30, deadline=None, derandomize=True)
