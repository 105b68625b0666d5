"""Whatever forecasts, clocks and channels do, danger is told: once, in time, in order. Threats are given, all else is real.

Trees, spots and weather are invented.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from collections import Counter
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid4

import numpy as np
import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, rule

from alerts.air.hours import Hours
from alerts.notices import Channel, Message, Refused, Result, Retry, Sent
from alerts.outbox import channels
from alerts.outbox.sending import send_due
from alerts.policy.cap import DANGER_SEVERITIES
from alerts.policy.standing import warning_id
from alerts.shelter.times import NIGHTLY
from alerts.threats import Advice, Threat
from calendar_core.app.log.entries import entry, write
from calendar_core.app.shell.clock import Clock
from calendar_core.app.shell.session import Session
from calendar_core.app.warnings import warning as warning_room
from calendar_core.app.warnings.channel_notices import tell_missed
from calendar_core.app.warnings.judging import Judged, place_of
from calendar_core.app.warnings.stored_warnings import helper_of, known_warnings, standing_in, timed_events
from calendar_core.app.warnings.warning import judge_garden
from calendar_core.storage import gardens
from calendar_core.storage.engine import open_store
from calendar_core.storage.services import StoredHours
from tests.app.conftest import DAY, TREES, run

if TYPE_CHECKING:
    from collections.abc import Collection
    from zoneinfo import ZoneInfo

    from alerts.outbox.standing import StandingWarning
    from alerts.threats import Level
    from calendar_core.app.shell.session import Session as Garden
    from calendar_core.garden.model import Spot
    from calendar_core.knowledge.words import Hazard

pytestmark = pytest.mark.slow

HOUR = timedelta(hours=1)
FIRST = date.fromisoformat(DAY) + timedelta(days=1)
HAZARDS: tuple[Hazard, ...] = ("frost", "cold roots", "heat", "hot roots")
TWINS: tuple[tuple[Hazard, Hazard], ...] = (
    ("frost", "cold roots"), ("cold roots", "frost"), ("heat", "hot roots"), ("hot roots", "heat"),
)  # fmt: skip
LINES = {"frost": (-1.0, -3.0), "cold roots": (-5.0, -10.0), "heat": (38.0, 42.0), "hot roots": (38.0, 42.0)}
KEPT_WORKING = timedelta(hours=3)
"""How long a channel must have worked for what waited to have been tried again: the longest gap is an hour and a quarter."""
SHELTER = "under the eaves"


ANSWERS: dict[str, Result] = {"works": Sent(), "down": Retry("down"), "refuses": Refused("no")}


class Crash(BaseException):
    """The process ends in the middle of a delivery."""


@dataclass(frozen=True)
class Given(Judged):
    """A judgement whose threats are given; each is met by a move into the one shelter, for as long as its days last."""

    shelter: UUID

    def advice(
        self, _session: Garden, wanted: Collection[tuple[date, Hazard]], now: datetime
    ) -> dict[tuple[date, Hazard], tuple[Advice, ...]]:
        return {(day, hazard): tuple(self._moves(day, hazard, now)) for day, hazard in wanted}

    def _moves(self, day: date, hazard: Hazard, now: datetime) -> list[Advice]:
        by_day = {(threat.tree, threat.day): threat for threat in self.threats if threat.hazard == hazard}
        moves = []
        for (tree, of), threat in by_day.items():
            if of == day:
                last = threat
                while (next_day := (tree, last.day + timedelta(days=1))) in by_day:
                    last = by_day[next_day]
                by = max(threat.begins - HOUR, now)
                moves.append(
                    Advice((tree,), hazard, "move", by, last.ends, threat.bad, threat.caution, self.shelter)
                )
        return moves


kinds = st.tuples(st.sampled_from(HAZARDS), st.sampled_from((0, 0, 1, 2)))
grades: st.SearchStrategy[Level | None] = st.sampled_from((None, "caution", "danger"))
levels = st.dictionaries(st.integers(0, 2), st.sampled_from(("caution", "caution", "danger")), min_size=1)


class AnyCourse(RuleBasedStateMachine):
    """A garden of three trees, two channels, and a program whose clock may be wrong."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        shutil.copy(_founded(), self.folder / "garden.db")
        self.store = open_store(self.folder / "garden.db")
        with self.store.read() as connection:
            self.garden = gardens.get_garden(connection)
            trees = gardens.list_trees(connection, self.garden.id)
            spots = gardens.list_spots(connection, self.garden.id)
        self.trees = [tree.id for tree in trees[:3]]
        self.shelter = next(spot.id for spot in spots if spot.name == SHELTER)
        self.zone: ZoneInfo = place_of(self.garden).zone
        self.now = datetime.combine(FIRST, time(9), self.zone).astimezone(UTC) - timedelta(days=1)
        self.ahead = self.age = timedelta(0)
        self.given: dict[tuple[Hazard, date], tuple[dict[int, Level], int]] = {}
        self.unseen: tuple[tuple[datetime, datetime], ...] = ()
        self.channels = [
            Channel(UUID(int=n), self.garden.id, "mail", f"{n}@leafclock.example") for n in (1, 2)
        ]
        with self.store.begin() as connection:
            for channel in self.channels:
                channels.add_channel(connection, channel)
        self.answers: dict[UUID, Result] = {channel.id: Sent() for channel in self.channels}
        self.works_since = {channel.id: self.now - KEPT_WORKING for channel in self.channels}
        self.crash = False
        self.moved: set[UUID] = set()
        self.told: list[tuple[datetime, UUID, Message]] = []
        self.broken: Counter[UUID] = Counter()
        self.patch = pytest.MonkeyPatch()
        self.patch.setattr(warning_room, "judged", self._judge)

    def teardown(self) -> None:
        self.patch.undo()
        self.store.close()
        shutil.rmtree(self.folder)

    # -- what happens -------------------------------------------------------------------------------------

    # Forecasts are alike from one to the next, as real ones are: what is left to another to tell comes and goes only so.

    @rule(kinds=st.lists(kinds, min_size=1, max_size=2), found=levels, shift=st.sampled_from((0, 0, -3, 3)))
    def more_is_foretold(self, kinds: list[tuple[Hazard, int]], found: dict[int, Level], shift: int) -> None:
        """Hazards come into the forecast, or to other trees and at another hour."""
        for hazard, day in kinds:
            self.given[hazard, FIRST + timedelta(days=day)] = found, shift
        self._round()

    @rule(
        twins=st.sampled_from(TWINS),
        day=st.sampled_from((0, 0, 1)),
        trees=st.sets(st.integers(0, 2), min_size=1),
        course=st.lists(st.tuples(grades, grades), min_size=2, max_size=6),
        rounds=st.sampled_from((1, 2, 2)),  # it takes two to withdraw
    )
    def forecasts_change_their_mind(
        self,
        twins: tuple[Hazard, Hazard],
        day: int,
        trees: set[int],
        course: list[tuple[Level | None, Level | None]],
        rounds: int,
    ) -> None:
        """Two hazards that the same moves meet come, grow worse and go from one forecast to the next."""
        for both in course:
            for hazard, level in zip(twins, both, strict=True):
                key = hazard, FIRST + timedelta(days=day)
                if level is None:
                    self.given.pop(key, None)
                else:
                    self.given[key] = dict.fromkeys(trees, level), 0
            for _ in range(rounds):
                self.now += HOUR / 2
                self._round()

    @rule(gap=st.none() | st.tuples(st.integers(0, 60), st.integers(1, 20)))
    def hours_are_missing(self, gap: tuple[int, int] | None) -> None:
        """Forecasts that tell nothing of some hours, or of all again."""
        begin = self.now + (gap or (0, 0))[0] * HOUR
        self.unseen = () if gap is None else ((begin, begin + gap[1] * HOUR),)
        self._round()

    @rule(hours=st.integers(1, 4))
    def time_passes(self, hours: int) -> None:
        """Hourly rounds on forecasts of the same weather."""
        for _ in range(hours):
            self.now += HOUR
            self._round()

    @rule(which=st.integers(0, 1), answer=st.sampled_from(("works", "works", "down", "refuses")))
    def channel_changes(self, which: int, answer: str) -> None:
        """A receiver goes or comes back; one that was switched off is switched on when it does."""
        channel = self.channels[which].id
        before = self.answers[channel]
        self.answers[channel] = ANSWERS[answer]
        if answer == "works" and not isinstance(before, Sent):
            self.works_since[channel] = self.now
            with self.store.begin() as connection:
                channels.switch_on(connection, channel)

    @rule(hours=st.sampled_from((-30, -2, 2, 30, 80)))
    def the_clock_is_wrong_for_a_round(self, hours: int) -> None:
        """The computer's clock goes off by hours, a round is held, and it is set right."""
        self.ahead = hours * HOUR
        self._round()
        self.ahead = timedelta(0)
        self._round()

    @rule(hours=st.sampled_from((3, 9, 11, 20, 60)))
    def a_run_comes_late(self, hours: int) -> None:
        """The newest forecast is an old one, which shows nothing of what is to come."""
        given, self.given, self.age = self.given, {}, hours * HOUR
        self._round()
        self.given, self.age = given, timedelta(0)
        self._round()

    @rule()
    def it_crashes(self) -> None:
        """The process ends after the next message was taken, before it could note that."""
        self.crash = True
        self._round()
        self.crash = False

    @rule(which=st.integers(0, 2), back=st.booleans())
    def a_tree_is_moved(self, which: int, back: bool) -> None:
        """The grower moves a tree into the shelter, or back to where it stood."""
        tree = self.trees[which]
        if back == (tree in self.moved):
            session = self._session()
            home = next(spot.id for spot in session.spots.values() if spot.id != self.shelter)
            data = {"spot": str(home if back else self.shelter)}
            chosen = [one for one in session.trees if one.id == tree]
            write(session, entry(session, chosen, "state", data, session.today))
            (self.moved.remove if back else self.moved.add)(tree)
        self._round()

    # -- how the program is run -----------------------------------------------------------------------------

    def _session(self) -> Session:
        now = self.now + self.ahead
        return Session(self.store, self.garden, Clock(now.astimezone(self.zone).date(), now))

    def _threats(self, now: datetime) -> tuple[Threat, ...]:
        out = []
        for (hazard, day), (found, shift) in self.given.items():
            begin, end = (2, 8) if hazard in NIGHTLY else (11, 18)
            begins, ends = (
                datetime.combine(day, time(hour), self.zone).astimezone(UTC) + shift * HOUR
                for hour in (begin, end)
            )
            hidden = any(first < ends and begins < last for first, last in self.unseen)
            if ends <= now or hidden:
                continue
            caution, danger = LINES[hazard]
            for which, level in found.items():
                tree = self.trees[which]
                if tree not in self.moved:
                    worst = danger if level == "danger" else caution
                    chances = (1.0, 1.0 if level == "danger" else 0.0)
                    out.append(
                        Threat(tree, hazard, day, begins, ends, worst, worst, caution, danger, chances)
                    )
        return tuple(out)

    def _judge(self, session: Session, now: datetime) -> Judged:
        start = now.replace(minute=0, second=0)
        flat = np.full((1, 60), 20.0)
        hours = Hours(
            start, now, flat, flat / 20.0, flat / 10.0, flat / 5.0, flat * 0.0, flat * 0.0, flat * 0.0,
            flat < 0.0, flat > 0.0,
        )  # fmt: skip
        stored = StoredHours("given", 0.0, 0.0, now - self.age, now, start, {"t_c": flat[0]}, "", 0.0)
        spots = session.spots
        stands: dict[UUID, Any] = {}
        for tree in session.trees:
            spot = spots[session.states[tree.id].spot or next(iter(spots))]
            stands[tree.id] = _Stands(spot)
        return Given(
            stored, hours, self.unseen, place_of(self.garden), stands, self._threats(now), self.shelter
        )

    def _deliver(self, message: Message) -> Result:
        answer = self.answers[message.channel.id]
        if isinstance(answer, Sent):
            self.told.append((self.now + self.ahead, message.channel.id, message))
            if self.crash:
                self.crash = False
                self.broken[message.id] += 1
                raise Crash
        return answer

    def _round(self) -> None:
        now = self.now + self.ahead
        judge_garden(self._session(), now)
        with suppress(Crash):
            send_due(self.store, self._deliver, uuid4().hex, lambda: now)
            tell_missed(self._session(), now)
        self._holds()

    # -- what must hold ---------------------------------------------------------------------------------------

    def _holds(self) -> None:
        times = Counter(message.id for _, _, message in self.told)
        assert all(n <= 1 + self.broken[id_] for id_, n in times.items()), "a message came twice"
        contents: dict[UUID, object] = {}
        last: dict[tuple[UUID, UUID], int] = {}
        for when, channel, message in self.told:
            notice = message.notice
            assert notice.expires > when, "it was told after it lapsed"
            said = notice.subject, notice.text, notice.action
            assert contents.setdefault(message.id, said) == said, "two contents under one identifier"
            about = channel, notice.warning_id
            assert notice.revision >= last.get(about, 0), "an older word came after a newer"
            last[about] = notice.revision
        if not self.ahead:
            self._danger_is_told()

    def _danger_is_told(self) -> None:
        """Every danger that lies ahead in the newest forecast was told on each channel that has worked for long."""
        with self.store.read() as connection:
            known = known_warnings(connection, self.garden.id, self.now)
        ahead = [
            threat for threat in self._threats(self.now) if self.now < threat.begins <= self.now + 36 * HOUR
        ]
        dangers = [threat for threat in ahead if threat.chances[1] == 1.0]
        asked = timed_events(self._session(), self.now) if dangers else ()
        moves = {tree for event in asked for tree in event.tree_ids if event.to == self.shelter}
        for threat in dangers:
            id_ = warning_id(self.garden.id, threat.hazard, threat.day)
            assert id_ in known, f"{threat.hazard} {threat.day} is not known"
            warning = known[id_]
            assert warning.state == "active"
            assert standing_in(warning).levels[threat.tree] == "danger"
            assert threat.tree in moves, f"{threat.hazard} {threat.day}: no move is in the calendar"
            teller = warning
            while (by := helper_of(teller, known)) is not None:
                teller = by
            assert teller.state != "withdrawn", (
                f"{threat.hazard} is left to {teller.hazard}, which does not stand"
            )
            for channel in self.channels:
                working = isinstance(self.answers[channel.id], Sent)
                if not working or self.now - self.works_since[channel.id] < KEPT_WORKING:
                    continue
                if teller.state == "active":
                    self._was_told(channel, teller, threat)
                else:  # told once for all its days, or by itself where that did not come
                    about = {id_, teller.id}
                    heard = [m for _, to, m in self.told if to == channel.id and m.notice.warning_id in about]
                    assert heard, f"{threat.hazard} {threat.day}: neither it nor what tells of it came"

    def _was_told(self, channel: Channel, teller: StandingWarning, threat: Threat) -> None:
        heard = [
            message.notice
            for _, to, message in self.told
            if to == channel.id and message.notice.warning_id == teller.id
        ]
        where = f"{threat.hazard} of {threat.day} (told by {teller.hazard} {teller.onset})"
        assert heard, f"{where}: nothing was told"
        assert heard[-1].action in ("new", "update"), f"{where}: the last word was {heard[-1].action}"
        assert heard[-1].revision == teller.revision, f"{where}: revision {teller.revision} was not told"
        assert heard[-1].severity in DANGER_SEVERITIES, f"{where}: it was told as a caution"


@dataclass(frozen=True)
class _Stands:
    """Where a tree stands, which is all that is asked of it here."""

    spot: Spot


def _founded() -> Path:
    """Return a garden founded once for all courses, with a shelter."""
    folder = Path(tempfile.gettempdir()) / f"leafclock any course {os.getpid()}"
    database = folder / "garden.db"
    if not database.exists():
        folder.mkdir()
        where = ("--db", str(database), "--today", DAY)
        assert run("start", *where, "--place", "Seattle", "--trees", TREES, "--offline").status == 0
        assert run("spot", "add", SHELTER, "--db", str(database)).status == 0
    return database


TestAnyCourse = pytest.mark.slow(AnyCourse.TestCase)
AnyCourse.TestCase.settings = settings(
    # The same courses in the suite; who asks for more gets others.
    max_examples=int(os.environ.get("LEAFCLOCK_COURSES", "10")), derandomize="LEAFCLOCK_COURSES" not in os.environ,
    stateful_step_count=25, deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
    phases=[Phase.explicit, Phase.reuse, Phase.generate],  # a course takes seconds: to shrink it takes minutes
)  # fmt: skip
