"""A season's dealings with one garden: spots, trees, log, wishes, answers, reasons, calendar."""

from __future__ import annotations

import json
import re
import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import icalendar
import pytest

from calendar_core.app.shell.session import open_session
from calendar_core.knowledge.profiles.bundled import folder as bundled
from calendar_core.storage import published
from tests.app.conftest import DAY, run

if TYPE_CHECKING:
    from tests.app.conftest import Program

pytestmark = pytest.mark.slow

MAPLES = "Japanese maple 1 and Japanese maple 2"
SEATTLE_DAYS = str(bundled("demo") / "seattle-weather.csv")
ITEM = re.compile(r"^  (\S.*?): (.*?)  \[([0-9a-f]{6})\]$", re.MULTILINE | re.DOTALL)


def names(out: str) -> dict[str, str]:
    """Return the printed names of a plan's items, by operation and trees."""
    return {f"{found[1]}: {' '.join(found[2].split())}": found[3] for found in ITEM.finditer(out)}


def planned(garden: Program, label: str) -> dict[str, dict[str, Any]]:
    """Return the items of a tree in this year's cycle by rule, also what is merely possible."""
    data = json.loads(garden("plan", "--all", "--json").out)
    which = next(tree for tree, name in data["trees"].items() if name == label)
    return {i["rule"]: i for i in data["items"] if i["tree_id"] == which and i["cycle"] == 2015}


def test_a_spot_is_renamed_and_removed_only_if_no_tree_stood_there(garden: Program) -> None:
    garden("spot", "add", "shelf", "--sun-from", "06:00", "--sun-to", "11:30")
    assert garden("spot", "change", "shelf", "--sun-from", "none", "--sun-to", "none").out == (
        "Spot changed: shelf: open.\n"
    )
    assert garden("spot", "change", "shelf", "--name", "east shelf").status == 0
    garden("tree", "change", "Tropical fig 1", "--spot", "east shelf")
    refused = garden("spot", "remove", "east shelf")
    assert refused.status == 2
    assert "trees stand or stood at 'east shelf'" in refused.err
    assert garden("spot", "add", "slip").status == 0
    assert garden("spot", "remove", "slip").out == "Spot removed: slip.\n"
    assert "slip" not in garden("spot", "list").out
    assert "east shelf" in garden("tree", "show", "Tropical fig 1").out


def test_the_pot_of_a_tree_is_shown(garden: Program) -> None:
    garden("tree", "change", "Tropical fig 1", "--pot", "2.5", "--pot-kind", "dark glazed")
    assert "2.5 l dark glazed" in garden("tree", "show", "Tropical fig 1").out
    assert "no pot named" in garden("tree", "list").out


def test_spots_are_added_changed_and_listed(garden: Program) -> None:
    assert garden("spot", "add", "shed", "--profile", "frost-free").out == "Spot added: shed: frost-free.\n"
    added = garden("spot", "add", "east", "--sun-from", "06:00", "--sun-to", "11:30", "--cloth", "30")
    assert added.out == "Spot added: east: open, sun 06:00 to 11:30, cloth 30 %.\n"
    assert garden("spot", "change", "EAST", "--sun-to", "10:00", "--cloth", "0").status == 0
    assert garden("spot", "list").out == "bench: open\neast: open, sun 06:00 to 10:00\nshed: frost-free\n"


def test_trees_are_added_imported_changed_and_shown(garden: Program) -> None:
    Path("more.csv").write_text(
        "Species;Label;Aim;Vigour;Last repot\nblack pine;Twins;refinement;5;2013-04-01\n\nmaple;Eight;trunk;4;\n".replace(
            "maple", "Acer palmatum"
        ),
        encoding="utf-8",
    )
    assert garden("tree", "import", "more.csv").out == "Added: Twins and Eight.\n"
    assert (
        garden("tree", "add", "Ficus microcarpa", "--label", "盆栽 🌳", "--cultivar", "Tiger bark").status
        == 0
    )
    garden("spot", "add", "shed", "--profile", "heated")
    change = garden("tree", "change", "Twins, Eight", "--spot", "shed", "--vigour", "3")
    assert change.out == "Changed: Twins and Eight.\n"
    listed = garden("tree", "list").out.splitlines()
    assert [line.split("  ")[0] for line in listed] == [
        "Eight", "Japanese black pine 1", "Japanese maple 1", "Japanese maple 2", "Satsuki azalea 1",
        "Tropical fig 1", "Twins", "盆栽 🌳",
    ]  # fmt: skip
    assert re.split(r"  +", listed[6]) == [
        "Twins", "Japanese black pine", "refinement", "vigour 3", "medium", "shed", "no pot named",
    ]  # fmt: skip
    shown = garden("tree", "show", "twins").out
    assert "2013-04-01  Repotted" in shown
    assert "Fertilize" in shown


