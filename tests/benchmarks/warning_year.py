"""What reaches a grower over a year of real days whose forecasts err, have gaps and come late, over channels that fail.

Run by hand: ``python -m tests.benchmarks.warning_year [FIRST [WEEKS [SEED]]]`` (default 2015-01-05, 52 weeks and 0; about a
quarter of an hour). Days: Seattle as measured (NOAA, demo/), their hours by the daily course; errors as `tests.alerts.erring`
has them, of temperature alone. One run in fifteen lacks nine hours, one in ten does not come, and a channel is down for a
day each other week. The garden is the demo's, invented; its grower makes two moves in three, on the hour or half a day late.

Prints what was told a week, the most in a day, what was told twice in the same words, words about one warning out of their
order, words that came after they had lapsed, and dangers that came true, a degree or more past the line, without a warning
three hours before.
"""

from __future__ import annotations

import random
import sys
import tempfile
from collections import Counter, defaultdict
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from alerts.notices import Channel, Retry, Sent
from alerts.outbox import channels
from alerts.policy.standing import warning_id
from calendar_core.app.first_day.commands.demo import found_demo
from calendar_core.app.log.entries import entry, write
from calendar_core.app.shell.clock import Clock
from calendar_core.app.shell.session import Session
from calendar_core.app.warnings import judging
from calendar_core.app.warnings.jobs import Jobs
from calendar_core.app.warnings.judging import Judged
from calendar_core.app.warnings.stored_warnings import timed_events
from calendar_core.app.weather.measured import read_measured
from calendar_core.knowledge.profiles.bundled import folder
from calendar_core.storage.services import StoredHours, put_forecast_hours
from calendar_core.weather.hours_from_days import hours_from_days
from tests.alerts.erring import World, fading

if TYPE_CHECKING:
    from uuid import UUID

    from alerts.notices import Message, Result
    from calendar_core.weather.hourly import HourlySeries

HOUR = timedelta(hours=1)
ROUNDS_H = (0, 6, 7, 12, 18)
WORLD = World()


class Year:
    """A garden, its weather and its grower."""

    def __init__(self, folder_: Path, first: date, seed: int) -> None:
        self.chance = random.Random(seed)  # noqa: S311 - a grower's habits, no secret
        session = found_demo(folder_, first)
        self.store, self.garden, self.zone = session.store, session.garden, session.zone
        self.now = session.clock.now
        demo = read_measured(
            folder("demo") / "seattle-weather.csv", zone=self.zone, station="Seattle", credit=""
        )
        self.truth: HourlySeries = hours_from_days(
            demo.file.series, self.garden.latitude, self.garden.longitude, self.zone
        )
        self.shared = fading(np.random.default_rng((seed, 0)), len(self.truth["t_c"]), WORLD.lasts_h)[0]
        self.channels = [
            Channel(session.garden.id, self.garden.id, "mail", "ines@leafclock.example"),
            Channel(next(iter(session.spots)), self.garden.id, "mail", "quiet@leafclock.example",
                    quiet_from=time(22), quiet_to=time(7)),
        ]  # fmt: skip
        with self.store.begin() as connection:
            for channel in self.channels:
                channels.add_channel(connection, channel)
        self.down_until: dict[UUID, datetime] = {}
        self.told: list[tuple[datetime, UUID, Message]] = []
        self.said: list[str] = []
        self.jobs = Jobs(self.store, self._deliver, lambda: self.now, self.said.append)
        self.untold: Counter[str] = Counter()
        self.came: Counter[str] = Counter()

    def _deliver(self, message: Message) -> Result:
        if self.now < self.down_until.get(message.channel.id, self.now):
            return Retry("down")
        self.told.append((self.now, message.channel.id, message))
        return Sent()

    def session(self) -> Session:
        return Session(self.store, self.garden, Clock(self.now.astimezone(self.zone).date(), self.now))

    def forecast(self) -> None:
        """Store a run of ten days, unless none comes."""
        if self.chance.random() < 0.1:
            return
        first = int((self.now - timedelta(days=3) - self.truth.start) / HOUR)
        part = slice(first, first + 13 * 24)
        t_c = self.truth["t_c"][part]
        lead = np.maximum(np.arange(len(t_c)) - 72.0, 0.0) / 24.0
        own = fading(np.random.default_rng(self.chance.getrandbits(32)), len(t_c), WORLD.lasts_h)[0]
        mixed = np.sqrt(WORLD.shared) * self.shared[part] + np.sqrt(1.0 - WORLD.shared) * own
        t_c = t_c + np.where(np.arange(len(t_c)) >= 72, mixed * WORLD.temperature_c.at(lead), 0.0)
        if self.chance.random() < 1 / 15:
            gap = 72 + self.chance.randrange(40)
            t_c[gap : gap + 9] = np.nan
        start = self.truth.start + first * HOUR
        hours = StoredHours(
            "given",
            self.garden.latitude,
            self.garden.longitude,
            self.now,
            self.now,
            start,
            {"t_c": t_c},
            "",
            0.0,
        )
        with self.store.begin() as connection:
            put_forecast_hours(connection, hours)

    def round(self) -> None:
        """Hold a round as ``watch`` does, and let the grower do what is asked by then."""
        self.forecast()
        session = self.session()
        hour = self.now.astimezone(self.zone).hour
        if hour in (0, 6, 12, 18):
            self._try(self.jobs.judge)
        if hour == 18:
            self._try(self.jobs.tell_evening)
        self._try(self.jobs.tell_silence)
        self.jobs.send(self.now)
        if hour in (7, 18):
            self.moves(session)

    def _try(self, job: object) -> None:
        try:
            job(self.now)  # type: ignore[operator]
        except Exception as error:  # noqa: BLE001 - as the scheduler does
            self.said.append(str(error))

    def moves(self, session: Session) -> None:
        """Make two moves in three of those that are asked for in the coming half day, now."""
        for event in timed_events(session, self.now):
            if event.to is None or event.start > self.now + 12 * HOUR or self.chance.random() > 2 / 3:
                continue
            trees = [tree for tree in session.trees if tree.id in event.tree_ids]
            session = self.session()
            write(session, entry(session, trees, "state", {"spot": str(event.to)}, session.today))

    def check(self) -> None:
        """Count the dangers that come true in three hours, and those of which the grower has heard nothing."""
        first = int((self.now - timedelta(days=3) - self.truth.start) / HOUR)
        part = slice(first, first + 5 * 24)
        start = self.truth.start + first * HOUR
        session = self.session()
        stored = StoredHours(
            "truth", self.garden.latitude, self.garden.longitude, self.now, self.now, start,
            {"t_c": self.truth["t_c"][part]}, "", 0.0,
        )  # fmt: skip
        found = _judged_on(session, stored, self.now)
        for threat in found.threats if found else ():
            ahead = threat.begins - self.now
            deep = threat.typical if threat.deep is None else threat.deep
            past = threat.danger - deep if threat.danger < threat.caution else deep - threat.danger
            if past >= 1.0 and 3 * HOUR <= ahead < 9 * HOUR:
                self.came[threat.hazard] += 1
                id_ = warning_id(self.garden.id, threat.hazard, threat.day)
                heard = [m.notice.action for _, _, m in self.told if m.notice.warning_id == id_]
                covered = {tree for event in timed_events(session, self.now) for tree in event.tree_ids}
                if (not heard or heard[-1] == "withdraw") and threat.tree not in covered:
                    self.untold[threat.hazard] += 1


