"""The walks on every screen of the demo garden, whose weather is real and whose trees are invented."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest
from icalendar import Calendar

from tests.app.conftest import run

if TYPE_CHECKING:
    from pathlib import Path

DAY = ("--today", "2015-09-18")


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the database of the demo garden on a September day."""
    out = tmp_path_factory.mktemp("demo")
    assert run("demo", "--out", str(out), *DAY).status == 0
    return out / "garden.db"


def test_the_first_screen_of_a_september_day_names_the_next_walk(demo: Path) -> None:
    out = run("plan", "--db", str(demo), *DAY).out
    assert (
        "Next walk on Saturday, 19 September 2015: Late summer review: Maple 5 and 6 more trees."
        in " ".join(out.split())
    )


def test_it_is_the_same_walk_in_the_plan_of_the_round_the_rota_and_the_calendar(
    demo: Path, tmp_path: Path
) -> None:
    here = ("--db", str(demo), *DAY)
    walks = json.loads(run("review", "plan", "--json", *here).out)["walks"]
    told = {walk["on"]: {stop["tree_id"] for stop in walk["stops"]} for walk in walks}
    assert list(told) == ["2015-09-19", "2015-09-20", "2015-10-10"]
    rota = json.loads(run("rota", "--json", *here).out)
    assert {day["day"]: set(day["walk"]["tree_ids"]) for day in rota["days"] if day["walk"]} == told
    file = tmp_path / "bench.ics"
    run("calendar", str(file), "--kind", "windows", *here)
    events = Calendar.from_ical(file.read_bytes()).walk("VEVENT")
    named = {str(e.decoded("DTSTART")): str(e["SUMMARY"]) for e in events if "eview" in str(e["SUMMARY"])}
    assert named == {
        "2015-09-19": "Late summer review: Maple 5 and 6 more trees",
        "2015-09-20": "Late summer review: Maple 3 and 2 more trees",
        "2015-10-10": "Late summer review: Pine 1 and 3 more trees",
    }
    assert "Next walk on Saturday, 19 September 2015" in run("due", *here).out


def test_a_walk_is_moved_and_the_rest_follows(demo: Path, tmp_path: Path) -> None:
    mine = tmp_path / "garden.db"
    mine.write_bytes(demo.read_bytes())
    here = ("--db", str(mine), *DAY)
    assert (
        "is on Thursday, 24 September 2015"
        in run("review", "move", "2015-09-19", "--to", "2015-09-24", *here).out
    )
    days = [walk["on"] for walk in json.loads(run("review", "plan", "--json", *here).out)["walks"]]
    assert days == ["2015-09-20", "2015-09-24", "2015-10-10"]  # that of Sunday stays as it was
    late = run("review", "move", "2015-09-20", "--to", "2015-12-24", *here)
    assert late.status == 2
    assert (
        "2015-12-24: its trees' round is not open then; right would be a day from 2015-09-18 to 2015-10-1"
        in late.err
    )


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (
            ("2015-09-21", "--to", "2015-09-24"),
            "2015-09-21: no walk is planned then; right would be one of: 2015-09-19",
        ),
        (
            ("2015-09-19", "--to", "2015-09-01"),
            "2015-09-01: right would be another day, from 2015-09-18 on",
        ),
        (("2015-09-19", "--to", "2015-09-19"), "2015-09-19: right would be another day"),
    ],
)
def test_a_walk_that_cannot_be_moved_so_is_refused(demo: Path, words: tuple[str, ...], told: str) -> None:
    answer = run("review", "move", *words, "--db", str(demo), *DAY)
    assert answer.status == 2
    assert told in answer.err


def test_in_summer_it_says_when_the_next_round_opens(demo: Path) -> None:
    out = run("review", "plan", "--db", str(demo), "--today", "2015-06-20").out
    assert "Nothing is to be looked at in the next 10 weeks. The next round opens about 3 September." in out


def test_what_was_looked_at_today_is_in_no_walk_and_pulls_none_onto_today(demo: Path, tmp_path: Path) -> None:
    """The calendar keeps the next walk's event as it was; ``due`` tells no walk that is over."""
    mine, file, form = tmp_path / "garden.db", tmp_path / "bench.ics", tmp_path / "form.txt"
    mine.write_bytes(demo.read_bytes())
    here = ("--db", str(mine), "--today", "2015-09-19")

    def events() -> dict[str, str]:
        run("calendar", str(file), "--kind", "windows", *here)
        found = Calendar.from_ical(file.read_bytes()).walk("VEVENT")
        return {str(e["UID"]): str(e.decoded("DTSTART")) for e in found if "eview" in str(e["SUMMARY"])}

    walks = json.loads(run("review", "plan", "--json", *here).out)["walks"]
    before = events()
    labels = [stop["label"] for stop in walks[0]["stops"]]
    told = "vigour=3; drainage=20; pot=good; base=good; wire=good; top=even; back buds=few; photo=yes; minutes=12"
    form.write_text("".join(f"{label}: {told}\n" for label in labels), encoding="utf-8")
    run("review", "enter", "--lines", str(form), *here)
    after = [walk["on"] for walk in json.loads(run("review", "plan", "--json", *here).out)["walks"]]
    assert after[0] == walks[1]["on"]
    sunday = f"Next walk on Sunday, {int(after[0][-2:])} September 2015"
    assert sunday in run("due", *here).out
    assert {uid: day for uid, day in before.items() if day != "2015-09-19"}.items() <= events().items()
    assert sunday in run("due", *here).out


def test_how_far_one_looks_changes_no_walk(demo: Path) -> None:
    whole, near = (
        json.loads(run("review", "plan", "--json", "--weeks", weeks, "--db", str(demo), *DAY).out)["walks"]
        for weeks in ("10", "1")
    )
    assert near == whole[:2]


def test_who_was_not_looked_at_in_the_best_weeks_is_told_in_one_line_and_nags_nowhere(
    demo: Path, tmp_path: Path
) -> None:
    """Twelve trees of the demo shed their leaves or rest; the figs do neither. Buds of the first swell about 4 March."""
    mine, file = tmp_path / "garden.db", tmp_path / "bench.ics"
    mine.write_bytes(demo.read_bytes())
    here = ("--db", str(mine), "--today", "2016-01-06")
    out = " ".join(run("plan", *here).out.split())
    assert "Not looked over after leaf fall: 12 trees. Until about 3 March it still can be done" in out
    assert len(json.loads(run("review", "plan", "--json", *here).out)["walks"]) == 2
    assert not [day for day in json.loads(run("rota", "--json", *here).out)["days"] if day["walk"]]
    run("calendar", str(file), "--kind", "windows", *here)
    events = Calendar.from_ical(file.read_bytes()).walk("VEVENT")
    assert not [event for event in events if "eview" in str(event["SUMMARY"])]
    assert "Next walk" not in run("due", *here).out