@pytest.mark.parametrize(
    ("typed", "labels"),
    [
        ("japanese MAPLE 1", "Japanese maple 1"),
        ("japanese maples", "Japanese maple 1 and Japanese maple 2"),
        ("black pine, Japanese maple 2", "Japanese black pine 1 and Japanese maple 2"),
        ("Acer palmatum", "Japanese maple 1 and Japanese maple 2"),
    ],
)
def test_trees_are_named_by_label_or_kind(garden: Program, typed: str, labels: str) -> None:
    said = garden("log", typed, "wire", "2015-06-01").out
    assert said.startswith(f"Wired: {labels}, 1 June. Entry ")


def test_a_label_goes_before_what_else_it_may_mean(garden: Program) -> None:
    """No tree is called so any more, but one may have been before."""
    for label in ("Japanese maple", "a, b"):
        with closing(sqlite3.connect("garden.db")) as connection, connection:
            named = "UPDATE tree SET label = ?, label_key = ? WHERE species = 'pinus-thunbergii'"
            connection.execute(named, (label, label.lower()))
        assert f": {label}, 24 June." in garden("log", label, "wired").out


def test_work_that_is_written_down_counts_and_a_void_takes_it_back(garden: Program) -> None:
    assert "cut back" in planned(garden, "Japanese maple 1")
    before = garden("plan", "--all").out
    said = garden("log", "Japanese maple 1", "repotted", "2015-06-20", "--note", "roots were tight").out
    entry = said.rpartition("Entry ")[2].strip(".\n")
    listed = garden("log", "Japanese maple 1").out
    assert f"{entry}  2015-06-20  Japanese maple 1: Repotted (roots were tight)" in listed
    assert garden("plan", "--all").out != before
    assert garden("log", "--void", entry).out == "Void: Repotted (roots were tight), 20 June.\n"
    assert entry not in garden("log").out
    assert garden("plan", "--all").out == before
    assert garden("log", "--void", entry).status == 2


def test_a_stage_that_was_seen_is_learned_from(garden: Program) -> None:
    def breaks() -> dict[str, Any]:
        stages = json.loads(garden("stages", "Japanese maple 1", "--json").out)["Japanese maple 1"]
        return {str(s["cycle"]): s for s in stages if s["stage"] == "bud_break"}

    garden("weather", "import", SEATTLE_DAYS)  # what the spring was like is needed to learn from it
    before = breaks()
    said = garden("seen", "Japanese maple 1", "Bud break", "2015-03-12")
    assert said.out == "Seen: bud break of Japanese maple 1, 12 March.\n"
    after = breaks()
    assert after["2015"]["seen"]
    assert set(after["2015"]["range"].values()) == {"2015-03-12"}
    assert after["2016"]["range"]["likely"] < before["2016"]["range"]["likely"]
    assert garden("seen", "Japanese maple 2", "closed", "2015-03-01").out.startswith("Not yet: bud break of")


def test_an_odd_day_is_taken_only_when_confirmed(garden: Program) -> None:
    odd = ("seen", "Japanese maple 1", "bud break", "2015-06-20")
    assert garden(*odd).status == 2
    assert garden(*odd, "--yes").status == 0


def test_a_wish_enters_the_plan(garden: Program) -> None:
    assert planned(garden, "Japanese maple 1")["air layer"]["status"] == "possible"
    assert garden("wish", "Japanese maple 1", "air layer").status == 0
    assert planned(garden, "Japanese maple 1")["air layer"]["status"] == "wished"
    assert planned(garden, "Japanese maple 2")["air layer"]["status"] == "possible"


