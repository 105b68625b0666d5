"""``review sheet``: the walk that was asked for, with every question of its trees once, or a refusal and no file."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta
from html import unescape
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from calendar_core.app.plan.walks import questions, review_plan
from calendar_core.app.shell.session import Session, open_session

if TYPE_CHECKING:
    from calendar_core.planning.review.walks import Walk
    from tests.app.conftest import Answer, Program

pytestmark = pytest.mark.slow

AUTUMN = "2015-09-18"  # the rounds of late summer are under way


@dataclass(frozen=True)
class Written:
    """A sheet that was written: its text without tags, and the keys of its trees by their labels."""

    text: str
    keys: dict[str, list[str]]


def written(file: str = "walk.html") -> Written:
    html = Path(file).read_text(encoding="utf-8")
    blocks = [block.split("</article>")[0] for block in html.split("<article")[1:]]
    keys = {_between(block, "h2")[0]: _between(block, "code") for block in blocks}
    return Written(unescape(re.sub(r"<[^>]*>", "", html)), keys)


def _between(html: str, tag: str) -> list[str]:
    return [unescape(found) for found in re.findall(rf"<{tag}>(.*?)</{tag}>", html)]


def autumn(leafclock: Program, *words: str) -> Answer:
    return leafclock("review", "sheet", *words, "--today", AUTUMN)


def asked_of(walk: Walk, session: Session) -> dict[str, list[str]]:
    return {stop.label: [question.key for question in questions(session, stop)] for stop in walk.stops}


@pytest.fixture
def session(garden: Program) -> Session:
    """Give the founded garden in autumn, with a wound that was measured the year before."""
    garden("part", "add", "Japanese maple 1", "wound", "low left", "--on", "2014-09-01")
    garden("measure", "Japanese maple 1", "low left", "width=12", "--on", "2014-09-19")
    return open_session("garden.db", None, date.fromisoformat(AUTUMN))


def test_the_next_walk_has_every_question_of_its_trees_once_in_their_order(
    session: Session, leafclock: Program
) -> None:
    answer = autumn(leafclock, "walk.html", "--paper", "letter")
    assert (answer.status, answer.err) == (0, "")
    first = review_plan(session).round.walks[0]
    sheet = written()
    assert sheet.keys == asked_of(first, session)
    assert all(set(Counter(keys).values()) == {1} for keys in sheet.keys.values())
    assert f"sheet: {session.garden.id.hex[:8]} {first.on}" in sheet.text
    assert session.garden.name in sheet.text
    assert re.search(r"size: letter;", sheet.text)


def test_a_day_and_weeks_choose_walks_and_a_wound_shows_what_it_was(
    session: Session, leafclock: Program
) -> None:
    every = review_plan(session).round.walks
    walks = [walk for walk in every if walk.on < session.today + timedelta(weeks=4)]
    assert len(walks) > 1
    answer = autumn(leafclock, "walk.html", "--weeks", "4")
    assert answer.out.startswith(f"walk.html: {len(walks)} walk")
    sheet = written()
    assert sheet.keys == {label: keys for walk in walks for label, keys in asked_of(walk, session).items()}
    assert "low left: open width of the wound" in sheet.text
    assert "last 12 mm on 19 September 2014" in sheet.text
    last = every[-1]
    autumn(leafclock, "walk.html", "--day", str(last.on))
    assert written().keys == asked_of(last, session)


def test_cautions_are_those_of_its_species_once(session: Session, leafclock: Program) -> None:
    autumn(leafclock, "walk.html", "--weeks", "10")
    text = Path("walk.html").read_text(encoding="utf-8")
    for walk in text.split("<section>")[1:]:
        assert walk.count("Wipe blades") == walk.count("A wet pot weighs") == 1
        assert walk.count("Pine resin") == ("<span>Japanese black pine</span>" in walk)
        assert walk.count("milky sap") == ("<span>Tropical fig</span>" in walk)


def test_an_address_stands_in_the_codes(session: Session, leafclock: Program) -> None:
    autumn(leafclock, "plain.html")
    autumn(leafclock, "walk.html", "--url", "https://bench.example")
    plain, addressed = (Path(name).read_text(encoding="utf-8") for name in ("plain.html", "walk.html"))
    assert plain != addressed
    assert plain.count("<svg") == addressed.count("<svg") > 0


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("walk.html", "--paper", "a5"), "--paper 'a5': right would be a4 or letter"),
        (("walk.html", "--day", "19.9."), "'19.9.' is not a day; right would be year-month-day, such as 2015-06-24"),
        (("walk.html", "--url", "bench"), "--url 'bench': right would be an address such as https://bench.example"),
        (("file.txt/walk.html",), "file.txt/walk.html: cannot be written (File exists); right would be a file in a folder you may write to"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused(
    words: tuple[str, ...], line: str, session: Session, leafclock: Program
) -> None:
    Path("file.txt").touch()
    answer = autumn(leafclock, *words)
    assert (answer.status, answer.out, answer.err) == (2, "", f"leafclock: {line}\n")
    assert not Path("walk.html").exists()


def test_a_day_without_a_walk_names_those_with_one(session: Session, leafclock: Program) -> None:
    days = ", ".join(str(walk.on) for walk in review_plan(session).round.walks)
    answer = autumn(leafclock, "walk.html", "--day", AUTUMN.replace("18", "21"))
    told = f"--day 2015-09-21: no walk is planned on it; right would be one of {days}"
    assert (answer.status, answer.err) == (2, f"leafclock: {told}\n")


def test_where_no_walk_is_near_one_line_says_so(session: Session, leafclock: Program) -> None:
    answer = leafclock("review", "sheet", "walk.html", "--today", "2015-05-20", "--weeks", "2")
    told = "in the coming 2 weeks there is no walk to print; right would be more weeks, with --weeks"
    assert (answer.status, answer.err) == (2, f"leafclock: {told}\n")
    assert not Path("walk.html").exists()
