"""What follows work, as the grower meets it: due, answered, before a cut, what if, and in the calendar."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import icalendar
import pytest

from tests.app.conftest import run
from tests.app.test_bad_input import rows

if TYPE_CHECKING:
    from tests.app.conftest import Program

pytestmark = pytest.mark.slow

MAPLE = "Japanese maple 1"


def looks(garden: Program, *words: str) -> dict[str, Any]:
    """What is due of the maple's wire and wounds, by its name."""
    events = json.loads(garden("due", "--days", "30", *words, "--json").out)
    return {event["items"][0]["label"]: event for event in events if event["items"][0]["label"]}


def wired(garden: Program) -> None:
    assert garden("log", MAPLE, "wire", "2015-06-10").status == 0


def test_work_brings_a_look_that_an_answer_closes_and_brings_again(garden: Program) -> None:
    wired(garden)
    first = looks(garden)["Look at the wire"]
    assert garden("answer", first["name"], "Looked").status == 0
    second = looks(garden)["Look at the wire"]
    assert second["name"] != first["name"]
    assert second["items"][0]["occurrence"] == 1
    assert second["items"][0]["opens"]["likely"] > first["items"][0]["opens"]["likely"]
    assert garden("log", MAPLE, "unwire", "2015-06-24").status == 0
    assert "Look at the wire" not in looks(garden)


def test_a_look_that_goes_badly_stays_on_top_until_one_goes_well(garden: Program) -> None:
    wired(garden)
    garden("answer", looks(garden)["Look at the wire"]["name"], "looked", "--badly")
    again = looks(garden)["Look at the wire"]
    assert again["urgency"] == "concern"
    assert "Went badly, still open" in garden("due", "--days", "30").out
    assert "look at the wire" in garden("before", MAPLE, "cut back").out.lower()
    garden("answer", again["name"], "looked")
    assert looks(garden)["Look at the wire"]["urgency"] != "concern"


def test_before_a_cut_a_part_that_got_worse_is_told_with_its_last_measures(garden: Program) -> None:
    strip = ("part", "add", MAPLE, "dieback", "dry strip", "2015-05-01", "--directive", "watch")
    assert garden(*strip).status == 0
    for day, dry in (("2015-05-02", 12), ("2015-05-20", 15)):
        garden("measure", MAPLE, "dry strip", f"dry={dry}", "--on", day)
    asked = garden(
        "answer", looks(garden)["Look at the dry part"]["name"], "measured", "--badly", "--measure", "dry=22"
    )
    assert asked.status == 0
    told = " ".join(garden("before", MAPLE, "cut back").out.split())
    assert (
        "Dieback dry strip (dry part, watch): the last look, on 24 June, went badly; "
        "dry 15 mm on 20 May, 22 mm on 24 June."
    ) in told


def test_what_is_late_since_another_year_is_told_with_the_year(garden: Program) -> None:
    garden("log", MAPLE, "structural prune", "2014-06-10", "--part", "back stub")
    assert "since 10 Jul 2014" in garden("due").out


def test_a_look_can_wait_a_week_or_be_left_out_this_year(garden: Program) -> None:
    wired(garden)
    late = looks(garden)["Look at the wire"]
    garden("answer", late["name"], "in a week")
    assert "Look at the wire" not in looks(garden)
    assert "Look at the wire" not in run("due", "--today", "2015-06-30").out
    assert "Look at the wire" in run("due", "--today", "2015-07-01").out
    garden("answer", late["name"], "not this year")
    assert "Look at the wire" not in looks(garden)


def test_looks_are_in_the_calendar_with_a_reminder_and_leave_it_when_answered(garden: Program) -> None:
    def events() -> dict[str, icalendar.Event]:
        garden("calendar", "bench.ics", "--kind", "windows")
        calendar = icalendar.Calendar.from_ical(Path("bench.ics").read_bytes())
        return {str(event["summary"]): event for event in calendar.events}

    wired(garden)
    event = events()[f"Look at the wire: {MAPLE}"]
    assert [str(alarm["action"]) for alarm in event.walk("VALARM")] == ["DISPLAY"]
    assert "Turn the tree" in str(event["description"])
    garden("log", MAPLE, "unwire", "2015-06-24")
    assert f"Look at the wire: {MAPLE}" not in events()


