"""The feed as icalendar, ical, vobject and ical.js read it; octets by RFC 5545 3.1, text by 3.3.11."""

from __future__ import annotations

import json
import os
import pickle
import re
import subprocess
import sys
import unicodedata
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import UUID
from zoneinfo import ZoneInfo

import icalendar
import pytest
import vobject
from hypothesis import given
from hypothesis import strategies as st
from ical.calendar_stream import IcsCalendarStream

from calendar_core.planning.events import PublishedEvent
from calendar_core.publishing.feed import feed

if TYPE_CHECKING:
    from collections.abc import Callable

    Row = tuple[str, str | None, str | None, date | None, date | None, int | None]
    Reader = Callable[[bytes], list[Row]]

GOLDEN = Path(__file__).parent / "golden"
SEATTLE = ZoneInfo("America/Los_Angeles")

# Invented events. Kept in the order of their uids.
CONFIRMED = PublishedEvent(
    uid=UUID("2f6f2b0e-52a5-5d35-9a52-0d6fd0a4c001"),
    group="partial defoliation|acer palmatum|ramification",
    cycle=2015,
    tree_ids=(UUID(int=1),),
    start=date(2015, 6, 10),
    end=date(2015, 6, 24),
    summary="Partial defoliation: 紅葉 🍁, Maple; on the bench by the north wall",
    description="Why:\n- the leaves are hard; colour deep\n- vigour 4 (needed: 4)\n\nBack\\slash, and 盆栽 "
    + "🌲" * 30,
    reminder="Partial defoliation: the window opens tomorrow, or closes today",
    categories=("Partial defoliation", "Maple, Japanese"),
    status="CONFIRMED",
    sequence=2,
    created_at=datetime(2015, 3, 1, 4, tzinfo=UTC),
    revised_at=datetime(2015, 5, 28, 4, tzinfo=UTC),
    dates_changed=date(2015, 5, 27),
    text_changed=date(2015, 5, 27),
)
TENTATIVE = replace(
    CONFIRMED,
    uid=UUID("53b8a7c2-52a5-5d35-9a52-0d6fd0a4c002"),
    summary="Decandling: black pine",
    start=date(2015, 7, 1),
    end=date(2015, 7, 1),
    status="TENTATIVE",
    sequence=0,
)
CANCELLED = replace(
    CONFIRMED, uid=UUID("a1d9a7c2-52a5-5d35-9a52-0d6fd0a4c003"), summary="Wiring: larch", status="CANCELLED"
)
SUMMER = (CONFIRMED, TENTATIVE, CANCELLED)


def written(*events: PublishedEvent) -> bytes:
    return feed(events, name="Bench, north; 盆栽", description="Work with the trees.", zone=SEATTLE)


def parsed(data: bytes) -> icalendar.Calendar:
    calendar = icalendar.Calendar.from_ical(data)
    assert isinstance(calendar, icalendar.Calendar)
    assert not [error for part in calendar.walk() for error in part.errors]
    return calendar


# Bytes


@pytest.mark.parametrize(("name", "events"), [("summer.ics", SUMMER), ("empty.ics", ())])
def test_bytes_are_the_golden_ones(name: str, events: tuple[PublishedEvent, ...]) -> None:
    assert written(*events) == (GOLDEN / name).read_bytes()


