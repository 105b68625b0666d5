"""The first screen: at most 24 lines of 80 columns for any garden (VT100 and its kind), and all that matters on it.

The gardens are made up, the weather under the demo's is that of Seattle.
"""

from __future__ import annotations

import json
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import pytest

from alerts.outbox.channels import list_channels, note_failure
from calendar_core.app.shell.clock import clock
from calendar_core.app.shell.session import Session, open_session
from calendar_core.app.work.commands.today import screen_lines
from calendar_core.app.work.first_screen import first_screen
from calendar_core.storage import gardens
from calendar_core.storage.engine import open_store
from tests.app.calendar.lived import ZONE, founded
from tests.app.conftest import DAY, run
from tests.app.stored_bench import keep, opened
from tests.planning.made_up import bench_on_series, invented_series

if TYPE_CHECKING:
    from pathlib import Path

    from tests.app.conftest import Program

LINES, COLUMNS = 24, 80


def fits(text: str) -> list[str]:
    lines = text.rstrip("\n").splitlines()
    assert len(lines) <= LINES, lines
    assert max(map(len, lines)) <= COLUMNS, max(lines, key=len)
    return lines


@pytest.mark.parametrize(
    "day", ["2014-01-10", "2014-03-20", "2014-05-20", "2014-08-10", "2014-11-05", "2015-06-25"]
)
def test_it_fits_a_terminal_on_any_day(leafclock: Program, day: str) -> None:
    assert leafclock("demo", "--out", "demo", "--today", day).status == 0
    lines = fits(leafclock("today", "--db", "demo/garden.db", "--today", day).out)
    assert lines[0].startswith("Harbour Lane bench")
    assert lines[1].startswith("Sun ")


@pytest.mark.slow
@pytest.mark.parametrize("n_trees", [60, 300])
def test_it_fits_a_terminal_for_a_large_garden(tmp_path: Path, n_trees: int) -> None:
    day = date(2014, 4, 12)
    store, garden, _ = founded(tmp_path / "garden.db", n_trees, day)
    session = Session(store, garden, clock(ZONE, day))
    lines = fits("\n".join(screen_lines(session, first_screen(session))))
    assert len(lines) > 12  # there is work on several days, whatever ids the trees were given
    store.close()


@pytest.mark.parametrize(
    ("latitude", "mean_c", "swing_c", "species"),
    [
        (69.6, 3.0, 12.0, "larix-kaempferi"),
        (60.2, 6.0, 12.0, "acer-palmatum"),
        (-35.3, 13.0, 8.0, "acer-palmatum"),
        (0.0, 27.0, 1.0, "ficus-microcarpa"),
    ],
)
@pytest.mark.parametrize("day", [date(2015, 1, 10), date(2015, 7, 10)])
def test_it_is_there_in_every_climate(
    tmp_path: Path, latitude: float, mean_c: float, swing_c: float, species: str, day: date
) -> None:
    """The weather is made up."""
    years = date(1999, 1, 1), date(2016, 12, 31)
    series = invented_series(*years, mean_c=mean_c, swing_c=swing_c, noise_c=3.0, south=latitude < 0)
    bench = bench_on_series(series, latitude, day)
    bench.tree("one", species, date(2013, 1, 1))
    keep(bench, tmp_path / "garden.db", "A bench")
    session = opened(bench, tmp_path / "garden.db", day)
    assert len(fits("\n".join(screen_lines(session, first_screen(session))))) >= 4


def test_since_when_work_is_late_is_told_before_how_long_it_takes(leafclock: Program) -> None:
    """The line has no room for both; without it nothing would tell what `due` calls late."""
    assert leafclock("demo", "--out", "demo", "--today", "2015-03-20").status == 0
    asked = ("--db", "demo/garden.db", "--today", "2015-03-20")
    late = leafclock("due", *asked).out.partition("Late")[2].partition("Last days")[0]
    names = [line.split()[0] for line in late.splitlines() if line[2:8].isalnum() and line.startswith("  ")]
    assert len(names) > 1
    shown = leafclock("today", *asked).out.splitlines()
    assert [name for name in names if not any(name in line and "late since" in line for line in shown)] == []


