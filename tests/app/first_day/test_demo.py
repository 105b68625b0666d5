"""The demo, and the line at its end that starts one's own garden."""

from __future__ import annotations

import shlex
from datetime import date
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
    from tests.app.conftest import Answer, Program


@pytest.mark.slow
def test_it_says_what_it_wrote(shown: tuple[Answer, Path]) -> None:
    answer, out = shown
    assert (answer.status, answer.err) == (0, "")
    assert {path.name for path in out.iterdir()} == {
        "bench.ics",
        "garden.db",
        "garden.png",
        "garden.svg",
        "review.html",
        "season.png",
        "season.svg",
    }
    assert answer.out.count("bench.ics") == answer.out.count("season.svg") == 1
    assert answer.out.count("review.html") == 1
    sheet = (out / "review.html").read_text(encoding="utf-8")
    assert "2015" in sheet
    assert all(f">{label}<" in sheet for label in ("Maple 1", "Cutleaf", "Fig 2", "Pine 4", "Satsuki 2"))
    calendar = icalendar.Calendar.from_ical((out / "bench.ics").read_bytes())
    assert len(calendar.events) > 20
    for name in ("season.png", "garden.png"):
        assert (out / name).read_bytes().startswith(b"\x89PNG\r\n\x1a\n")  # signature of the PNG standard


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


def test_its_hint_at_more_can_be_run(shown: tuple[Answer, Path], leafclock: Program) -> None:
    text = " ".join(shown[0].out.split())
    hint = text.partition("Look further: ")[2].partition(" Your own garden:")[0]
    answer = leafclock(*shlex.split(hint)[1:])
    assert answer.status == 0
    assert "Decandling, Pine 2" in answer.out


@pytest.mark.slow
def test_another_day_gives_another_plan(shown: tuple[Answer, Path], leafclock: Program) -> None:
    spring = leafclock("demo", "--today", "2014-03-10")
    assert spring.status == 0
    assert spring.out.startswith("Harbour Lane bench, Seattle, Washington. Monday, 10 March 2014\n")
    assert spring.out.partition("Open now")[2] != shown[0].out.partition("Open now")[2]
    starts = [
        event.start
        for event in icalendar.Calendar.from_ical(Path("leafclock-demo/bench.ics").read_bytes()).events
    ]
    assert min(starts) < date(2014, 6, 1)


def test_a_day_without_weather_is_refused(leafclock: Program, folder: Path) -> None:
    answer = leafclock("demo", "--today", "1999-06-24")
    assert (answer.status, answer.out, len(answer.err.splitlines())) == (2, "", 1)
    assert not list(folder.iterdir())


def test_the_plan_tells_each_tree_of_a_line_its_own_window(shown: tuple[Answer, Path]) -> None:
    """Cutleaf was seen in bud break on 17 March 2015 (demo/garden.toml), Maple 4 was not."""
    told = shown[0].out.split("  Fertilize: Cutleaf and Maple 4")[1].split("\n\n")[0]
    assert "\n    Cutleaf: Open since about 17 March;" in told
    assert "\n    Cutleaf: Opens with bud break (likely 17 March)." in told
    assert "\n    Maple 4: Open since about 26 March" in told
