"""The calendar by kinds: what each tells, which file is of which, and what a phone's programs list of it.

The garden is made up. Readers that are not ours: khal (a calendar program), ical (a parser).
"""

from __future__ import annotations

import json
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import icalendar
import pytest

from calendar_core.app.plan.line_names import item_named
from calendar_core.app.shell.session import open_session
from calendar_core.planning.events import KINDS, MOVES
from calendar_core.publishing.feed import HOLDS
from calendar_core.storage.schema import tables
from tests.app.calendar.reading import by_ical, by_icalendar, by_khal
from tests.app.conftest import DAY, run
from tests.app.test_bad_input import assert_refused, rows

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.app.conftest import Program

TODAY = date.fromisoformat(DAY)
MAPLE = "Japanese maple 1"
DEMO = ("--db", "demo/garden.db", "--today", "2014-02-05")  # six days of real frost in Seattle


def told(program: Program, *words: str, file: str = "bench.ics") -> dict[str, icalendar.Event]:
    """Write a calendar and return its events by title."""
    said = program("calendar", file, *words)
    assert said.status == 0, said.err
    calendar = icalendar.Calendar.from_ical(Path(file).read_bytes())
    return {str(event["SUMMARY"]): event for event in calendar.events}


def data(program: Program, *words: str, file: str = "bench.ics") -> dict[str, Any]:
    found: dict[str, Any] = json.loads(program("calendar", file, *words, "--json").out)
    return found


def test_a_new_file_is_of_the_work_by_days_and_nothing_in_it_spans_more_than_three_days(
    garden: Program,
) -> None:
    found = data(garden)
    assert found["kind"] == "work"
    spans = [date.fromisoformat(e["end"]) - date.fromisoformat(e["start"]) for e in found["events"]]
    assert spans
    assert max(spans) < timedelta(days=3)
    days = [event["start"] for event in found["events"] if event["group"] == "work day"]
    assert len(days) == len(set(days))


def test_other_readers_list_the_same_days(garden: Program, folder: Path) -> None:
    garden("hours", "Sat 9:00-12:00, Sun 14-16, Mon-Fri 20min")
    told(garden)
    file = Path("bench.ics")
    first, last = TODAY - timedelta(days=1), max(by_icalendar(file))
    assert by_ical(file) == by_icalendar(file)
    assert by_khal(file, first, (last - first).days + 1, folder) == by_icalendar(file)
    assert len(by_icalendar(file)) > 3


def test_a_day_of_the_calendar_is_the_day_of_the_rota(garden: Program) -> None:
    events = {event["start"]: event for event in data(garden)["events"] if event["group"] == "work day"}
    rota = {
        day["day"]: day["work"] for day in json.loads(garden("rota", "--json").out)["days"] if day["work"]
    }
    last = (TODAY + timedelta(weeks=3)).isoformat()
    near = {day: work for day, work in rota.items() if day <= last}
    assert near
    assert near.keys() <= events.keys()
    for day, work in near.items():
        trees = {tree for line in work for tree in line["tree_ids"]}
        assert trees <= set(events[day]["tree_ids"])
        assert events[day]["minutes"] == sum(line["minutes"] for line in work)


def test_work_that_was_done_leaves_its_day_at_once_and_an_empty_day_goes(garden: Program) -> None:
    before = {event["start"]: event for event in data(garden)["events"]}
    rota = {
        day["day"]: day["work"] for day in json.loads(garden("rota", "--json").out)["days"] if day["work"]
    }
    day, work = next((day, work) for day, work in sorted(rota.items()) if len(work) == 1)
    assert garden("answer", work[0]["item"], "not this year").status == 0
    after = {event["start"]: event for event in data(garden)["events"]}
    assert day in before
    assert day not in after or after[day]["summary"] != before[day]["summary"]


