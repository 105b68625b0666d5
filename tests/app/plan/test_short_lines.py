"""What ``plan``, ``due`` and ``rota`` print on a terminal of 80 columns: two lines an item at most, with what decides it."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest

from calendar_core.app.shell import output
from tests.app.conftest import run

pytestmark = pytest.mark.slow

COLUMNS = 80
GENERIC = ("goes through it each year", "Part of each year's work")
DEMO_DAYS = ("2015-01-20", "2015-03-05", "2015-04-25", "2015-06-24", "2015-08-20", "2015-11-15")
TREES = "2 Japanese maple; trident maple small; black pine; satsuki; shimpaku; fig; jade"  # invented


@pytest.fixture(autouse=True)
def terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """Print as on a terminal of 80 columns."""
    monkeypatch.setattr(output, "WIDEST", COLUMNS)


@pytest.fixture(scope="module")
def founded_in(tmp_path_factory: pytest.TempPathFactory, midsummer: Path) -> dict[str, Path]:
    """Give the databases of the demo and of gardens in Melbourne and with a warm room in Nagano."""
    folder, found = tmp_path_factory.mktemp("gardens"), {"demo": midsummer}
    for place in ("Melbourne", "Nagano"):
        found[place] = folder / f"{place}.db"
        where = ("--db", str(found[place]))
        start = ("start", *where, "--place", place, "--today", "2026-04-01", "--trees", TREES)
        assert run(*start).status == 0
    assert run("spot", "add", "room", "--profile", "heated", "--db", str(found["Nagano"])).status == 0
    return found


CASES = [
    *(("demo", day) for day in DEMO_DAYS),
    *(
        (place, day)
        for place in ("Melbourne", "Nagano")
        for day in ("2026-06-20", "2026-10-20", "2027-01-15")
    ),
]


@pytest.fixture(params=CASES, ids=" ".join)
def here(request: pytest.FixtureRequest, founded_in: dict[str, Path], folder: Path) -> tuple[str, ...]:
    """Give the options of a garden on a day."""
    garden, day = request.param
    shutil.copy(founded_in[garden], folder / "garden.db")
    return ("--db", "garden.db", "--today", day)


def page(*words: str) -> str:
    said = run(*words)
    assert (said.status, said.err) == (0, ""), said.err
    return said.out


def items(out: str, below: int = 10) -> list[list[str]]:
    """The lines of each item: one that is set in by two signs, and those below it that are set in further."""
    found: list[list[str]] = []
    for line in out.splitlines():
        if re.match(r"  \S", line):
            found.append([line])
        elif found and line.startswith(" " * below):
            found[-1].append(line)
    return found


def names(out: str) -> list[str]:
    """The names by which the items of a page are answered."""
    return re.findall(r"^  ([0-9a-f]{6})  ", out, re.MULTILINE)


def test_an_item_has_two_lines_and_a_fact(here: tuple[str, ...]) -> None:
    for words in (("plan", "--weeks", "20"), ("plan", "--all"), ("due", "--days", "30")):
        out = page(*words, *here)
        assert max(map(len, out.splitlines())) <= COLUMNS
        assert "…" not in out
        told = items(out)
        assert told
        for lines in told:
            assert len(lines) <= 2, lines
            assert ";" in lines[0] or len(lines) == 2, lines  # its work alone decides nothing


def test_a_line_of_the_rota_has_two_lines(here: tuple[str, ...]) -> None:
    out = page("rota", *here)
    assert max(map(len, out.splitlines())) <= COLUMNS
    assert "…" not in out
    for lines in items(out, below=4):
        assert len(lines) <= 2, lines
    told = [" ".join(lines) for lines in items(out, below=4)]
    named = [text for text in told if re.search(r"\[[0-9a-f]{6}\]", text)]
    with_a_fact = [text for text in named if not text.endswith("]")]
    assert len(with_a_fact) >= len(named) / 2


def test_no_screen_tells_what_is_true_of_every_tree_of_a_kind(here: tuple[str, ...]) -> None:
    tree = json.loads(page("tree", "list", "--json", *here))[0]["tree"]["label"]
    due = json.loads(page("due", "--days", "60", "--json", *here))
    long = [
        ("plan", "--long", "--all"), ("rota",), ("fertilize",), ("tree", "show", tree), ("repotting",),
        ("review", "plan"), ("review", "next"), ("before", tree, "repot"), ("what-if", "--tree", tree, "--do", "repot"),
        *(("why", line["name"]) for line in due[::3]),
    ]  # fmt: skip
    for words in long:
        assert GENERIC[0] not in run(*words, *here).out, words
    for words in (("plan", "--all"), ("due", "--days", "30"), ("rota",)):
        assert not any(text in page(*words, *here) for text in GENERIC), words
    assert run("calendar", "bench.ics", "--many", *here).status == 0
    unfolded = Path("bench.ics").read_text(encoding="utf-8").replace("\n ", "").replace("\r", "")
    assert GENERIC[0] not in unfolded


def test_why_tells_what_opens_and_closes_what_has_no_other_claim(founded_in: dict[str, Path]) -> None:
    said = " ".join(
        page("why", "Maple 1", "pest look", "--db", str(founded_in["demo"]), "--today", "2015-06-24").split()
    )
    assert "- Opens with the time when days average 10 °C in a usual year (likely 6 April)." in said
    assert "- Closes with the time when days average 18 °C in a usual year." in said


def test_the_plan_goes_by_months_and_says_how_to_see_more(founded_in: dict[str, Path]) -> None:
    here = ("--db", str(founded_in["demo"]), "--today", "2015-11-15")
    short = page("plan", "--weeks", "20", *here).splitlines()
    months = "Late", "Open now", "December", "January 2016", "February 2016", "March 2016"
    assert [line for line in short if line in months] == [*months]
    assert short[-1] == "More of each: leafclock plan --long; of one: leafclock why NAME"
    assert "Take care" not in short
    long = page("plan", "--long", *here).splitlines()
    assert {"Open now", "Opening within six weeks", "Take care"} <= set(long)


def test_each_line_of_the_plan_is_answered_by_its_name(founded_in: dict[str, Path]) -> None:
    here = ("--db", str(founded_in["demo"]), "--today", "2015-06-24")
    short, long = page("plan", *here), page("plan", "--long", *here)
    assert sorted(names(short)) == sorted(re.findall(r"\[([0-9a-f]{6})\]", long))


def test_the_demo_tells_the_facts_of_its_trees(founded_in: dict[str, Path]) -> None:
    """One of each kind, as a grower would give it."""
    due = page("due", "--db", str(founded_in["demo"]), "--today", "2015-06-24")
    told = {" ".join(" ".join(lines).split()[1:]) for lines in items(due)}
    for words in (
        "since 16 Jun Put up shade: Maple 4; days above 30 °C",
        "by 24 Jun Decandling: Pine 1 large trees first, candles firm about 12 July",
        "by 28 Jun Repot: Satsuki 2 last repotted on 22 June 2013, every two years",
        "by 13 Aug Partial defoliation: Maple 3 four weeks to leaf out before growth stop on 18 September",
        "by 30 Jun Look at the wire: Maple 4; wired on 14 June",
    ):
        assert words in told


def test_who_gets_no_fertilizer_is_told_on_its_line(founded_in: dict[str, Path], folder: Path) -> None:
    """A repotted tree waits (Boon, April 2011), though those beside it get some."""
    shutil.copy(founded_in["demo"], folder / "garden.db")
    here = ("--db", "garden.db", "--today", "2015-06-24")
    assert run("log", "Maple 3", "repot", "2015-06-20", *here).status == 0
    for words in (("plan",), ("due", "--days", "40")):
        (line,) = [
            " ".join(" ".join(lines).split())
            for lines in items(page(*words, *here))
            if re.search("Fertilize in growth: Maple 3", lines[0])
        ]
        assert "four weeks after it was repotted on 20 June" in line


def test_a_long_heading_is_wrapped_as_all_else_is(capsys: pytest.CaptureFixture[str]) -> None:
    told = "Changed: Danger from cold pots, frost and hail, Tuesday 12:00 to Wednesday 12:00: Satsuki 1 and 5 more"
    output.heading(told)
    blank, *lines = capsys.readouterr().out.splitlines()
    assert not blank
    assert max(map(len, lines)) <= COLUMNS
    assert " ".join(line.strip() for line in lines) == told
