"""What is decided of a part, as the grower meets it: written down, asked for on every screen, answered, taken back."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from calendar_core.app.shell.session import open_session
from tests.app.conftest import DAY, run
from tests.app.one_truth import findings
from tests.app.test_bad_input import rows

if TYPE_CHECKING:
    from tests.app.conftest import Program

pytestmark = pytest.mark.slow

MAPLE = "Japanese maple 1"


def decide(garden: Program, kind: str, name: str, operation: str) -> None:
    assert garden("part", "add", MAPLE, kind, name, "2015-05-01").status == 0
    assert garden("part", "change", MAPLE, name, "--decide", operation).status == 0


def asked(day: str = DAY) -> list[dict[str, Any]]:
    """The events of what was decided, of ``due`` and all that comes."""
    events = json.loads(run("due", "--days", "60", "--today", day, "--json").out)
    return [event for event in events if event["items"][0]["rule"].startswith("decided ")]


def told() -> str:
    """The calendar's text, its lines unfolded."""
    return Path("bench.ics").read_text(encoding="utf-8").replace("\n ", "")


@pytest.mark.parametrize(
    ("kind", "operation", "label"),
    [("graft", "sever graft", "Sever the graft"), ("branch", "structural prune", "Structural pruning")],
)
def test_what_is_decided_stands_on_every_screen(
    garden: Program, kind: str, operation: str, label: str
) -> None:
    decide(garden, kind, "low left", operation)
    (event,) = asked()
    named = f"{label}: {MAPLE} (low left)"
    assert named in " ".join(garden("due").out.split())
    assert named in " ".join(garden("plan").out.split())
    why = " ".join(garden("why", event["name"]).out.split())
    assert f"Decided on 24 June: {label.lower()}." in why
    assert f"{label}: " in garden("tree", "show", MAPLE).out
    assert f"decided: {operation}" in garden("part", "list", MAPLE).out
    assert f"decided: {operation}" in garden("history", MAPLE).out
    assert garden("hours", "Sat 4h, Mon-Fri 60min").status == 0
    assert f"{label}: {MAPLE}" in " ".join(garden("rota").out.split())
    assert garden("calendar", "bench.ics", "--kind", "windows").status == 0
    assert f"SUMMARY:{named}" in told()
    session = open_session("garden.db", None, date.fromisoformat(DAY))
    assert [str(one) for one in findings(session)] == []


def test_its_verb_answers_it_and_its_event_leaves_the_calendar(garden: Program) -> None:
    decide(garden, "graft", "low left", "sever graft")
    assert garden("calendar", "bench.ics", "--kind", "windows").status == 0
    (event,) = asked()
    assert garden("answer", event["name"], "Severed").status == 0
    assert asked() == []
    assert "Severed, low left" in garden("history", MAPLE).out
    assert garden("calendar", "bench.ics", "--kind", "windows").status == 0
    assert "Sever the graft" not in told()


def test_work_that_is_logged_on_the_part_ends_it_and_its_void_brings_it_back(garden: Program) -> None:
    decide(garden, "branch", "low left", "structural prune")
    (event,) = asked()
    done = garden("log", MAPLE, "structural prune", "--part", "low left")
    assert (done.status, asked()) == (0, [])
    entry = done.out.rpartition("Entry ")[2].strip(" .\n")
    assert garden("log", "--void", entry).status == 0
    assert [one["name"] for one in asked()] == [event["name"]]


def test_two_parts_decided_alike_share_a_line_and_are_answered_together(garden: Program) -> None:
    decide(garden, "graft", "low left", "sever graft")
    decide(garden, "graft", "top", "sever graft")
    (event,) = asked()
    assert [item["part"] for item in event["items"]] in (["low left", "top"], ["top", "low left"])
    assert garden("answer", event["name"], "Severed").status == 0
    assert asked() == []


def test_it_is_taken_back_and_put_off(garden: Program) -> None:
    decide(garden, "graft", "low left", "sever graft")
    (event,) = asked()
    assert garden("answer", event["name"], "in a week").status == 0
    assert asked() == []
    assert len(asked("2015-07-01")) == 1
    assert garden("part", "change", MAPLE, "low left", "--decide", "nothing").status == 0
    assert asked("2015-07-01") == []


@pytest.mark.parametrize(
    ("operation", "told"),
    [
        ("dance", "--decide: 'dance' cannot be decided of a part that is a graft; right would be one of: structural prune, unwire, sever graft, nothing"),
        ("recut wound", "--decide: 'recut wound' cannot be decided of a part that is a graft; right would be one of:"),
        ("repot", "--decide: 'repot' cannot be decided of a part that is a graft"),
    ],
)  # fmt: skip
def test_what_cannot_be_decided_of_a_part_is_refused_in_one_line(
    garden: Program, operation: str, told: str
) -> None:
    assert garden("part", "add", MAPLE, "graft", "low left", "2015-05-01").status == 0
    before = rows()
    answer = garden("part", "change", MAPLE, "low left", "--decide", operation)
    assert (answer.status, len(answer.err.strip().splitlines())) == (2, 1)
    assert told in answer.err
    assert rows() == before
