"""Moves that warnings ask for, in the calendar: there while the warning holds, in place of the season's own event."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import UUID

import icalendar
import pytest

from alerts.outbox.standing import StandingWarning, remember
from calendar_core.app.calendar.lending import lend
from calendar_core.app.first_day.commands.demo import found_demo
from calendar_core.app.shell.json_text import as_json
from calendar_core.app.shell.session import open_session
from calendar_core.planning.events import PublishedEvent, TimedEvent
from calendar_core.storage.published import load

if TYPE_CHECKING:
    from collections.abc import Callable

    from calendar_core.app.shell.session import Session
    from tests.app.conftest import Program

pytestmark = pytest.mark.slow

COLD = ("--db", "demo/garden.db", "--today", "2014-02-05")  # six days of real frost in Seattle
AUTUMN = ("--db", "autumn.db", "--today", "2014-10-22")  # a bench in Illinois before its frosts
SEASON = "shelter in|acer-palmatum"
HOUR = timedelta(hours=1)


def events(leafclock: Program, *where: str) -> dict[str, icalendar.Event]:
    said = leafclock("calendar", "bench.ics", "--kind", "windows", *where)
    assert said.status == 0, said.err
    calendar = icalendar.Calendar.from_ical(Path("bench.ics").read_bytes())
    return {str(event["UID"]): event for event in calendar.events}


def timed(found: dict[str, icalendar.Event]) -> dict[str, icalendar.Event]:
    return {uid: event for uid, event in found.items() if hasattr(event.start, "hour")}


@pytest.fixture
def cold(leafclock: Program, it_is: Callable[[str], None]) -> Program:
    it_is(COLD[-1])
    Path("demo").mkdir()
    found_demo(Path("demo"), date.fromisoformat(COLD[-1])).store.close()  # not judged yet
    return leafclock


def test_a_move_is_in_the_calendar_once_it_was_warned_of(cold: Program) -> None:
    assert timed(events(cold, *COLD)) == {}
    assert cold("warn", *COLD, "--dry-run").status == 0
    assert timed(events(cold, *COLD)) == {}
    assert cold("warn", *COLD).status == 0
    found = timed(events(cold, *COLD))
    assert found
    assert timed(events(cold, *COLD)).keys() == found.keys()
    for event in found.values():
        assert event.end > event.start
        assert "Official warnings" in str(event["DESCRIPTION"])


def test_it_is_gone_when_the_warning_has_passed(cold: Program) -> None:
    assert cold("warn", *COLD).status == 0
    later = ("--db", "demo/garden.db", "--today", "2014-02-20")
    assert timed(events(cold, *later)) == {}


def test_it_takes_the_place_of_the_seasons_own_move_under_its_id(leafclock: Program) -> None:
    """The forecast now reaches the frost for which the season's event was made."""
    where = ("--place", "Lisle", "--trees", "2 Japanese maple", *AUTUMN[:2])
    assert leafclock("start", *where, "--today", "2014-06-01").status == 0
    before = events(leafclock, *AUTUMN)
    session = open_session("autumn.db", None, date(2014, 10, 22))
    with session.store.read() as connection:
        season = next(one for one in load(connection, session.garden.id) if one.group == SEASON)
    night = datetime(2014, 10, 24, 4, tzinfo=UTC)
    move = TimedEvent(
        UUID(int=9), season.tree_ids, night, night + HOUR, "In", "By 20:00", "In", 1, night - HOUR
    )
    move = replace(move, to=UUID(int=7))
    hold(session, replace(move, tree_ids=season.tree_ids[:1]))
    assert season.uid.hex in {
        uid.replace("-", "") for uid in events(leafclock, *AUTUMN).keys() - timed(before)
    }
    hold(session, move)
    after = events(leafclock, *AUTUMN)
    assert after.keys() == before.keys()
    moved = after[str(season.uid)]
    assert moved.start == night
    assert int(str(moved["SEQUENCE"])) == season.sequence + 1


def hold(session: Session, move: TimedEvent) -> None:
    """Store a warning that asks for a move."""
    ends = move.end + 10 * HOUR
    warning = StandingWarning(
        UUID(int=8), session.garden.id, "frost", "Severe", move.start, ends, "active", 1,
        {"events": as_json([move])}, move.revised_at,
    )  # fmt: skip
    with session.store.begin() as connection:
        remember(connection, warning)


def test_lending_never_lets_a_sequence_or_stamp_fall_and_each_id_stands_once() -> None:
    """RFC 5545 3.8.7.2 to 3.8.7.4 and 3.8.4.7, through frosts that come and go, for two species and two nights."""
    day, now = date(2014, 10, 20), datetime(2014, 10, 20, 12, tzinfo=UTC)
    first, second = (
        PublishedEvent(
            UUID(int=n), f"shelter in|{n}", 2014, (UUID(int=100 + n),), day, day, "In", "", "", (), "CONFIRMED",
            3, now, now, day, day,
        )
        for n in (1, 2)
    )  # fmt: skip
    trees = (*first.tree_ids, *second.tree_ids)
    nights = [
        TimedEvent(UUID(int=n), trees, now + n * 24 * HOUR, now + (n * 24 + 8) * HOUR, "In", "", "", 1, now, UUID(int=7))
        for n in (11, 12)
    ]  # fmt: skip
    back = TimedEvent(
        UUID(int=13),
        trees,
        now + 40 * HOUR,
        now + 41 * HOUR,
        "Back",
        "",
        "",
        1,
        now,
        UUID(int=8),
        (),
        (UUID(int=7),),
    )
    events: tuple[PublishedEvent, ...] = (first, second)
    seen: dict[UUID, tuple[int, datetime]] = {}
    for hour, timed in enumerate([[], nights[:1], nights, nights[1:], [back], [], nights]):
        events, moves = lend(events, timed, now + hour * HOUR)
        shown = [(one.uid, one.sequence, one.revised_at) for one in events if not one.lent]
        shown += [(one.uid, one.sequence, one.revised_at) for one in moves]
        assert len({uid for uid, *_ in shown}) == len(shown)
        assert len(moves) == len(timed)
        for uid, sequence, stamp in shown:
            assert (sequence, stamp) >= seen.get(uid, (0, stamp))
            assert stamp >= seen.get(uid, (0, stamp))[1]
            seen[uid] = sequence, stamp
        if not timed or timed == [back]:
            assert not any(one.lent for one in events)
