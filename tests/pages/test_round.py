"""The page of the round: walked tree by tree, broken off and gone on with, and what it came to."""

from __future__ import annotations

import re
from datetime import date
from html import unescape
from typing import TYPE_CHECKING

import pytest

from calendar_core.app.keys.keys import make_key
from calendar_core.app.review.asked import Asked
from calendar_core.app.review.decisions import choices
from calendar_core.app.review.outing import round_ahead
from calendar_core.app.review.visits import Visits
from calendar_core.app.shell.clock import utc_now
from tests.pages.serving import busy, serving
from tests.pages.test_today import entries

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from playwright.sync_api import Browser

    from tests.pages.serving import Reader, Served

SEPTEMBER = date(2015, 9, 20)  # of the demo: the late summer round is on
PLACE = re.compile(r"tree (\d+) of (\d+)")
NAME = re.compile(r'<h2 class="name">([^<]+)</h2>')
TREE = re.compile(r'name="tree" value="([^"]+)"')
RADIO = re.compile(r'<input type="radio" name="(answer [^"]+)" value="([^"]+)"')
NUMBER = re.compile(r'<input id="[^"]+" name="(answer [^"]+)"')
CHECKED = re.compile(r'<input type="radio" name="(answer [^"]+)" value="([^"]+)" checked>')


@pytest.fixture
def walked(garden_file: Path) -> Iterator[Served]:
    """Serve the demo's garden on a day of its round."""
    with serving(garden_file, SEPTEMBER) as found:
        yield found


def answers(text: str) -> dict[str, object]:
    """Return a form of a page filled in: the first answer to each question that has some."""
    form: dict[str, object] = {"tree": TREE.search(text)[1]}  # type: ignore[index]
    for name, value in RADIO.findall(text):
        form.setdefault(unescape(name), unescape(value))
    return form


def named(text: str) -> str:
    found = NAME.search(text)
    assert found is not None
    return found[1]


def place(text: str) -> tuple[int, int]:
    found = PLACE.search(text)
    assert found is not None
    return int(found[1]), int(found[2])


def main_of(text: str) -> str:
    return text.split("<main", 1)[1].split("</main>", 1)[0]


def test_a_walk_is_stored_tree_by_tree_and_told_at_its_end(walked: Served, garden_file: Path) -> None:
    reader, before = walked.reader(), len(entries(garden_file))
    page = reader.get("/round").text
    first, count = place(page)
    assert first == 1
    assert count > 2
    seen = []
    for n in range(1, count + 1):
        assert place(page) == (n, count)
        seen.append(named(page))
        page = reader.post("/round", answers(page)).text
        now = len(entries(garden_file))
        assert now > before
        before = now
    assert len(set(seen)) == count
    assert "The walk is done" in page
    found = main_of(page).split("What was found", 1)[1].split("What comes of it", 1)[0]
    assert sorted(re.findall(r'/tree/[^"]+">([^<]+)</a></h3>', found)) == sorted(seen)
    assert "late summer review 2015" in found.lower()
    assert "heavy work" in reader.get("/round/year").text.lower()


def test_what_is_sent_twice_is_stored_once(walked: Served, garden_file: Path) -> None:
    reader = walked.reader()
    form = answers(reader.get("/round").text)
    reader.post("/round", form)
    once = entries(garden_file)
    page = reader.post("/round", form)
    assert page.status_code == 200
    assert "nothing new" in page.text
    assert entries(garden_file) == once


def test_a_walk_broken_off_is_gone_on_with(walked: Served, garden_file: Path) -> None:
    """Also by a service that was started again: nothing of it is kept but the log."""
    reader = walked.reader()
    page = reader.post("/round", answers(reader.get("/round").text)).text
    second, stands = named(page), place(page)
    some = dict(list(answers(page).items())[:3])
    told = reader.post("/round", some).text
    assert "Not a look yet" in told
    with serving(garden_file, SEPTEMBER) as again:
        page = again.reader().get("/round").text
    assert named(page) == second
    assert place(page) == stands
    assert dict(CHECKED.findall(page)) == {name: value for name, value in some.items() if name != "tree"}
    assert "The walk goes on: " in walked.reader().settled("/")


def test_a_look_is_taken_back(walked: Served) -> None:
    reader = walked.reader()
    page = reader.get("/round").text
    first = named(page)
    told = reader.post("/round", answers(page)).text
    assert named(told) != first
    back = reader.post(
        "/undo", {"entry": re.findall(r'name="entry" value="([^"]+)"', told), "back": "/round"}
    )
    assert named(back.text) == first


def test_what_cannot_be_taken_comes_back_with_what_was_entered(walked: Served, garden_file: Path) -> None:
    reader, before = walked.reader(), entries(garden_file)
    page = reader.get("/round").text
    number = NUMBER.search(page)[1]  # type: ignore[index]
    form = answers(page) | {
        number: "half a <b>litre",
        "note": "moss & lichen",
        "decide": "paint it",
        "minutes": "0",
    }
    answer = reader.post("/round", form)
    assert answer.status_code == 422
    assert named(answer.text) == named(page)
    assert "half a &lt;b&gt;litre" in answer.text
    assert "<b>litre" not in answer.text
    assert 'value="moss &amp; lichen"' in answer.text
    assert 'value="paint it"' in answer.text
    assert answer.text.count("right would be") >= 3
    assert entries(garden_file) == before


