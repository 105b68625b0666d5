"""The page of the season: pictures of the year and a strip with its sentence for each stage and work."""

from __future__ import annotations

import re
from html import unescape
from typing import TYPE_CHECKING

import pytest

from calendar_core.pages.views.season import work_strips
from tests.app.conftest import run
from tests.pages.conftest import DAY
from tests.pages.picture_boxes import check_pictures, sideways
from tests.publishing.pictures.read_back import Picture

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from playwright.sync_api import Page

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree
    from calendar_core.pages.views.season import SeasonStrip
    from calendar_core.publishing.pictures.strips import Days
    from tests.pages.serving import Served

STRIP = re.compile(r'<li class="row season-row"><h3>(.*?)</h3>(<svg.*?</svg>)<p>(.*?)</p></li>', re.DOTALL)


def strips(page: str) -> list[tuple[str, Picture, str]]:
    return [(unescape(name), Picture(svg), unescape(told)) for name, svg, told in STRIP.findall(page)]


def test_each_strip_stands_over_its_sentence(served: Served) -> None:
    page = served.reader().get("/season").text
    found = strips(page)
    assert len(found) > 10
    for name, picture, sentence in found:
        assert picture.said().lower() == f"{name}. {sentence}".lower()
        assert any(stroke.ink == "accent" for stroke in picture.strokes)  # today
    phone, desk = (
        Picture(svg) for svg in re.findall(r'<div class="on-(?:phone|desk)">(<svg.*?</svg>)', page, re.DOTALL)
    )
    assert (phone.width, desk.width) == (346, 760)
    assert "Heat since 1 January, °C·d above 5 °C" in " ".join(text.words for text in phone.texts)
    assert {text.words for text in phone.texts} >= {
        "this year",
        "past years, 8 in 10",
        "a usual year",
        "Day length",
    }


def test_stages_are_those_of_the_terminal(served: Served, garden_file: Path) -> None:
    session = served.site.session()
    assert session is not None
    tree = next(tree for tree in session.trees if tree.label == "Maple 4")
    page = served.reader().get(f"/season?of={tree.id}").text
    told = run("stages", "Maple 4", "--db", str(garden_file), "--today", DAY.isoformat()).out
    rows = re.findall(r"^  ([a-z ]+?)  +(\d+ \w+(?: \d+)?) \(8 times in 10: ([^)]*)\)", told, re.MULTILINE)
    assert len(rows) > 4
    shown = {name.lower(): sentence for name, _, sentence in strips(page)}
    for stage, day, span in rows:
        assert f"Likely {day} (8 times in 10: {span})." in shown[stage]


def test_a_tree_is_chosen_and_named(served: Served) -> None:
    reader, session = served.reader(), served.site.session()
    assert session is not None
    tree = next(tree for tree in session.trees if tree.label == "Pine 2")
    page = reader.get(f"/season?of={tree.id}").text
    assert "<h2>Pine 2: stages</h2>" in page
    assert f'<option value="{tree.id}" selected>Pine 2</option>' in page
    names = [name for name, _, _ in strips(page)]
    assert "Candles firm" in names
    assert any(name.startswith("Fertilize") for name in names)


def test_what_is_not_here_is_refused_in_a_sentence(served: Served) -> None:
    answer = served.reader().get("/season?of=<b>oak</b>")
    assert answer.status_code == 422
    assert "right would be one of the list on this page" in answer.text
    assert "<b>oak" not in answer.text


@pytest.mark.parametrize("width", [320, 390, 1200])
def test_pictures_are_legible_in_a_browser(phone: Page, width: int) -> None:
    phone.set_viewport_size({"width": width, "height": 800})
    phone.goto("/season")
    assert check_pictures(phone, 15.0 if width >= 390 else 12.0) > 10
    assert sideways(phone) <= 0


def test_the_work_of_a_species_is_drawn_once(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    drawn: list[int] = []

    def counted(session: Session, trees: Sequence[Tree], days: Days) -> Iterator[SeasonStrip]:
        drawn.append(len(trees))
        return work_strips(session, trees, days)

    monkeypatch.setattr("calendar_core.pages.views.season.work_strips", counted)
    reader = served.reader()
    first, again = (reader.get("/season?of=acer-palmatum").text for _ in range(2))
    assert len(drawn) == 1
    assert first.split("<main", 1)[1] == again.split("<main", 1)[1]
    other = reader.get("/season?of=pinus-thunbergii").text
    assert len(drawn) == 2
    assert other.split("<main", 1)[1] != again.split("<main", 1)[1]