def _judged_on(session: Session, stored: StoredHours, now: datetime) -> Judged | None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(judging, "get_forecast_hours", lambda *_: stored)
        found = judging.judged(session, now)
    return found if isinstance(found, Judged) else None


def run(first: date, weeks: int, seed: int) -> None:
    """Live through the weeks and print what came of them."""
    with tempfile.TemporaryDirectory() as made:
        year = Year(Path(made), first, seed)
        for day in range(7 * weeks):
            on = first + timedelta(days=day)
            if day % 14 == 5:
                channel = year.chance.choice(year.channels)
                year.down_until[channel.id] = datetime.combine(on + timedelta(days=1), time(), year.zone)
            for hour in ROUNDS_H:
                year.now = datetime.combine(on, time(hour, 1), year.zone).astimezone(UTC)
                year.round()
                if hour in (0, 6, 12, 18):
                    year.check()
            if day % 7 == 6:
                sys.stderr.write(f"\r{on} ")
        report(year, weeks)


def report(year: Year, weeks: int) -> None:
    warnings = [(at, to, m) for at, to, m in year.told if m.notice.action != "digest"]
    digests = [(at, to, m) for at, to, m in year.told if m.notice.action == "digest"]
    by_day: Counter[tuple[UUID, date]] = Counter(
        (to, at.astimezone(year.zone).date()) for at, to, _ in warnings
    )
    actions = Counter(m.notice.action for _, _, m in warnings)
    words = Counter((to, m.notice.subject, m.notice.text.rpartition("\n\n")[0]) for _, to, m in warnings)
    last: dict[tuple[UUID, UUID], int] = defaultdict(int)
    disordered = lapsed = 0
    for at, to, message in warnings:
        about = to, message.notice.warning_id
        disordered += message.notice.revision <= last[about]
        last[about] = message.notice.revision
        lapsed += message.notice.expires <= at
    lines = {
        "warnings a week and channel": f"{len(warnings) / weeks / 2:.2f} ({dict(actions)})",
        "digests a week and channel": f"{len(digests) / weeks / 2:.2f}",
        "digests that say": dict(
            Counter(m.notice.subject.partition(":")[2].strip()[:40] for _, _, m in digests).most_common(8)
        ),
        "most warnings in a day": max(by_day.values(), default=0),
        "days with more than two": sum(n > 2 for n in by_day.values()),
        "the fullest": [
            f"{at.astimezone(year.zone):%d %b %H:%M} {m.notice.subject}"
            for at, to, m in warnings
            if by_day and (to, at.astimezone(year.zone).date()) == by_day.most_common(1)[0][0]
        ],
        "told twice in the same words": sum(n - 1 for n in words.values()),
        "out of order": disordered,
        "after it lapsed": lapsed,
        "dangers that came": dict(year.came),
        "of which untold three hours before": dict(year.untold),
        "said by the program": dict(Counter(text[:90] for text in year.said).most_common(5)),
    }
    for name, value in lines.items():
        print(f"{name}: {value}")


if __name__ == "__main__":
    given = sys.argv[1:]
    run(
        date.fromisoformat(given[0]) if given else date(2015, 1, 5),
        int(given[1]) if len(given) > 1 else 52,
        int(given[2]) if len(given) > 2 else 0,
    )