def test_an_answer_is_a_verb_of_the_operation(garden: Program) -> None:
    item = names(garden("plan", "--long").out)[f"Cut back: {MAPLES}"]
    assert garden("answer", item, "In a week").out == "Put off until 1 July: cut back.\n"
    assert f"Cut back: {MAPLES}" not in names(garden("plan", "--long").out.partition("Opening within")[0])
    item = names(garden("plan", "--long").out)[f"Structural pruning: {MAPLES}"]
    assert garden("answer", item, "Pruned").out == f"Pruned: {MAPLES}.\n"
    assert f"2015-06-24  {MAPLES}: Structural pruning" in garden("log").out


def test_a_wish_after_work_of_the_same_cycle_gets_the_window_to_come(
    leafclock: Program, garden: Program
) -> None:
    """Wired after leaf fall; in May the grower asks for more, and June has a window of the same cycle."""
    label, day = "Japanese maple 1", ("--today", "2015-05-10")
    assert leafclock("log", label, "wire", "--on", "2014-12-05", *day).status == 0
    before = leafclock("why", label, "wire", *day).out
    assert "cycle of 2015\n  Not planned." in before
    assert leafclock("wish", label, "wire", *day).out == f"Wished: wire for {label}.\n"
    wired = [
        i
        for i in json.loads(leafclock("tree", "show", label, "--json", *day).out)[0]["items"]
        if i["operation"] == "wire"
    ]
    (wished,) = [item for item in wired if item["status"] == "wished"]
    assert wished["cycle"] == 2015
    assert "2015-05-10" < wished["opens"]["likely"] < "2015-07-01"


def test_a_wish_after_not_this_year_brings_the_work_back_and_in_a_week_does(garden: Program) -> None:
    item = names(garden("plan", "--long").out)[f"Cut back: {MAPLES}"]
    assert garden("answer", item, "not this year").status == 0
    assert f"Cut back: {MAPLES}" not in names(garden("plan", "--long").out)
    assert garden("wish", "Japanese maples", "cut back").status == 0
    assert f"Cut back: {MAPLES}" in names(garden("plan", "--long").out)
    assert garden("answer", item, "not this year").status == 0
    assert f"Cut back: {MAPLES}" not in names(garden("plan", "--long").out)


def test_why_and_why_not(garden: Program) -> None:
    item = names(garden("plan", "--long").out)[f"Cut back: {MAPLES}"]
    asked = garden("why", item).out
    assert "Cut back, Japanese maple 1, cycle of 2015" in asked
    assert "leaves hardened" in asked
    assert "Rests on" in asked
    not_planned = garden("why", "black pine", "decandling").out
    assert "Not planned." in not_planned
    assert "vigour" in not_planned.lower()  # 3, and 4 is needed


def test_stages_and_the_season_chart(garden: Program) -> None:
    said = garden("stages")
    assert "Now: " in said.out
    assert "8 times in 10" in said.out
    assert garden("stages", "--chart", "season.svg").out == "Season chart written: season.svg\n"
    assert Path("season.svg").read_text(encoding="utf-8").startswith("<?xml")
    assert json.loads(garden("stages", "fig", "--chart", "fig.PNG", "--json").out).keys() == {
        "Tropical fig 1"
    }
    assert Path("fig.PNG").read_bytes().startswith(b"\x89PNG\r\n\x1a\n")


def test_a_calendar_written_twice_is_the_same_to_the_byte(garden: Program) -> None:
    first = garden("calendar", "one.ics", "--kind", "windows")
    again = garden("calendar", "deep/down/two.ics", "--kind", "windows")
    assert "nothing changed" in again.out
    assert first.status == again.status == 0
    data = Path("one.ics").read_bytes()
    assert data == Path("deep/down/two.ics").read_bytes()
    assert len(icalendar.Calendar.from_ical(data).events) > 10
    assert sorted(path.name for path in Path().iterdir()) == ["deep", "garden.db", "one.ics"]


