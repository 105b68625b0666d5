"""The demo: one page of what the commands tell of its garden, what it writes, and the line that starts one's own."""

from __future__ import annotations

import json
import re
import shlex
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import icalendar
import numpy as np
import pytest
from PIL import Image

from calendar_core.knowledge.profiles.bundled import folder as bundled
from tests.app.conftest import DAY
from tests.app.first_day.test_start import assert_first_plan

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tests.app.conftest import Answer, Program

LINES, COLUMNS = 60, 80
CALENDAR, WARNED, NOT_WARNED = "On the phone's calendar", "What is warned of", "no warning is raised"
EXPLAINED = re.compile(r"One item (?:of (\w+ \d+ \w+) )?explained: (.+)")


def spaced(text: str) -> str:
    return " ".join(text.split())


def paragraphs(lines: Sequence[str], mark: str = "") -> list[str]:
    """Return wrapped lines as paragraphs: one begins as far left as the first line, and with a mark."""
    indent = len(lines[0]) - len(lines[0].lstrip())
    out = [lines[0].strip()]
    for line in lines[1:]:
        if line[indent] != " " and line[indent:].startswith(mark):
            out.append(line.strip())
        else:
            out[-1] += f" {line.strip()}"
    return out


def events_of(file: Path) -> list[tuple[date, str]]:
    """Return the events of whole days, in order."""
    found = icalendar.Calendar.from_ical(file.read_bytes()).events
    return sorted((e.start, str(e["SUMMARY"])) for e in found if not isinstance(e.start, datetime))


@pytest.mark.parametrize(
    "day",
    [
        "2015-06-25",
        *(
            pytest.param(day, marks=pytest.mark.slow)
            for day in ("2015-03-01", "2014-11-20", "2013-08-01", "2014-08-10", "2013-12-05", "2015-12-20")
        ),
    ],
)
def test_its_page_is_short_and_each_line_is_what_a_command_tells(leafclock: Program, day: str) -> None:
    here = ("--db", "demo/garden.db", "--today", day)
    page = leafclock("demo", "--out", "demo", "--today", day).out.splitlines()
    assert len(page) <= LINES
    assert max(map(len, page)) <= COLUMNS, max(page, key=len)
    screen = leafclock("today", *here).out.splitlines()
    assert page[: len(screen)] == screen
    calendar, explained, warned, written = sections(page[len(screen) :])
    assert_next_events(calendar, screen, date.fromisoformat(day))
    assert_explained(leafclock, explained, page[page.index("Look further:") + 1], here)
    assert_warned(leafclock, warned, screen, here)
    assert_written(leafclock, written, here)


def sections(lines: Sequence[str]) -> list[list[str]]:
    """Return what stands below the first screen: calendar, item, warning, what was written; empty what is not there."""
    found = [part.splitlines() for part in "\n".join(lines).strip("\n").split("\n\n")]
    return found if found[0][0].startswith(CALENDAR) else [[], *found]


def assert_next_events(lines: Sequence[str], screen: Sequence[str], today: date) -> None:
    """The events that follow the last day of the first screen, none left out, with the titles of the file."""
    events = events_of(Path("demo/bench.ics"))
    headed = [day for day, _ in events if f"{day:%A} {day.day} {day:%B}:" in " ".join(screen)]
    near = [today + timedelta(days=1)] if any(line.startswith("Tomorrow:") for line in screen) else []
    after = [event for event in events if event[0] > max([today, *near, *headed])]
    assert len(lines) - 1 == len(after) or len(lines) > 3 or not (lines or after)
    for line, (day, title) in zip(lines[1:], after, strict=False):
        told = re.fullmatch(r"  (\w+),? (\d+) (\w{3})\w?(?: \d+)?  +(.+)", line)
        assert told is not None, line
        assert told.groups()[:3] == (f"{day:%a}", str(day.day), f"{day:%b}")
        assert title.startswith(told[4].removesuffix(" ..."))


def assert_explained(leafclock: Program, lines: Sequence[str], command: str, here: tuple[str, ...]) -> None:
    """Title, window and reasons as the command it ends with tells them; it is put on the day that is named."""
    words = shlex.split(command)
    assert words[2:] == [words[2], *here] if words[1] == "why" else words[1:] == ["today", *here]
    found = EXPLAINED.fullmatch(lines[0])
    assert found is not None
    told = spaced(leafclock(*words[1:]).out)
    assert f"{found[2]}, cycle of " in told
    assert len(lines) > 3
    for paragraph in paragraphs(lines[1:], "- "):
        assert paragraph in told
    if found[1] is not None:
        data = json.loads(leafclock("rota", *here, "--json").out)
        on = next(day for day in data["days"] if f"{date.fromisoformat(day['day']):%A %-d %B}" == found[1])
        assert words[2] in {line["item"] for line in on["work"]}


def assert_warned(
    leafclock: Program, lines: Sequence[str], screen: Sequence[str], here: tuple[str, ...]
) -> None:
    """A warning as `warn` tells it, with what to do, where one holds; else that there is none."""
    warnings = json.loads(leafclock("warn", "--dry-run", *here, "--json").out)["warnings"]
    assert bool(warnings) == any(line.startswith("Warning: ") for line in screen)
    if not warnings:
        assert NOT_WARNED in lines[0]
        assert "No warning stands." in screen[1]
        return
    assert lines[0].startswith(WARNED)
    warning = next(some for some in warnings if some["subject"] == lines[1].strip())
    grave = [some for some in warnings if some["severity"] in ("Severe", "Extreme")]
    assert warning in (grave or warnings)
    told = spaced(leafclock("warn", "--dry-run", *here).out)
    parts = paragraphs(lines[2:])
    for part in parts:
        assert part in told
        assert part in spaced(warning["text"])
    assert any(re.match(r"By|Now|Water", part) for part in parts)