def test_what_if_tells_and_saves_nothing(garden: Program) -> None:
    before = rows()
    told = garden("what-if", "--tree", MAPLE, "--do", "full defoliation", "--on", "2015-07-01")
    assert told.status == 0
    assert "New leaves are hard about" in told.out
    assert "Look for new leaves" in told.out
    assert told.out.rstrip().endswith("Nothing is saved.")
    assert rows() == before


def test_an_operation_it_must_never_get_is_asked_about_and_written_if_it_was_done(garden: Program) -> None:
    before = rows()
    refused = garden("log", "black pine", "full defoliation")
    assert refused.status == 2
    assert "never done to a Japanese black pine" in refused.err
    assert rows() == before
    assert garden("log", "black pine", "full defoliation", "--yes").status == 0
    assert rows() != before


def test_work_on_a_part_before_it_was_written_down_is_refused_and_ends_no_watch(garden: Program) -> None:
    assert garden("part", "add", MAPLE, "branch", "first left", "2015-04-01").status == 0
    assert garden("log", MAPLE, "wire", "2015-04-01", "--part", "first left").status == 0
    assert garden("part", "add", MAPLE, "branch", "second right", "2015-06-02").status == 0
    before = rows()
    early = garden("log", MAPLE, "unwire", "2015-06-01", "--part", "second right", "--yes")
    assert early.status == 2
    assert "second right is followed since 2015-06-02; right would be a day from then on" in early.err
    assert garden("part", "change", MAPLE, "second right", "2015-06-01", "--directive", "watch").status == 2
    assert rows() == before
    assert "Look at the wire" in garden("due", "--days", "30").out


def test_looks_at_two_parts_keep_their_events_when_nothing_has_changed(garden: Program) -> None:
    """A wound at each of two places, measured on two days: the next look at each is due in its own month."""
    prune = ("log", MAPLE, "structural prune", "2015-06-01", "--part", "low", "--part", "high", "--yes")
    assert garden(*prune).status == 0
    assert run("measure", MAPLE, "low", "width=20", "--on", "2015-07-01", "--today", "2015-08-16").status == 0
    assert (
        run("measure", MAPLE, "high", "width=20", "--on", "2015-08-15", "--today", "2015-08-16").status == 0
    )
    assert run("calendar", "now.ics", "--kind", "windows", "--today", "2015-08-16").status == 0
    told = wounds()
    assert len(told) == 2
    assert run("calendar", "now.ics", "--kind", "windows", "--today", "2015-08-17").status == 0
    assert wounds() == told


def wounds() -> list[tuple[str, str, str]]:
    """Uid, summary and status of the events about wounds, as the calendar tells them."""
    events = icalendar.Calendar.from_ical(Path("now.ics").read_bytes()).walk("VEVENT")
    about = [event for event in events if "wound" in str(event["SUMMARY"]).lower()]
    return sorted((str(e["UID"]), str(e["SUMMARY"]), str(e["STATUS"])) for e in about)


def test_voiding_what_wrote_a_part_down_takes_the_part_away(garden: Program) -> None:
    said = garden("part", "add", MAPLE, "wound", "low", "2015-06-01").out
    assert garden("part", "change", MAPLE, "low", "--directive", "watch").status == 0
    assert garden("measure", MAPLE, "low", "width=12").status == 0
    told = garden("log", "--void", said.split("Entry ")[1][:8])
    assert "With it goes what was written down of that part." in told.out
    assert json.loads(garden("part", "list", "--json").out)[MAPLE] == []


def test_a_void_and_the_same_again_is_as_if_it_had_been_written_once(garden: Program) -> None:
    said = garden("log", MAPLE, "wire", "2015-06-10").out
    once = garden("due", "--days", "30").out
    assert "Look at the wire" in once
    assert garden("log", "--void", said.split("Entry ")[1][:8]).status == 0
    assert "Look at the wire" not in garden("due", "--days", "30").out
    wired(garden)
    twice = garden("due", "--days", "30").out
    strip = [" ".join(line.split()[1:]) for line in once.splitlines()]
    assert strip == [" ".join(line.split()[1:]) for line in twice.splitlines()]