def test_hours_that_are_known_are_in_the_calendar(garden: Program) -> None:
    garden("hours", "Sat 9:00-12:00, Sun 9:00-11:00")
    starts = [event.start for event in told(garden).values() if isinstance(event.start, datetime)]
    assert starts
    zone = open_session("garden.db", None, TODAY).zone
    assert {start.astimezone(zone).hour for start in starts} == {9}


def test_each_kind_has_a_calendar_and_only_that_of_windows_spans_weeks(garden: Program) -> None:
    garden("away", "2015-07-10", "2015-07-12")
    for kind in KINDS:
        of = ("--tree", MAPLE) if kind == "tree" else ()
        found = data(garden, "--kind", kind, *of, file=f"{kind}.ics")
        assert found["kind"] == kind
        longest = max((date.fromisoformat(e["end"]) - date.fromisoformat(e["start"])).days for e in found["events"]) if found["events"] else 0  # fmt: skip
        assert (longest > 14) == (kind in ("windows", "tree")), kind


def test_an_opening_ahead_tells_what_decides_it(leafclock: Program) -> None:
    assert leafclock("demo", "--out", "demo", "--today", "2015-06-01").status == 0
    events = icalendar.Calendar.from_ical(Path("demo/bench.ics").read_bytes()).events
    told = [str(event.get("DESCRIPTION", "")) for event in events]
    assert any("Small trees last, candles firm about 12 July." in text for text in told)


def test_written_twice_it_is_the_same_to_the_byte(garden: Program) -> None:
    """A program that subscribes compares files: what is the same must not look changed."""
    for kind in ("work", "moves", "helper"):
        assert garden("calendar", f"{kind}.ics", "--kind", kind).status == 0
        before = Path(f"{kind}.ics").read_bytes()
        assert "nothing changed" in garden("calendar", f"{kind}.ics").out
        assert Path(f"{kind}.ics").read_bytes() == before


def test_a_trees_calendar_names_no_other_tree(garden: Program) -> None:
    found = data(garden, "--tree", MAPLE, file="maple.ics")["events"]
    assert len(found) > 5
    assert {tree for event in found for tree in event["tree_ids"]} == {found[0]["tree_ids"][0]}
    assert not any("Japanese maple 2" in event["summary"] + event["description"] for event in found)
    again = data(garden, file="maple.ics")  # the file keeps its kind and its tree
    assert (again["kind"], again["changes"]) == ("tree", [])


def test_a_helpers_calendar_has_a_day_for_each_day_away(garden: Program) -> None:
    assert data(garden, "--kind", "helper", file="help.ics")["events"] == []
    garden("away", "2015-07-10", "2015-07-12")
    found = sorted(data(garden, file="help.ics")["events"], key=lambda event: str(event["start"]))
    assert [event["start"] for event in found] == ["2015-07-10", "2015-07-11", "2015-07-12"]
    assert all("Water until it runs out below" in event["description"] for event in found)


def test_moves_by_the_hour_have_a_calendar_of_their_own_with_the_warnings(
    leafclock: Program, it_is: Callable[[str], None]
) -> None:
    it_is(DEMO[-1])
    assert leafclock("demo", "--out", "demo", "--today", DEMO[-1]).status == 0
    assert leafclock("warn", *DEMO).status == 0
    found = data(leafclock, "--kind", "moves", *DEMO, file="moves.ics")
    assert found["events"] == []
    subjects = {line for line in leafclock("warn", *DEMO).out.splitlines() if ", " in line and ":" in line}
    moves = [move for move in found["moves"] if move["to"]]
    warnings = [move for move in found["moves"] if move["summary"] in subjects]
    assert moves
    assert warnings
    events = told(leafclock, *DEMO, file="moves.ics")
    ringing = {title for title, event in events.items() if event.walk("VALARM")}
    assert ringing == {move["summary"] for move in moves}
    work = data(leafclock, *DEMO, file="work.ics")
    by_hour = [event for event in work["events"] if event["group"] == MOVES]
    named = {tree for event in by_hour for tree in event["tree_ids"]}
    assert named >= {tree for move in moves for tree in move["tree_ids"]}
    for move in moves:
        asked = move["description"].split("\n\n")[0]
        assert any(asked in event["description"] for event in by_hour)
    hours = [(event["start"], event["begins"]) for event in by_hour]
    assert len(hours) == len(set(hours))
    events = told(leafclock, *DEMO, file="work.ics")
    triggers = [alarm.decoded("TRIGGER") for e in by_hour for alarm in events[e["summary"]].walk("VALARM")]
    assert triggers == [timedelta(hours=-1)] * len(by_hour)