def test_an_answered_item_leaves_the_calendar(garden: Program) -> None:
    def summaries() -> list[str]:
        garden("calendar", "bench.ics", "--kind", "windows")
        calendar = icalendar.Calendar.from_ical(Path("bench.ics").read_bytes())
        return [str(event.summary) for event in calendar.events if event.start.year == 2015]

    works = f"Structural pruning: {MAPLES}", f"Cut back: {MAPLES}"
    plan, before = names(garden("plan", "--long").out), summaries()
    assert set(works) <= set(before)
    for work, verb in zip(works, ("pruned", "not this year"), strict=True):
        assert garden("answer", plan[work], verb).status == 0
    after = summaries()
    assert set(before) - set(after) == set(works)
    assert "Look at the cut paste: Japanese maple 1 and Japanese maple 2" in set(after) - set(before)


def fertilizing(leafclock: Program, day: str) -> str:
    """When the calendar of a day has the maple fertilized from."""
    assert leafclock("calendar", "bench.ics", "--kind", "windows", "--today", day).status == 0
    calendar = icalendar.Calendar.from_ical(Path("bench.ics").read_bytes())
    found = [e.start for e in calendar.events if e.summary == "Fertilize: Japanese maple 1"]
    return str(min(found))


@pytest.fixture
def one_maple(leafclock: Program) -> Program:
    """Give the program with a garden of one maple, told of on 20 May."""
    start = ("start", "--place", "Seattle", "--today", "2015-05-10", "--trees", "Japanese maple")
    assert leafclock(*start).status == 0
    assert fertilizing(leafclock, "2015-05-20") < "2015-04-20"
    return leafclock


def test_the_calendar_opens_fertilizing_after_the_wait_that_follows_a_repotting(one_maple: Program) -> None:
    """Four weeks, as the program tells the grower; the one tree's event had opened long ago."""
    assert one_maple("log", "Japanese maple 1", "repot", "--today", "2015-05-21").status == 0
    assert "Nothing before 18 June" in one_maple("fertilize", "--today", "2015-05-21").out
    for day in ("2015-05-21", "2015-05-27", "2015-06-10"):
        assert fertilizing(one_maple, day) == "2015-06-18"


def test_in_a_week_opens_the_event_in_a_week(one_maple: Program) -> None:
    plan = one_maple("plan", "--long", "--today", "2015-06-01").out
    item = names(plan)["Fertilize: Japanese maple 1"]
    assert one_maple("answer", item, "in a week", "--today", "2015-06-01").out.startswith(
        "Put off until 8 June"
    )
    for day in ("2015-06-01", "2015-06-02", "2015-06-07"):
        assert fertilizing(one_maple, day) == "2015-06-08"


@pytest.mark.usefixtures("garden")
def test_an_event_of_which_one_tree_is_done_and_the_other_too_late_is_not_called_off(
    leafclock: Program,
) -> None:
    """What was told ended later than the window does: it ends as it was told."""
    day = ("--today", DAY)
    assert leafclock("calendar", "bench.ics", "--kind", "windows", *day).status == 0
    assert leafclock("log", "Japanese maple 1", "structural prune", *day).status == 0
    session = open_session("garden.db", None, date.fromisoformat(DAY))
    with session.store.begin() as connection:
        events = published.load(connection, session.garden.id)
        (told,) = [e for e in events if e.summary == f"Structural pruning: {MAPLES}" and e.cycle == 2015]
        published.save(connection, session.garden.id, [replace(told, end=date(2015, 9, 5))])
    late = ("--today", "2015-08-25")
    assert leafclock("seen", "Japanese maple 2", "growth stop", "2015-08-18", "--yes", *late).status == 0
    assert leafclock("calendar", "bench.ics", "--kind", "windows", *late).status == 0
    with session.store.read() as connection:
        after = {event.uid: event for event in published.load(connection, session.garden.id)}
    assert (after[told.uid].status, after[told.uid].end) == (told.status, date(2015, 9, 5))


def test_another_day_gives_another_plan(garden: Program, leafclock: Program) -> None:
    autumn = leafclock("plan", "--long", "--today", "2015-10-20").out
    assert "Tuesday, 20 October 2015" in autumn
    assert names(autumn).keys() != names(garden("plan", "--long").out).keys()