def test_bytes_depend_neither_on_order_nor_on_hash_seed() -> None:
    code = (
        "import pickle, sys; from zoneinfo import ZoneInfo; from calendar_core.publishing.feed import feed\n"
        "data = feed(set(pickle.load(sys.stdin.buffer)), name='Bench, north; 盆栽',"
        " description='Work with the trees.', zone=ZoneInfo('America/Los_Angeles'))\n"
        "sys.stdout.buffer.write(data)"
    )
    events = [replace(TENTATIVE, uid=UUID(int=n), group=str(n)) for n in range(40)]
    made = [
        subprocess.run(
            [sys.executable, "-X", "utf8", "-c", code],
            input=pickle.dumps(events),
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    ]
    assert made[0] == made[1] == written(*reversed(events))


words = st.text(
    st.one_of(st.characters(), st.sampled_from('盆栽の葉刈り🍁🌲,;:\\"\n\r\t\x07\x85\u2028^%é')), max_size=120
)


@given(summary=words, description=words, category=words, reminder=words)
def test_octets_are_those_of_the_standard(
    summary: str, description: str, category: str, reminder: str
) -> None:
    """RFC 5545 3.1: CRLF ends a line of at most 75 octets. That each is whole UTF-8 is more than 3.1 asks."""
    event = replace(
        CONFIRMED, summary=summary, description=description, categories=(category,), reminder=reminder
    )
    data = feed([event], name=summary, description=description)
    lines = data.split(b"\r\n")
    assert lines.pop() == b""
    for line in lines:
        assert len(line) <= 75
        assert not [c for c in line.decode("utf-8") if unicodedata.category(c) == "Cc" and c != "\t"]
    assert sum(line.startswith(b"BEGIN:VEVENT") for line in lines) == 1


# Readers


def plain(text: str) -> str:
    """Return text as it should come back: 3.3.11 allows no controls; line ends are all one."""
    lines = re.sub("\r\n|[\r\x85\u2028\u2029]", "\n", text)
    return re.sub("[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff]", "", lines)


def read_by_icalendar(data: bytes) -> list[Row]:
    return [(str(e.uid), e.summary, e.description, e.start, e.end, e.sequence) for e in parsed(data).events]


def read_by_ical(data: bytes) -> list[Row]:
    calendar = IcsCalendarStream.calendar_from_ics(data.decode())
    return [(e.uid, e.summary, e.description, e.dtstart, e.dtend, e.sequence) for e in calendar.events]


def read_by_vobject(data: bytes) -> list[Row]:
    calendar = vobject.readOne(data.decode())
    calendar.validate(raiseException=True)
    return [
        (
            e.uid.value,
            e.summary.value,
            e.description.value,
            e.dtstart.value,
            e.dtend.value,
            int(e.sequence.value),
        )
        for e in calendar.contents.get("vevent", [])
    ]


READERS = pytest.mark.parametrize("read", [read_by_icalendar, read_by_ical, read_by_vobject])


@READERS
def test_readers_agree_on_what_was_written(read: Reader) -> None:
    found = read(written(*SUMMER))
    assert found == [
        (
            str(event.uid),
            "Cancelled: " * (event.status == "CANCELLED") + event.summary,
            event.description,
            event.start,
            event.end + timedelta(days=1),  # RFC 5545 3.6.1: DTEND is the day after the last
            event.sequence,
        )
        for event in SUMMER
    ]
    assert read(written()) == []


@READERS
@given(
    summary=words,
    description=words,
    start=st.dates(date(2012, 1, 1), date(2040, 1, 1)),
    days=st.integers(0, 99),
)
def test_any_text_and_span_comes_back(
    read: Reader, summary: str, description: str, start: date, days: int
) -> None:
    end = start + timedelta(days=days)
    event = replace(CONFIRMED, summary=f"x{summary}", description=f"x{description}x", start=start, end=end)
    title = " ".join(plain(event.summary).split())
    assert read(written(event)) == [
        (str(event.uid), title, plain(event.description), start, end + timedelta(days=1), 2)
    ]


def ical_js() -> Path:
    """Return the ES module of the npm package ical.js, the parser family of a widely used mail program."""
    roots = [Path(os.environ[key]) for key in ("LEAFCLOCK_NODE_MODULES",) if os.environ.get(key)]
    roots += [root / "node_modules" for root in (*roots, Path(__file__).parents[2])]
    for root in roots:
        if (root / "ical.js" / "dist" / "ical.js").is_file():
            return root / "ical.js" / "dist" / "ical.js"
    pytest.skip("the npm package ical.js is not installed; set LEAFCLOCK_NODE_MODULES")


JS = """
const ICAL = (await import(process.argv[1])).default;
let text = ''; for await (const piece of process.stdin.setEncoding('utf8')) text += piece;
const calendar = new ICAL.Component(ICAL.parse(text));
console.log(JSON.stringify(calendar.getAllSubcomponents('vevent').map(part => {
  const event = new ICAL.Event(part);
  return [event.uid, event.summary, event.description, event.startDate.toString(), event.endDate.toString(),
          part.getAllSubcomponents('valarm').length];
})));
"""


def test_ical_js_reads_the_same() -> None:
    module = ical_js()
    try:
        made = subprocess.run(
            ["node", "--input-type=module", "-e", JS, module.as_uri()],
            input=written(*SUMMER),
            capture_output=True,
            check=True,
        )
    except FileNotFoundError:
        pytest.skip("node is not installed")
    found = json.loads(made.stdout)
    assert [row[:2] for row in found] == [
        [uid, summary] for uid, summary, *_ in read_by_icalendar(written(*SUMMER))
    ]
    assert [row[2] for row in found] == [event.description for event in SUMMER]
    assert [row[3:] for row in found] == [
        ["2015-06-10", "2015-06-25", 2],
        ["2015-07-01", "2015-07-02", 0],
        ["2015-06-10", "2015-06-25", 0],
    ]


# Properties


def test_the_head_names_the_calendar_and_its_refresh() -> None:
    """RFC 7986 5.1 and 5.7. Without METHOD, DTSTAMP is the last revision (RFC 5545 3.8.7.2)."""
    head = written(*SUMMER).partition(b"BEGIN:VEVENT")[0].decode().split("\r\n")
    assert head == [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//Leafclock//Leafclock 0.1//EN",
        "NAME:Bench\\, north\\; 盆栽",
        "X-WR-CALNAME:Bench\\, north\\; 盆栽",
        "DESCRIPTION:Work with the trees.",
        "X-WR-CALDESC:Work with the trees.",
        "REFRESH-INTERVAL;VALUE=DURATION:PT12H",
        "X-PUBLISHED-TTL:PT12H",
        "",
    ]


def test_an_event_carries_its_history_and_blocks_no_time() -> None:
    event = parsed(written(CONFIRMED)).events[0]
    assert event.DTSTAMP == event.LAST_MODIFIED == CONFIRMED.revised_at
    assert CONFIRMED.created_at == event.CREATED
    assert (event.sequence, event.status, event.transparency) == (2, "CONFIRMED", "TRANSPARENT")
    assert event["x-microsoft-cdo-busystatus"] == "FREE"
    assert event.categories == ["Partial defoliation", "Maple Japanese"]
