"""A calendar file as readers that are not ours list it: khal, a calendar of the command line, and the parser ical."""

from __future__ import annotations

import shutil
import subprocess
import sys
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import icalendar
from ical.calendar_stream import IcsCalendarStream

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

ZONE = "America/Los_Angeles"
Days = dict[date, list[str]]


def _listed(title: str, first: date, last: date) -> Iterator[tuple[date, str]]:
    for place in range((last - first).days + 1):
        yield first + timedelta(days=place), title


def _by_day(rows: Iterator[tuple[date, str]]) -> Days:
    out: Days = {}
    for day, title in rows:
        out.setdefault(day, []).append(title)
    return {day: sorted(titles) for day, titles in sorted(out.items())}


def by_icalendar(file: Path) -> Days:
    """Return the titles of each day as icalendar reads them."""

    def rows() -> Iterator[tuple[date, str]]:
        for event in icalendar.Calendar.from_ical(file.read_bytes()).walk("VEVENT"):
            yield from _listed(
                str(event["SUMMARY"]), *_span(event.decoded("DTSTART"), event.decoded("DTEND"))
            )

    return _by_day(rows())


def by_ical(file: Path) -> Days:
    """Return the titles of each day as the package ical reads them."""

    def rows() -> Iterator[tuple[date, str]]:
        for event in IcsCalendarStream.calendar_from_ics(file.read_text("utf-8")).events:
            yield from _listed(str(event.summary), *_span(event.dtstart, event.dtend))

    return _by_day(rows())


def _span(start: date | None, end: date | None) -> tuple[date, date]:
    """Return the first and the last day at the garden."""
    assert start is not None
    assert end is not None
    if isinstance(start, datetime) and isinstance(end, datetime):
        zone = ZoneInfo(ZONE)
        return start.astimezone(zone).date(), end.astimezone(zone).date()
    return start, end - timedelta(days=1)


def by_khal(file: Path, first: date, days: int, folder: Path) -> Days:
    """Return the titles of each day as khal lists them, after it imported the file into a calendar of its own."""
    home = folder / "khal"
    shutil.rmtree(home, ignore_errors=True)
    (home / "bench").mkdir(parents=True)
    config = home / "config"
    config.write_text(
        f"[calendars]\n[[bench]]\npath = {home / 'bench'}\n"
        f"[locale]\nlocal_timezone = {ZONE}\ndefault_timezone = {ZONE}\ndateformat = %Y-%m-%d\n"
        "longdateformat = %Y-%m-%d\ndatetimeformat = %Y-%m-%d %H:%M\nlongdatetimeformat = %Y-%m-%d %H:%M\n"
        f"timeformat = %H:%M\n[sqlite]\npath = {home / 'khal.db'}\n"
    )
    khal = (sys.executable, "-c", "from khal.cli import main_khal; main_khal()", "-c", str(config))
    subprocess.run([*khal, "import", "--batch", "-a", "bench", str(file)], check=True, capture_output=True)
    told = subprocess.run(
        [*khal, "list", "--format", "{title}", "--day-format", "== {date}", first.isoformat(), f"{days}d"],
        check=True, capture_output=True, text=True,
    ).stdout  # fmt: skip
    return _by_day(_khal_rows(told))


def _khal_rows(told: str) -> Iterator[tuple[date, str]]:
    day = date.min
    for line in told.splitlines():
        if line.startswith("== "):
            day = date.fromisoformat(line.removeprefix("== ").strip())
        elif line.strip():
            yield day, line.strip()