def test_an_odd_measurement_is_asked_about(walked: Served, garden_file: Path) -> None:
    reader, before = walked.reader(), entries(garden_file)
    page = reader.get("/round").text
    form = answers(page) | {"answer girth": "2900"}
    answer = reader.post("/round", form)
    assert answer.status_code == 422
    assert "It is so" in answer.text
    assert entries(garden_file) == before
    assert reader.post("/round", form | {"yes": "yes"}).status_code == 200
    assert len(entries(garden_file)) > len(before)


def test_a_tree_is_passed_over_and_another_chosen(walked: Served) -> None:
    reader = walked.reader()
    page = reader.get("/round").text
    first, (_, count) = named(page), place(page)
    for _ in range(count):
        page = reader.get(unescape(re.search(r'href="(/round\?[^"]+)">Pass over', page)[1])).text  # type: ignore[index]
    assert "Passed over" in page
    assert first in page
    assert named(reader.get("/round").text) == first
    rows = re.findall(r'href="(/round\?[^"]+)">([^<]+)</a>', reader.get("/round").text)
    address, label = next(row for row in rows if row[1] not in (first, "Pass over for now"))
    assert named(reader.get(unescape(address)).text) == label


def test_where_no_round_is_on_it_tells_when_the_next_opens(served: Served) -> None:
    page = main_of(served.reader().get("/round").text) + served.reader().get("/round").text
    assert "No tree is to be looked at now. The next round opens about" in page


def test_a_walk_is_moved_and_printed(walked: Served, garden_file: Path) -> None:
    reader, before = walked.reader(), entries(garden_file)
    sheet = reader.get("/round/sheet")
    assert sheet.headers["Content-Disposition"] == 'attachment; filename="review-2015-09-20.html"'
    assert "sheet: " in sheet.text
    form = {"day": "2015-09-20", "entry_id": "00000000-0000-4000-8000-000000000001"}
    for to, right in (("2015-09-19", "right would be another day"), ("soon", "is not a day")):
        answer = reader.post("/round/move", {**form, "to": to})
        assert answer.status_code == 422
        assert right in answer.text
    assert entries(garden_file) == before
    for _ in range(2):
        assert "2015" in reader.post("/round/move", {**form, "to": "2015-09-23"}).text
    assert [entry.kind for entry in entries(garden_file)[len(before) :]] == ["walk"]


@pytest.mark.parametrize("tree", ["", "maple", "00000000-0000-4000-8000-000000000001"])
def test_a_form_of_no_tree_is_refused(walked: Served, garden_file: Path, tree: str) -> None:
    reader, before = walked.reader(), entries(garden_file)
    answer = reader.post("/round", {"tree": tree, "answer vigour": "3"})
    assert answer.status_code == 422
    assert "right would be" in answer.text
    assert entries(garden_file) == before


def test_every_decision_that_is_offered_can_be_taken(walked: Served) -> None:
    session = walked.site.session()
    assert session is not None
    visits = Visits(session, session.today)
    on = {stop.tree_id for stop in round_ahead(session).stops}
    assert len(on) > 5
    for tree in (tree for tree in session.trees if tree.id in on):
        asked = Asked(session, visits.visit(tree))
        offered = choices(session, asked.visit)
        assert "died" in offered
        for typed in offered:
            assert asked.decision(typed).drafts


def test_who_only_reads_is_shown_no_form(garden_file: Path) -> None:
    with serving(garden_file, SEPTEMBER, demands_key=True) as locked:
        garden = locked.site.garden()
        assert garden is not None
        key = make_key(locked.site.store, garden.id, "reader", "a reader", utc_now())
        reader: Reader = locked.reader()
        reader.line.post(f"{locked.url}/enter", data={"key": key}, timeout=60)
        assert "<form" not in main_of(reader.get("/round").text)


def test_with_a_thumb_broken_off_and_resumed(walked: Served, garden_file: Path, browser: Browser) -> None:
    """One tree is looked at, the next half, the phone put away; another browser goes on there."""
    phone = browser.new_context(
        viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True, base_url=walked.url
    )
    phone.set_default_timeout(30_000)
    page = phone.new_page()
    page.goto("/round")
    first = page.locator("h2.name").inner_text()
    boxes = page.locator(".choices label:visible, main button:visible, main input:visible:not([type=radio])")
    sizes = [box for box in (boxes.nth(n).bounding_box() for n in range(boxes.count())) if box]
    assert len(sizes) > 20
    assert min(box["height"] for box in sizes) >= 48
    for group in page.locator("fieldset.asked").all():
        group.locator("label").first.tap()
    page.get_by_role("button", name="Looked at").tap()
    page.get_by_text("Late summer review 2015: tree 2").wait_for()
    second = page.locator("h2.name").inner_text()
    assert second != first
    page.locator("fieldset.asked label").first.tap()
    page.get_by_role("button", name="Looked at").tap()
    page.get_by_text("Not a look yet").wait_for()
    phone.close()
    desk = browser.new_context(viewport={"width": 1280, "height": 800}, base_url=walked.url).new_page()
    desk.goto("/round")
    assert desk.locator("h2.name").inner_text() == second
    assert desk.locator("fieldset.asked").first.locator("input").first.is_checked()
    assert "tree 2 of" in desk.locator("header").inner_text()
    for width in (390, 320):
        desk.set_viewport_size({"width": width, "height": 800})
        assert desk.evaluate("document.documentElement.scrollWidth") <= width
    desk.context.close()


def test_the_sheet_is_planned_beside_the_questions(walked: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    reader = walked.reader()
    with busy(walked.site, monkeypatch):
        assert reader.get("/round/sheet").status_code == 503
    assert "attachment" in reader.get("/round/sheet").headers["Content-Disposition"]