def assert_written(leafclock: Program, lines: Sequence[str], here: tuple[str, ...]) -> None:
    """Files that are there, as many events as the file has, and nothing that changes when it is written again."""
    told = spaced(" ".join(lines))
    names = set(re.findall(r"\w+\.(?:ics|svg|png|html|db)", told.partition("Look further:")[0]))
    assert {path.name for path in Path("demo").iterdir()} == names
    events = icalendar.Calendar.from_ical(Path("demo/bench.ics").read_bytes()).events
    assert f"bench.ics ({len(events)} events" in told
    before = Path("demo/bench.ics").read_bytes()
    again = leafclock("calendar", "demo/bench.ics", *here)
    assert " events; nothing changed." in spaced(again.out)
    assert Path("demo/bench.ics").read_bytes() == before


@pytest.mark.slow
def test_it_says_what_it_wrote(shown: tuple[Answer, Path]) -> None:
    answer, out = shown
    assert (answer.status, answer.err) == (0, "")
    assert {path.name for path in out.iterdir()} == {
        "bench.ics", "garden.db", "garden.svg", "review.html", "season.png", "season.svg",
    }  # fmt: skip
    for name in ("bench.ics", "season.svg", "review.html"):
        assert answer.out.count(name) == 1
    sheet = (out / "review.html").read_text(encoding="utf-8")
    assert "2015" in sheet
    assert all(f">{label}<" in sheet for label in ("Maple 1", "Cutleaf", "Fig 2", "Pine 4", "Satsuki 2"))
    assert len(events_of(out / "bench.ics")) > 10
    assert (out / "season.png").read_bytes().startswith(b"\x89PNG\r\n\x1a\n")  # signature of the PNG standard


def test_its_day_is_the_eve_of_a_hot_one_with_work_of_several_species(shown: tuple[Answer, Path]) -> None:
    """Seattle had 30.6 °C on 25 June 2015 and 31.7 °C on 26 June (demo/seattle-weather.csv)."""
    lines = shown[0].out.splitlines()
    assert lines[0].endswith("Thursday, 25 June 2015")
    assert lines[2].startswith("Warning: Look out for hot pots, Friday ")
    days = "\n".join(lines[: LINES // 2])
    assert all(name in days for name in ("Maple", "Pine", "Satsuki", "Fig"))
    assert (
        "110 days before growth stop" in shown[0].out
    )  # of decandling, which is due soon and has most to explain


@pytest.mark.slow
def test_it_draws_one_tree_for_a_phone_and_all_species_for_a_desk(shown: tuple[Answer, Path]) -> None:
    season, garden = ((shown[1] / name).read_text(encoding="utf-8") for name in ("season.svg", "garden.svg"))
    labels = ("Maple 1", "Cutleaf", "Fig 2", "Pine 1", "Pine 2", "Pine 4", "Satsuki 2")
    assert sum(f">{label}, " in season for label in labels) == 1
    assert ">Work<" in season
    kinds = ("Japanese maple", "Japanese black pine", "Tropical fig", "Satsuki azalea")
    assert all(f">{kind}<" in garden for kind in kinds)
    assert garden.count(">Work<") == 1


@pytest.mark.slow
def test_the_picture_in_the_readme_is_the_one_it_draws(shown: tuple[Answer, Path]) -> None:
    """If not: copy season.png from the demo's folder to demo/. Fonts of another release may differ by a shade."""
    kept, drawn = bundled("demo") / "season.png", shown[1] / "season.png"
    assert drawn.stat().st_size < 200_000
    old, new = (np.asarray(Image.open(path).convert("L"), dtype=float) for path in (kept, drawn))
    assert old.shape == new.shape
    assert np.abs(old - new).mean() < 1


@pytest.mark.slow
def test_its_last_line_starts_ones_own_garden(shown: tuple[Answer, Path], leafclock: Program) -> None:
    last = shown[0].out.splitlines()[-1]
    words = shlex.split(last)
    assert Path(words[0]).name == "leafclock"
    assert words[1] == "start"
    made = leafclock(*words[1:], "--today", DAY)
    assert made.status == 0
    assert_first_plan(made.out)


def test_a_day_without_weather_is_refused(leafclock: Program, folder: Path) -> None:
    answer = leafclock("demo", "--today", "1999-06-24")
    assert (answer.status, answer.out, len(answer.err.splitlines())) == (2, "", 1)
    assert not list(folder.iterdir())


def test_the_long_plan_tells_each_tree_of_a_line_its_own_window(midsummer: Path, leafclock: Program) -> None:
    """Cutleaf was seen in bud break on 17 March 2015 (demo/garden.toml), Maple 4 was not."""
    plan = leafclock("plan", "--long", "--db", str(midsummer), "--today", DAY).out
    told = plan.split("  Fertilize: Cutleaf and Maple 4")[1].split("\n\n")[0]
    assert "\n    Cutleaf: Open since about 17 March;" in told
    assert "\n    Cutleaf: Opens with bud break (likely 17 March)." in told
    assert "\n    Maple 4: Open since about 26 March" in told
