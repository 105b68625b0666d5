"""The jobs of ``watch`` over gardens all around the world: each is told its evening once, whatever its clock does."""

from __future__ import annotations

from collections import Counter
from contextlib import closing
from datetime import UTC, datetime, time, timedelta
from typing import TYPE_CHECKING
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest

from alerts.notices import Channel
from alerts.outbox.channels import add_channel
from alerts.outbox.queue import list_messages
from alerts.outbox.standing import Judgement, last_judgement, note_judgement, remember
from alerts.schedule.watch import Watch
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.warnings.jobs import Jobs
from calendar_core.garden.model import Garden, MonthDay
from calendar_core.storage import gardens
from calendar_core.storage.engine import open_store
from tests.alerts.conftest import a_notice, a_warning

if TYPE_CHECKING:
    from pathlib import Path

    from alerts.notices import Message, Result
    from calendar_core.storage.engine import Store

PLACES = {
    "Apia": (-13.8, -171.8, "Pacific/Apia"),
    "Waitangi": (-43.9, -176.5, "Pacific/Chatham"),
    "Kathmandu": (27.7, 85.3, "Asia/Kathmandu"),
    "Reykjavik": (64.1, -21.9, "Atlantic/Reykjavik"),
    "Sand Point": (55.3, -160.5, "America/Anchorage"),
    "Quito": (0.0, -78.5, "America/Guayaquil"),
    "Nairobi": (-1.3, 36.8, "Africa/Nairobi"),
    "Tromso": (69.6, 19.0, "Europe/Oslo"),
    "Canberra": (-35.3, 149.1, "Australia/Sydney"),
    "Lord Howe": (-31.6, 159.1, "Australia/Lord_Howe"),
    "St. John's": (47.6, -52.7, "America/St_Johns"),
    "Kiritimati": (1.9, -157.4, "Pacific/Kiritimati"),
}
HOUR = timedelta(hours=1)


def found(store: Store, name: str, judged: datetime) -> Garden:
    """Store a garden with a channel that was judged once."""
    latitude, longitude, zone = PLACES[name]
    fall, cold = MonthDay(11, 9), MonthDay(12, 17)
    garden = Garden(uuid4(), name, name, latitude, longitude, 10.0, zone, "metric", fall, cold)
    with store.begin() as connection:
        gardens.add_garden(connection, garden)
        add_channel(connection, Channel(uuid4(), garden.id, "mail", "ines@leafclock.example"))
        note_judgement(connection, garden.id, Judgement(judged, judged))
    return garden


def unused(message: Message) -> Result:
    raise AssertionError(f"{message.id} was sent")


@pytest.mark.slow
@pytest.mark.parametrize("first", ["2026-03-28", "2026-10-25"])
def test_every_garden_is_told_once_an_evening(tmp_path_factory: pytest.TempPathFactory, first: str) -> None:
    """Eight days of hourly rounds with clock changes in five of the places (tz database).

    Each day another process takes over, and one is down from before a garden's evening until after it.
    """
    start = datetime.fromisoformat(f"{first}T00:07+00:00")
    said: list[str] = []
    now = start

    def clock() -> datetime:
        return now

    with closing(open_store(tmp_path_factory.mktemp("world") / "garden.db")) as store:
        world = [found(store, name, start) for name in PLACES]
        jobs = Jobs(store, unused, clock, said.append)
        evening = [job for job in jobs.lines()["hazards"] if job.name == "evening"]
        for day in range(8):
            watch = Watch(store, {"evening": evening}, clock, lambda _text: None)
            for hour in range(24):
                if (day, hour) not in {(3, 17), (3, 18)}:  # 18:00 in Reykjavik
                    now = start + 24 * day * HOUR + hour * HOUR
                    watch.round("evening")
            watch._lock.release()
        with store.read() as connection:
            told = {garden: list_messages(connection, garden.id) for garden in world}
    assert said == []
    for garden, messages in told.items():
        zone = ZoneInfo(garden.zone)
        evenings = [
            datetime.combine(start.astimezone(zone).date() + timedelta(days=n), time(18), zone)
            for n in range(-1, 10)
        ]
        due = [at for at in evenings if start - 3 * HOUR <= at.astimezone(UTC) <= now]
        assert Counter(one.due_at.astimezone(zone).date() for one in messages) == {at.date(): 1 for at in due}
        assert len(due) in {8, 9}
        late = [one.due_at - at.astimezone(UTC) for one, at in zip(messages, due, strict=True)]
        assert max(late[1:]) < 3 * HOUR


def test_one_gardens_fault_does_not_keep_the_others_waiting(tmp_path: Path) -> None:
    """The first garden's warning is stored without how it stands, which no version of this program does."""
    now = datetime(2026, 6, 1, 18, 30, tzinfo=UTC)  # 18:30 in Reykjavik, 20:30 in Tromso
    with closing(open_store(tmp_path / "garden.db")) as store:
        faulty, well = found(store, "Reykjavik", now), found(store, "Tromso", now)
        with store.begin() as connection:
            notice = a_notice(expires=now + HOUR)
            remember(connection, a_warning(faulty, notice))
        jobs = Jobs(store, unused, lambda: now, print)
        with pytest.raises(Refusal, match=r"^Reykjavik: "):
            jobs.tell_evening(now)
        with store.read() as connection:
            assert [len(list_messages(connection, garden.id)) for garden in (faulty, well)] == [0, 1]


def test_a_garden_without_a_forecast_does_not_make_the_others_be_judged_again(tmp_path: Path) -> None:
    """The fault is said until there is a forecast; who was judged in the slot is left alone."""
    slot = datetime(2026, 6, 1, 18, tzinfo=UTC)
    with closing(open_store(tmp_path / "garden.db")) as store:
        found(store, "Reykjavik", slot - HOUR)  # judged, but not since the slot began
        well = found(store, "Tromso", slot + HOUR)
        jobs = Jobs(store, unused, lambda: slot, print)
        with pytest.raises(Refusal) as caught:
            jobs.judge(slot + 2 * HOUR)
        assert [line.partition(":")[0] for line in caught.value.lines] == ["Reykjavik"]
        with store.read() as connection:
            assert last_judgement(connection, well.id) == Judgement(slot + HOUR, slot + HOUR)