def test_measured_weather_changes_what_a_plan_rests_on(garden: Program) -> None:
    normals = garden("plan").out
    said = garden("weather", "import", SEATTLE_DAYS, "--credit", "NOAA")
    assert said.out == "In: 1461 days, from 2012-01-01 to 2015-12-31.\n"  # as many as four years have
    measured = garden("plan").out
    assert "not known yet" in normals
    assert "not known yet" not in measured
    assert "Weather: NOAA." in measured
    status = garden("weather", "status").out
    assert (
        f"seattle-weather: 1271 days from 2012-01-01 to {DAY}." in status
    )  # what is measured later is not seen


def test_leaves_that_were_taken_hold_every_further_cut_on_every_screen(garden: Program) -> None:
    """New leaves come after three to four weeks and are hard five to seven later (common practice)."""
    garden("tree", "change", "Japanese maple 1", "--aim", "structure", "--vigour", "4")
    before = planned(garden, "Japanese maple 1")
    assert {before[work]["opens"]["likely"] <= DAY for work in ("cut back", "structural prune")} == {True}
    garden("log", "Japanese maple 1", "partial defoliation", "--share", "60%")
    waits = "Waits eight weeks after partial defoliation on 24 June, until new leaves are back and hard."
    for work in ("cut back", "structural prune"):
        assert planned(garden, "Japanese maple 1")[work]["opens"]["likely"] == "2015-08-19"
        tree = ("Japanese maple 1", work)
        for words in (("why", *tree), ("before", *tree), ("what-if", "--tree", tree[0], "--do", work)):
            assert waits in " ".join(garden(*words).out.split()), words
    mine = before["cut back"]["tree_id"]
    due = [one for group in json.loads(garden("due", "--json").out) for one in group["items"]]
    assert not {"cut back", "structural prune"} & {one["operation"] for one in due if one["tree_id"] == mine}
    assert waits in " ".join(garden("log", "Japanese maple 1", "structural prune").out.split())


@pytest.mark.usefixtures("garden")
def test_what_is_lost_by_work_that_comes_too_late_is_told() -> None:
    """Satsuki set next year's flowers in summer: pruned later than four to six weeks after bloom, they lose them."""
    assert run("tree", "add", "satsuki azalea", "--label", "Azalea 9", "--today", "2015-01-10").status == 0
    work = "prune after bloom"
    for day in ("2015-10-20", "2015-12-10"):
        later = ("--today", day)
        for asked in (
            ("before", "Azalea 9", work, *later),
            ("why", "Azalea 9", work, *later),
            ("what-if", "--tree", "Azalea 9", "--do", work, *later),
        ):
            assert "it takes next year's flower buds" in " ".join(run(*asked).out.split()), asked
    for early in ("2015-03-20", "2015-05-20"):
        assert "flower buds with" not in run("before", "Azalea 9", work, "--today", early).out


@pytest.mark.usefixtures("garden")
def test_due_says_what_decandling_wants() -> None:
    """Only strong and well fed pines are decandled (B. Manakitivipart, June 2010): told while there is time."""
    new = ("tree", "add", "Japanese black pine", "--label", "Pine", "--aim", "ramification", "--vigour", "4")
    assert run(*new, "--today", "2015-01-10").status == 0
    may = ("--today", "2015-05-10")
    told = " ".join(run("due", *may).out.split())
    assert re.search(r"not fertilized since \d+ March, to be decandled about \d+ June", told)
    assert run("log", "Pine", "feeding", "2015-05-01", *may).status == 0
    assert "not fertilized" not in run("due", *may).out


@pytest.mark.parametrize("day", ["2015-01-20", "2015-03-05", "2015-03-14", "2015-07-10", "2015-12-20"])
def test_every_tree_has_a_stage_it_is_in(leafclock: Program, day: str) -> None:
    trees = ("--trees", "larch; black pine; tropical fig; camellia; jade")
    assert leafclock("start", "--offline", "--place", "Nagano", *trees, "--today", day).status == 0
    said = leafclock("stages", "--today", day).out
    assert said.count("\n  Now: ") == 5
