"""What waits for the grower stands in the calendar until it is answered, under an id that a phone follows."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import icalendar
import pytest

from calendar_core.wording.style import Style

if TYPE_CHECKING:
    from tests.app.conftest import Program

pytestmark = pytest.mark.slow

WHERE = ("--db", "nagano.db")
DAYS = (
    "2026-10-05", "2026-10-13", "2026-11-02", "2026-11-16", "2026-12-07", "2027-01-11", "2027-02-14", "2027-03-20",
)  # fmt: skip


@pytest.fixture
def tender(leafclock: Program) -> Program:
    """Give two tender trees and a maple on a bench in Nagano, with a room and a frame that nobody brings them to."""
    trees = "jade; bougainvillea; trident maple small"
    start = ("start", *WHERE, "--place", "Nagano", "--today", "2026-09-01", "--trees", trees)
    assert leafclock(*start).status == 0
    for name, profile in (("room", "heated"), ("frame", "cold frame")):
        assert leafclock("spot", "add", name, "--profile", profile, *WHERE).status == 0
    return leafclock


def calendar(program: Program, day: str) -> dict[str, Any]:
    """Return the events of the calendar of a day, by their uid."""
    assert program("calendar", "one.ics", "--kind", "windows", "--today", day, *WHERE).status == 0
    events = icalendar.Calendar.from_ical(Path("one.ics").read_bytes()).events
    return {str(event["UID"]): event for event in events}


def test_what_is_late_stands_in_the_calendar_to_this_day(tender: Program) -> None:
    """RFC 5545 3.8.7.1 and 3.8.7.4: an event's CREATED is one, its SEQUENCE never falls."""
    told: dict[str, tuple[int, Any]] = {}
    met = 0
    for day in DAYS:
        events = calendar(tender, day)
        due = json.loads(tender("due", "--today", day, "--json", *WHERE).out)
        for line in [one for one in due if one["urgency"] == "late"]:
            event = events[line["uid"]]
            assert event.get("STATUS") != "CANCELLED"
            assert event.start <= date.fromisoformat(day) < event.end, (day, str(event["SUMMARY"]))
            met += line["items"][0]["operation"] == "shelter in"
        for uid, event in events.items():
            sequence, created = int(event["SEQUENCE"]), event["CREATED"].dt
            before = told.get(uid, (0, created))
            assert (sequence >= before[0], created) == (True, before[1])
            told[uid] = sequence, created
    assert met > len(DAYS)


def test_between_two_looks_a_late_event_is_not_told_anew_each_day(tender: Program) -> None:
    first, told = date(2026, 11, 16), set()
    for n in range(7):
        events = calendar(tender, (first + timedelta(days=n)).isoformat())
        told |= {
            (uid, int(e["SEQUENCE"]))
            for uid, e in events.items()
            if str(e["SUMMARY"]).startswith("Move into")
        }
    moved = {uid for uid, _ in told}
    assert len(told) <= 2 * len(moved)


@pytest.mark.parametrize("day", ["2026-11-20", "2026-12-07", "2027-01-11"])
def test_plan_due_and_rota_tell_one_deadline(tender: Program, day: str) -> None:
    """A deadline that walks with today is none."""
    due = {
        line["name"]: line
        for line in json.loads(tender("due", "--today", day, "--json", *WHERE).out)
        if line["urgency"] == "late"
    }
    whole = tender("plan", "--long", "--today", day, *WHERE).out
    pages = [" ".join(page.split()) for page in (whole, tender("rota", "--today", day, *WHERE).out)]
    short = tender("plan", "--today", day, *WHERE).out
    assert any(line["items"][0]["protects"] for line in due.values())
    for name, line in due.items():
        (since,) = {r["found"] for r in line["items"][0]["reasons"] if r["code"] == "overdue"}
        told = date.fromisoformat(since)
        words = f"{told.day} {told:%B}" + (f" {told.year}" if day[:4] != since[:4] else "")
        assert f"late since {words} [{name}]" in pages[1]
        assert f"[{name}] Late since {words}." in pages[0]
        assert f"\n  {name}  since {Style().short_day(told, date.fromisoformat(day))}  " in short