def test_a_tree_that_a_warning_asks_in_by_the_hour_stands_in_no_days_work(
    leafclock: Program, it_is: Callable[[str], None]
) -> None:
    it_is(DEMO[-1])
    assert leafclock("demo", "--out", "demo", "--today", DEMO[-1]).status == 0
    assert leafclock("warn", *DEMO).status == 0
    work = data(leafclock, *DEMO, file="work.ics")
    asked = {tree for event in work["events"] if event["group"] == MOVES for tree in event["tree_ids"]}
    assert asked
    for event in work["events"]:
        if event["group"] == "work day":
            assert not (asked & set(event["tree_ids"]) and "Move into shelter" in event["description"])


# -- which file is of which kind --------------------------------------------------------------------------------


def forget(path: str) -> None:
    """Let a file be one from before there were kinds: nothing is known of it but what is in it."""
    session = open_session("garden.db", None, TODAY)
    with session.store.begin() as connection:
        connection.execute(tables.calendar_file.delete())
    file = Path(path)
    lines = file.read_bytes().splitlines(keepends=True)
    file.write_bytes(b"".join(line for line in lines if not line.startswith(HOLDS.encode())))


def test_a_file_from_before_there_were_kinds_keeps_the_windows_and_says_so_once(garden: Program) -> None:
    garden("calendar", "old.ics", "--kind", "windows")
    forget("old.ics")
    said = garden("calendar", "old.ics")
    assert "stays the calendar of windows" in " ".join(said.out.split())
    assert "--kind work" in said.out
    again = garden("calendar", "old.ics")
    assert "stays" not in again.out
    assert data(garden, file="old.ics")["kind"] == "windows"
    assert data(garden, file="new.ics")["kind"] == "work"
    assert data(garden, "--kind", "work", file="old.ics")["kind"] == "work"
    assert data(garden, file="old.ics")["kind"] == "work"


def test_a_file_that_was_moved_keeps_its_kind(garden: Program) -> None:
    for kind in ("work", "moves", "windows"):
        garden("calendar", f"{kind}.ics", "--kind", kind)
        Path(f"{kind}.ics").rename(f"moved-{kind}.ics")
        said = data(garden, file=f"moved-{kind}.ics")
        assert (said["kind"], said["kept_from_before"]) == (kind, False)


@pytest.mark.parametrize("whose", ["tree", "tree foo", "tree 00000000-0000-0000-0000-000000000000"])
def test_a_file_that_holds_the_season_of_no_tree_here_is_left_alone(garden: Program, whose: str) -> None:
    garden("calendar", "maple.ics", "--kind", "tree", "--tree", MAPLE)
    forget("maple.ics")
    file = Path("maple.ics")
    file.write_bytes(
        file.read_bytes().replace(b"BEGIN:VEVENT", f"{HOLDS}:{whose}\r\nBEGIN:VEVENT".encode(), 1)
    )
    before = file.read_bytes()
    said = garden("calendar", "maple.ics")
    assert (said.status, file.read_bytes()) == (2, before)
    assert said.err == (
        "leafclock: maple.ics: says that it holds the season of a tree that is not in this garden; "
        "right would be another file, or --tree with a label\n"
    )
    assert garden("calendar", "maple.ics", "--tree", MAPLE).status == 0