def test_long_names_are_cut_at_a_word(leafclock: Program) -> None:
    long = "The very old maple that came from the hills behind the house of my grandmother in the north"
    assert leafclock("start", "--place", "Seattle", "--trees", "", "--today", DAY).status == 0
    assert leafclock("tree", "add", f"Japanese maple '{long}'", "--today", DAY).status in (0, 2)
    fits(leafclock("today", "--today", DAY).out)


def test_without_a_command_it_is_told_where_there_is_a_garden(garden: Program) -> None:
    asked = garden("today").out
    assert run("--today", DAY).out == asked
    assert run("--db", "garden.db", "--today", DAY).out == asked
    assert "Commands:" in run("--help").out


def test_without_a_garden_the_commands_are_told(leafclock: Program) -> None:
    said = leafclock()
    assert "start" in said.out + said.err
    assert "Traceback" not in said.err


def test_a_garden_without_trees_is_told_how_to_begin(leafclock: Program) -> None:
    assert leafclock("start", "--place", "Seattle", "--trees", "", "--today", DAY).status == 0
    assert "tree add" in leafclock("today", "--today", DAY).out


def test_its_names_can_be_answered_and_what_is_answered_leaves_it(garden: Program) -> None:
    before = json.loads(garden("today", "--json").out)
    line = before["days"][0]["work"][0]
    assert line["item"] in garden("today").out
    assert garden("answer", line["item"], "not this year").status == 0
    after = json.loads(garden("today", "--json").out)
    assert line["item"] not in {work["item"] for day in after["days"] for work in day["work"]}


def test_all_that_is_open_is_on_a_day_late_or_counted(garden: Program) -> None:
    screen = json.loads(garden("today", "--json").out)
    due = json.loads(garden("due", "--days", "0", "--json").out)
    session = open_session("garden.db", None, date.fromisoformat(DAY))
    by_name = {line["name"]: {item["tree_id"] for item in line["items"]} for line in due}
    shown = {
        tree for day in screen["days"] for line in (*day["work"], *day["ends"]) for tree in line["tree_ids"]
    }
    named = {*screen["late"], *screen["more"]}
    assert named <= by_name.keys()
    for name, trees in by_name.items():
        assert name in named or trees <= shown
    assert session.trees


def test_bad_input_is_one_line(leafclock: Program) -> None:
    said = leafclock("today", "--db", "nowhere.db")
    assert (said.status, said.out) == (2, "")
    assert len(said.err.splitlines()) == 1


@pytest.mark.parametrize(("hours", "told"), [(2, False), (4, True)])
def test_that_warnings_do_not_reach_somebody_is_told_with_the_command_that_helps(
    leafclock: Program, hours: int, told: bool
) -> None:
    """At noon of the day; the reason is longer than the line."""
    day = "2015-06-25"
    assert leafclock("demo", "--out", "demo", "--today", day).status == 0
    answer = leafclock("channel", "add", "mail", "ines@leafclock.example", "--db", "demo/garden.db")
    name = answer.out.removeprefix("Channel added: ")[:6]
    noon = datetime(2015, 6, 25, 19, tzinfo=UTC)
    with closing(open_store("demo/garden.db")) as store, store.begin() as connection:
        (channel,) = list_channels(connection, gardens.get_garden(connection).id)
        since = noon - timedelta(hours=hours)
        note_failure(connection, channel.id, "451 come later " * 9, since, refused=False)
    lines = fits(leafclock("today", "--db", "demo/garden.db", "--today", day).out)
    line = "Warnings have not reached ines@leafclock.example since 8:00: 451 come later"
    assert any(text.startswith(line) and text.endswith(" ...") for text in lines) is told
    assert (f"  leafclock channel test {name}" in lines) is told
    data = json.loads(leafclock("today", "--json", "--db", "demo/garden.db", "--today", day).out)
    assert data["cut_off"] == ([name] if told else [])