def test_a_file_of_another_garden_is_not_written_over(garden: Program) -> None:
    garden("calendar", "bench.ics")
    where = ("--place", "Nagano", "--name", "Second", "--trees", "larch", "--today", DAY)
    assert run("start", *where).status == 0
    said = run("calendar", "bench.ics", "--garden", "Second", "--today", DAY)
    assert (said.status, len(said.err.splitlines())) == (2, 1)
    assert "holds the calendar of" in said.err
    assert run("calendar", "second.ics", "--garden", "Second", "--today", DAY).status == 0


def test_a_day_before_the_last_that_was_told_is_refused_and_nothing_is_lost(garden: Program) -> None:
    garden("calendar", "bench.ics")
    before = rows(), Path("bench.ics").read_bytes()
    said = run("calendar", "bench.ics", "--today", "2015-05-01")
    assert (said.status, len(said.err.splitlines())) == (2, 1)
    assert (rows(), Path("bench.ics").read_bytes()) == before


def test_time_that_is_taken_back_frees_the_next_days(garden: Program) -> None:
    """The days away are known, and told; then they are taken back."""
    entry = garden("away", "2015-06-25", "2015-06-28").out.rstrip(".\n").rpartition(" ")[2]
    told(garden)
    assert garden("log", "--void", entry).status == 0
    days = {event["start"] for event in data(garden)["events"] if event["group"] == "work day"}
    assert days & {"2015-06-25", "2015-06-26"}


def test_a_name_that_the_first_screen_prints_can_be_answered_whatever_days_were_told(garden: Program) -> None:
    garden("hours", "Wed 12min, Thu 12min, Fri 12min, Sat 1h")
    told(garden)
    screen = json.loads(garden("today", "--json").out)
    rota = [line["item"] for day in json.loads(garden("rota", "--json").out)["days"] for line in day["work"]]
    names = {line["item"] for day in screen["days"] for line in (*day["work"], *day["ends"])}
    assert names
    session = open_session("garden.db", None, TODAY)
    for name in (*names, *rota):
        assert item_named(session, name)


def test_a_file_of_another_is_no_calendar_of_this_garden(garden: Program) -> None:
    Path("other.ics").write_text("BEGIN:VCALENDAR\r\nUID:not-ours\r\nEND:VCALENDAR\r\n")
    assert data(garden, file="other.ics")["kind"] == "work"


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("--kind", "weekly"), "--kind weekly: no such calendar; right would be one of work, windows, moves, tree, helper"),
        (("--kind", "tree"), "--kind tree: whose is not said; right would be with --tree and its label"),
        (("--kind", "work", "--tree", MAPLE), "--tree goes with the kind tree, not with work"),
        (("--tree", "Japanese maple 1, Japanese maple 2"), "--tree Japanese maple 1, Japanese maple 2: names 2 trees; right would be one"),
    ],
)  # fmt: skip
def test_bad_input_is_one_line_and_nothing_is_written(
    garden: Program, words: tuple[str, ...], line: str
) -> None:
    before = rows()
    assert_refused(garden("calendar", "bench.ics", *words), line)
    assert rows() == before
    assert not Path("bench.ics").exists()


def test_hours_that_end_before_they_begin_are_refused(garden: Program) -> None:
    before = rows()
    line = "'12:00-9:00' end before they begin; right would be such as 9:00-12:00"
    assert_refused(garden("hours", "Sat 12:00-9:00"), line)
    assert_refused(
        garden("hours", "Sat 9:75-12"), "'9:75-12' are no hours of a day; right would be such as 9:00-12:00"
    )
    assert rows() == before


def test_what_is_carried_along_goes_on_as_it_was_told(garden: Program) -> None:
    """An exact export takes what subscribers were told: no id and no SEQUENCE begins anew (RFC 5545 3.8.7.4)."""
    before = data(garden)["events"]
    assert run("export", "copy", "--exact").status == 0
    assert run("import", "copy", "--db", "other.db").status == 0
    after = json.loads(run("calendar", "bench.ics", "--db", "other.db", "--today", DAY, "--json").out)
    assert [(e["uid"], e["sequence"]) for e in after["events"]] == [(e["uid"], e["sequence"]) for e in before]
